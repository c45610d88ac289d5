//! An area cut into cells of equal worth, and its outline.

use crate::{passes::areas, scenario::parts::ground::Area, world::ellipsoid::A_M};
use std::f64::consts::TAU;

/// Cells along the longer side of an area, at least.
const ALONG: f64 = 32.0;
/// Cells across a swath, at least.
const ACROSS: f64 = 4.0;
/// Most cells of an area: then they are larger, and shares less exact.
const MOST: f64 = 20_000.0;
/// Spacing of points on the outline, m: a quarter of a second of flight.
const OUTLINE_M: f64 = 2_000.0;

/// An area's cells and outline, as [latitude, longitude] in rad.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cells {
    /// Middles of the cells; each stands for the same share of the area.
    pub places_rad: Vec<[f64; 2]>,
    /// Points on the outline.
    pub outline_rad: Vec<[f64; 2]>,
    /// Middle of the area.
    pub middle_rad: [f64; 2],
    /// Largest distance of the outline from the middle, m.
    pub reach_m: f64,
}

impl Cells {
    /// Of an area to be seen in swaths so wide. One too thin to hold a cell's middle stands by its outline.
    pub fn of(area: &Area, swath_m: f64) -> Self {
        let outline_rad = outline(area);
        let middle_rad = areas::middle(area).unwrap_or_default();
        let reach_m = outline_rad.iter().map(|at| distance_m(middle_rad, *at)).fold(0.0, f64::max);
        let mut places_rad = grid(area, &outline_rad, swath_m / A_M);
        if places_rad.is_empty() {
            places_rad.clone_from(&outline_rad);
        }
        Self { places_rad, outline_rad, middle_rad, reach_m }
    }
}

/// Distance over the mean sphere, m.
pub fn distance_m([lat, lon]: [f64; 2], [other_lat, other_lon]: [f64; 2]) -> f64 {
    let half =
        (0.5 * (other_lat - lat)).sin().powi(2) + lat.cos() * other_lat.cos() * (0.5 * (other_lon - lon)).sin().powi(2);
    2.0 * A_M * half.sqrt().min(1.0).asin()
}

/// A grid of equal steps on the ground, row by row, of which the middles inside the area are kept.
fn grid(area: &Area, outline_rad: &[[f64; 2]], swath_rad: f64) -> Vec<[f64; 2]> {
    let range = |part: usize| {
        outline_rad
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(at[part]), high.max(at[part])))
    };
    let ((south, north), (west, east)) = (range(0), range(1));
    let width = (east - west) * (0.5 * (south + north)).cos();
    let fine = ((north - south).max(width) / ALONG).min(swath_rad / ACROSS);
    let step = fine.max(((north - south) * width / MOST).sqrt());
    if step.is_nan() || step <= 0.0 {
        return Vec::new();
    }
    let rows = ((north - south) / step).ceil().max(1.0) as usize;
    let mut places = Vec::new();
    for row in 0..rows {
        let latitude = south + (row as f64 + 0.5) * (north - south) / rows as f64;
        // Steps of the same length in every row, so that every cell is worth the same.
        let columns = ((east - west) * latitude.cos() / step).round().max(1.0) as usize;
        let places_of_row =
            (0..columns).map(|column| [latitude, west + (column as f64 + 0.5) * (east - west) / columns as f64]);
        places.extend(places_of_row.filter(|at| areas::contains(area, at[0], at[1])));
    }
    places
}

/// Points along the outline, no further apart than [`OUTLINE_M`].
fn outline(area: &Area) -> Vec<[f64; 2]> {
    if let (Some([lat, lon]), Some(radius_m)) = (area.centre_rad, area.radius_m) {
        let count = (TAU * radius_m / OUTLINE_M).ceil().clamp(24.0, 5_000.0) as usize;
        let radius = radius_m / A_M;
        return (0..count).map(|k| around(lat, lon, radius, TAU * k as f64 / count as f64)).collect();
    }
    let corners = area.polygon_rad.as_deref().unwrap_or_default();
    let next = corners.iter().cycle().skip(1);
    let sides = corners.iter().zip(next).flat_map(|(from, to)| {
        let count = (distance_m(*from, *to) / OUTLINE_M).ceil().clamp(1.0, 2_000.0) as usize;
        (0..count).map(move |k| {
            let share = k as f64 / count as f64;
            [from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])]
        })
    });
    sides.collect()
}

/// The point at an angular distance from a place in a direction counted from north through east, rad.
fn around(lat: f64, lon: f64, radius: f64, azimuth: f64) -> [f64; 2] {
    let there = (lat.sin() * radius.cos() + lat.cos() * radius.sin() * azimuth.cos()).clamp(-1.0, 1.0).asin();
    let east = (azimuth.sin() * radius.sin() * lat.cos()).atan2(radius.cos() - lat.sin() * there.sin());
    [there, lon + east]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::parts::ground::Cover;

    fn circle(latitude_deg: f64, radius_m: f64) -> Area {
        Area {
            name: "Round".into(),
            polygon_rad: None,
            centre_rad: Some([latitude_deg.to_radians(), 0.4]),
            radius_m: Some(radius_m),
            ground_height_m: 0.0,
            priority: 1.0,
            lowest_sun_rad: None,
            highest_sun_rad: None,
            cover: Cover::Single,
        }
    }

    /// A circle fills π/4 of its square: 804 of 32 × 32 cells.
    #[test]
    fn cells_fill_the_area_evenly() {
        for latitude_deg in [0.0, 60.0, -45.0] {
            let cells = Cells::of(&circle(latitude_deg, 100e3), 1e6);
            let count = cells.places_rad.len() as f64;
            assert!((count / 804.0 - 1.0).abs() < 0.03, "{count}");
            assert!((cells.reach_m / 100e3 - 1.0).abs() < 1e-3, "{}", cells.reach_m);
        }
    }

    /// A swath of 27 km across 1,000 km: cells of 6.75 km, 148 across.
    #[test]
    fn cells_are_finer_than_the_swath_and_not_too_many() {
        let count = |radius_m: f64| Cells::of(&circle(0.0, radius_m), 27e3).places_rad.len() as f64;
        assert!((count(400e3) / (std::f64::consts::FRAC_PI_4 * (800.0 / 6.75_f64).powi(2)) - 1.0).abs() < 0.03);
        assert!(count(3_000e3) <= MOST);
    }

    #[test]
    fn a_sliver_stands_by_its_outline() {
        let sliver = Area {
            polygon_rad: Some(vec![[0.1, 0.1], [0.1, 0.100_01], [0.2, 0.2]]),
            centre_rad: None,
            radius_m: None,
            ..circle(0.0, 1.0)
        };
        assert!(!Cells::of(&sliver, 1e6).places_rad.is_empty());
    }
}
