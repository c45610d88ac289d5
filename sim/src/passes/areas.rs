//! Areas on the ground: is a point inside, and how high is the ground there?

use crate::scenario::parts::ground::Area;
use crate::world::ellipsoid::A_M;

/// Whether a point (geodetic latitude and longitude, rad) lies inside an area.
///
/// Circles are measured along the great circle on the mean sphere (error below 0.6 %); polygons have
/// straight sides in latitude and longitude.
pub fn contains(area: &Area, latitude_rad: f64, longitude_rad: f64) -> bool {
    if let Some(polygon) = &area.polygon_rad {
        return inside(polygon, latitude_rad, longitude_rad);
    }
    distance_m(area, latitude_rad, longitude_rad).is_some_and(|distance_m| distance_m <= area.radius_m.unwrap_or(0.0))
}

/// The area nearest to a point, if the point lies inside it or within `reach_m` of its edge (of its middle, for
/// a polygon).
pub fn nearest(areas: &[Area], latitude_rad: f64, longitude_rad: f64, reach_m: f64) -> Option<&Area> {
    let near = areas.iter().filter_map(|area| {
        let distance_m = distance_m(area, latitude_rad, longitude_rad)?;
        let within =
            distance_m <= area.radius_m.unwrap_or(0.0) + reach_m || contains(area, latitude_rad, longitude_rad);
        within.then_some((distance_m, area))
    });
    near.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, area)| area)
}

/// Height of the ground to expose for at a point: that of the nearest area in reach, or the ellipsoid's.
pub fn ground_height_m(areas: &[Area], latitude_rad: f64, longitude_rad: f64, reach_m: f64) -> f64 {
    nearest(areas, latitude_rad, longitude_rad, reach_m).map_or(0.0, |area| area.ground_height_m)
}

fn distance_m(area: &Area, latitude_rad: f64, longitude_rad: f64) -> Option<f64> {
    let [lat, lon] = middle(area)?;
    let (dlat, dlon) = (latitude_rad - lat, longitude_rad - lon);
    let half = (0.5 * dlat).sin().powi(2) + lat.cos() * latitude_rad.cos() * (0.5 * dlon).sin().powi(2);
    Some(2.0 * A_M * half.sqrt().min(1.0).asin())
}

/// Middle of an area: its centre, or the mean of its corners.
pub fn middle(area: &Area) -> Option<[f64; 2]> {
    if let Some(centre) = area.centre_rad {
        return Some(centre);
    }
    let polygon = area.polygon_rad.as_ref()?;
    let count = polygon.len() as f64;
    let sum = polygon.iter().fold([0.0, 0.0], |sum, corner| [sum[0] + corner[0], sum[1] + corner[1]]);
    Some([sum[0] / count, sum[1] / count])
}

/// Crossing rule: a ray to the east crosses the outline an odd number of times.
fn inside(polygon: &[[f64; 2]], latitude: f64, longitude: f64) -> bool {
    let next = polygon.iter().cycle().skip(1);
    let crossings = polygon.iter().zip(next).filter(|([lat1, lon1], [lat2, lon2])| {
        let spans = (*lat1 > latitude) != (*lat2 > latitude);
        spans && longitude < lon1 + (latitude - lat1) / (lat2 - lat1) * (lon2 - lon1)
    });
    crossings.count() % 2 == 1
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::parts::ground::Cover;

    fn square() -> Area {
        Area {
            name: "Square".into(),
            polygon_rad: Some(vec![[0.0, 0.0], [0.0, 0.1], [0.1, 0.1], [0.1, 0.0]]),
            centre_rad: None,
            radius_m: None,
            ground_height_m: 250.0,
            priority: 1.0,
            lowest_sun_rad: None,
            highest_sun_rad: None,
            cover: Cover::Single,
        }
    }

    #[test]
    fn points_inside_and_outside_a_polygon_are_told_apart() {
        assert!(contains(&square(), 0.05, 0.05));
        assert!(!contains(&square(), 0.05, 0.15));
        assert!(!contains(&square(), -0.01, 0.05));
    }

    #[test]
    fn a_circle_reaches_as_far_as_its_radius() {
        let circle = Area { polygon_rad: None, centre_rad: Some([0.8, 0.2]), radius_m: Some(50e3), ..square() };
        let step = 40e3 / A_M;
        assert!(contains(&circle, 0.8 + step, 0.2));
        assert!(!contains(&circle, 0.8 + 1.5 * step, 0.2));
        assert_eq!(ground_height_m(&[circle], 0.8, 0.2, 0.0), 250.0);
    }
}
