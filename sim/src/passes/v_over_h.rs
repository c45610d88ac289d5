//! V/h by a road of its own, to be sent beside the film speeds and held against them on board.
//!
//! The film speeds come from rays met with the ellipsoid and the full image Jacobian (`imaging::motion`). Here
//! the same is had from position, velocity and three closed forms of the local orbital frame: the radius of the
//! ellipsoid in a geocentric direction, the ground's speed ω×r, and V/h less the orbital rate. A wrong table, an
//! old one, or one made for another lens shows against it.

use super::{areas, prediction::Prediction};
use crate::{
    scenario::parts::ground::Area,
    world::{
        ellipsoid::{A_M, B_M},
        frames::EARTH_RATE_RAD_S,
        track::ground_point,
    },
};
use nalgebra::Vector3;

/// Units of 10 nrad/s in one rad/s.
const UNITS: f64 = 1e8;

/// Rate at which the ground below passes a camera square to the local orbital frame, rad/s.
pub fn seen_rad_s(prediction: &Prediction, areas: &[Area], reach_m: f64, time_s: f64) -> f64 {
    let (r, v) = prediction.path.position_velocity(time_s);
    let radius_m = r.norm();
    let up = r / radius_m;
    // x² + y² of the unit direction: the squared cosine of the geocentric latitude.
    let (cosine2, sine2) = (up.x * up.x + up.y * up.y, up.z * up.z);
    let ellipsoid_m = A_M * B_M / (B_M * B_M * cosine2 + A_M * A_M * sine2).sqrt();
    let place = ground_point(&r, &prediction.earth, time_s);
    let ground_m = ellipsoid_m + areas::ground_height_m(areas, place.latitude_rad, place.longitude_rad, reach_m);
    let height_m = radius_m - ground_m;
    let along = (v - up * v.dot(&up)).normalize();
    let across = up.cross(&along);
    let ground_m_s = Vector3::new(-up.y, up.x, 0.0) * (EARTH_RATE_RAD_S * ground_m);
    let passing = v - ground_m_s;
    let orbital_rad_s = v.dot(&along) / radius_m;
    (passing.dot(&along) / height_m - orbital_rad_s).hypot(passing.dot(&across) / height_m)
}

/// As the load carries it: in 10 nrad/s, 24 bits.
pub fn units(seen_rad_s: f64) -> u32 {
    (seen_rad_s * UNITS).round().clamp(0.0, 16_777_215.0) as u32
}
