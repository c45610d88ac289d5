//! The load's orbit constants against the predicted orbit: steering that takes out crab lives on them.

use super::finding::{Findings, Rule};
use crate::{passes::prediction::Prediction, world::ellipsoid::A_M};
use nalgebra::Vector3;
use std::f64::consts::{PI, TAU};
use stillframe_controller::programme::load::Load;

/// Most that the argument of latitude may differ, rad: half a degree turns the crab angle by 0.03°. An eccentricity of
/// 0.001, which the constants do not carry, takes 0.1° of it.
const MOST_ARGUMENT_RAD: f64 = 0.5 * PI / 180.0;
/// Most that the inclination may differ, rad: 0.1°.
const MOST_TILT_RAD: f64 = 0.1 * PI / 180.0;
/// Most that the squared radius ratio may differ: 30 km of height.
const MOST_RATIO: f64 = 0.01;

/// Argument of latitude by a load's constants, rad.
fn by_load_rad(load: &Load, tick: f64) -> f64 {
    let e = &load.ephemeris;
    let ticks = tick - f64::from(e.epoch_tick);
    let turns = f64::from(e.phase) / 4_294_967_296.0 + f64::from(e.phase_per_tick) * ticks / 281_474_976_710_656.0;
    let seconds = ticks / 100.0;
    (turns.rem_euclid(1.0)) * TAU + f64::from(e.half_acceleration_rad_s2) * seconds * seconds
}

/// Argument of latitude of the prediction, rad, and its inclination, rad, and distance from the centre, m.
fn predicted(prediction: &Prediction, at_s: f64) -> (f64, f64, f64) {
    let (r, v) = prediction.path.position_velocity(at_s);
    let normal = r.cross(&v).normalize();
    let node = Vector3::z().cross(&normal).normalize();
    (r.dot(&normal.cross(&node)).atan2(r.dot(&node)), normal.z.clamp(-1.0, 1.0).acos(), r.norm())
}

/// Holds the constants against the prediction from `from_s` to `to_s`.
pub fn judge(load: &Load, prediction: &Prediction, from_s: f64, to_s: f64, findings: &mut Findings<'_>) {
    let remedy = "Work the orbit constants out again from the orbit as last determined.";
    let off = |k: u32| {
        let at_s = from_s + (to_s - from_s) * f64::from(k) / 8.0;
        let (argument_rad, ..) = predicted(prediction, at_s);
        let off_rad = (by_load_rad(load, at_s * 100.0) - argument_rad + PI).rem_euclid(TAU) - PI;
        (off_rad, at_s)
    };
    // What is not a number is not within bounds.
    let within = |off: f64, most: f64| off.abs() <= most;
    if let Some((off_rad, at_s)) = (0..=8).map(off).max_by(|a, b| a.0.abs().total_cmp(&b.0.abs()))
        && !within(off_rad, MOST_ARGUMENT_RAD)
    {
        let reason = format!(
            "its orbit constants put the vehicle {:.1}° from its predicted place at {at_s:.0} s: steering and horizon correction would be for another place",
            off_rad.to_degrees()
        );
        findings.refuse(Rule::Orbit, None, reason, remedy);
    }
    let (_, tilt_rad, radius_m) = predicted(prediction, from_s);
    let e = &load.ephemeris;
    if !within(f64::from(e.inclination_rad) - tilt_rad, MOST_TILT_RAD) {
        let reason = format!(
            "its inclination is {:.2}° and the predicted orbit's {:.2}°",
            f64::from(e.inclination_rad).to_degrees(),
            tilt_rad.to_degrees()
        );
        findings.refuse(Rule::Orbit, None, reason, remedy);
    }
    let ratio = A_M * A_M / (radius_m * radius_m);
    if !within(f64::from(e.radius_ratio2) - ratio, MOST_RATIO) {
        let reason = format!("its squared radius ratio is {} and the predicted orbit's {ratio:.4}", e.radius_ratio2);
        findings.refuse(Rule::Orbit, None, reason, remedy);
    }
}
