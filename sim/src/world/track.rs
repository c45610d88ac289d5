//! What the ground has to do with the orbit: the point below, look angles, contact windows.

use super::ellipsoid::Geodetic;
use super::frames::{EarthRotation, Topocentric};
use super::roots;
use super::{Vec3, length};

/// The ground point straight below (along the ellipsoid's normal) and the height above it.
///
/// Position inertial, m, at `t_s` from the run's start.
pub fn ground_point(position_m: &Vec3, earth: &EarthRotation, t_s: f64) -> Geodetic {
    Geodetic::from_cartesian(&earth.to_fixed(t_s, position_m))
}

/// A station on the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    /// Its place and axes.
    pub place: Topocentric,
    /// Lowest elevation at which it hears, rad.
    pub mask_rad: f64,
}

/// Where a station sees a vehicle. Geometric: no refraction, no light time (20 m).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LookAngles {
    /// From north through east, rad, [0, 2π).
    pub azimuth_rad: f64,
    /// Above the horizontal, rad.
    pub elevation_rad: f64,
    /// Distance, m.
    pub range_m: f64,
}

/// One stretch of visibility, clipped to the span asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contact {
    /// Acquisition of signal: elevation rises through the mask, s.
    pub aos_s: f64,
    /// Loss of signal, s.
    pub los_s: f64,
    /// When elevation is greatest, s.
    pub culmination_s: f64,
    /// Greatest elevation, rad.
    pub highest_elevation_rad: f64,
}

impl Contact {
    /// Length, s.
    pub fn duration_s(&self) -> f64 {
        self.los_s - self.aos_s
    }
}

/// Spacing of the first look, s. Passes above a mask last minutes; shorter ones are found by the
/// search for maxima between.
const SCAN_S: f64 = 30.0;
/// To which AOS and LOS are found, s.
const TIME_TOLERANCE_S: f64 = 1e-6;

impl Station {
    /// At a geodetic point with an elevation mask, rad.
    pub fn new(point: Geodetic, mask_rad: f64) -> Self {
        Self { place: Topocentric::at(point), mask_rad }
    }

    /// Look angles to an Earth-fixed position, m.
    pub fn look(&self, fixed_m: &Vec3) -> LookAngles {
        let line = fixed_m - self.place.origin_m;
        LookAngles {
            azimuth_rad: self.place.azimuth_rad(&line),
            elevation_rad: self.place.elevation_rad(&line),
            range_m: length(&line),
        }
    }

    /// All contacts from `start_s` to `end_s`, in order.
    ///
    /// `fixed_m` gives the Earth-fixed position, m, at a time, s. Contacts in progress at an end of
    /// the span are cut there.
    pub fn contacts(&self, fixed_m: impl Fn(f64) -> Vec3, start_s: f64, end_s: f64) -> Vec<Contact> {
        let above = |t: f64| self.place.elevation_rad(&(fixed_m(t) - self.place.origin_m)) - self.mask_rad;
        let mut contacts = Vec::new();
        let mut aos_s = (above(start_s) > 0.0).then_some(start_s);
        for [t0, t1] in monotone_pieces(&above, start_s, end_s) {
            match (aos_s, above(t1) > 0.0) {
                (None, true) => aos_s = Some(roots::crossing(above, t0, t1, TIME_TOLERANCE_S)),
                (Some(aos), false) => {
                    let los = roots::crossing(above, t0, t1, TIME_TOLERANCE_S);
                    contacts.push(self.contact(&above, aos, los));
                    aos_s = None;
                }
                _ => {}
            }
        }
        if let Some(aos) = aos_s {
            contacts.push(self.contact(&above, aos, end_s));
        }
        contacts
    }

    fn contact(&self, above: &impl Fn(f64) -> f64, aos_s: f64, los_s: f64) -> Contact {
        let culmination_s = roots::maximum(above, aos_s, los_s, 1e-3);
        Contact { aos_s, los_s, culmination_s, highest_elevation_rad: above(culmination_s) + self.mask_rad }
    }
}

/// Cuts a span into pieces on which the function does not turn downward in between: the scan's
/// own points, and every maximum found between three of them that all lie below zero.
fn monotone_pieces(f: &impl Fn(f64) -> f64, start_s: f64, end_s: f64) -> Vec<[f64; 2]> {
    let count = ((end_s - start_s) / SCAN_S).ceil().max(1.0) as usize;
    let grid: Vec<f64> = (0..=count).map(|i| (start_s + i as f64 * SCAN_S).min(end_s)).collect();
    let values: Vec<f64> = grid.iter().map(|&t| f(t)).collect();
    let mut points = grid.clone();
    for (t, v) in grid.windows(3).zip(values.windows(3)) {
        let hidden = v[1] >= v[0] && v[1] >= v[2] && v[1] <= 0.0;
        if hidden {
            points.push(roots::maximum(f, t[0], t[2], 1e-3));
        }
    }
    points.sort_by(f64::total_cmp);
    points.windows(2).map(|p| [p[0], p[1]]).collect()
}
