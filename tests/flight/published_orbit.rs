//! A published orbit as it comes: an element set from the SGP4 verification set.

use nalgebra::Vector3;
use stillframe_controller::attitude::mode::Mode;

use crate::rig::{Rig, error_deg, scenario};

/// Satellite 06251 of the verification set of Vallado, Crawford, Hujsak, Kelso, *Revisiting Spacetrack Report #3*,
/// AIAA 2006-6753 (SGP4-VER.TLE).
const LINES: [&str; 2] = [
    "1 06251U 62025E   06176.82412014  .00008885  00000-0  12808-3 0  3985",
    "2 06251  58.0579  54.0425 0030035 139.1568 221.1854 15.56387291  6774",
];
/// Position and velocity 120 minutes after its epoch, TEME, km and km/s (tcppver.out of the same set, WGS-72).
const POSITION_KM: [f64; 3] = [-3_935.698_000_83, 409.109_808_37, 5_471.335_773_27];
const VELOCITY_KM_S: [f64; 3] = [-3.374_784_183, -6.635_211_043, -1.942_056_221];

/// The demonstration's vehicle on that orbit, from 120 minutes after the epoch: day 176.82412014 of 2006 is
/// 25 June, 19:46:43.980096 UTC.
fn text(hours: f64) -> String {
    let text = scenario(hours, "");
    let (before, rest) = text.split_once("[orbit.elements]").expect("elements");
    let (_, after) = rest.split_once("[world]").expect("world");
    let before = crate::rig::replace(before, "2026-06-10T06:00:00Z", "2006-06-25T21:46:43.980096Z");
    // Its year is before the field model's.
    let after = crate::rig::replace(after, "dipole_a_m2 = [0.6, 0.5, -0.6]", "dipole_a_m2 = [0.0, 0.0, 0.0]");
    format!("{before}[orbit.element_set]\nline1 = \"{}\"\nline2 = \"{}\"\n\n[world]{after}", LINES[0], LINES[1])
}

#[test]
fn the_flight_starts_where_the_published_propagation_says() {
    let mut rig = Rig::new(&text(1.0));
    let orbit = rig.flight.plant.truth().orbit;
    let position_m = Vector3::from(POSITION_KM) * 1e3;
    let velocity_m_s = Vector3::from(VELOCITY_KM_S) * 1e3;
    // The epoch has eight decimals of a day, and a start microseconds: 1 µs is 8 mm.
    assert!((orbit.position_m - position_m).norm() < 0.1, "{:?}", orbit.position_m - position_m);
    assert!((orbit.velocity_m_s - velocity_m_s).norm() < 1e-4, "{:?}", orbit.velocity_m_s - velocity_m_s);
}

#[test]
fn the_vehicle_is_captured_and_held_on_it() {
    let mut rig = Rig::new(&text(1.6));
    let captured_s = rig.time_to(45.0 * 60.0, |flight| flight.controller.mode() == Mode::Fine);
    assert!(captured_s.is_some(), "{:?}", rig.mode());
    // Fine hold begins anywhere inside the coarse deadband, 1.2° about roll; a minute later it is where it belongs.
    let in_s = rig.flight.time_s() + 60.0;
    rig.run(in_s);
    let worst = rig.worst_error_deg(1.5 * 3600.0);
    assert!(worst.max() < 1.0, "{worst:?}");
    assert_eq!(rig.mode(), Mode::Fine);
    assert!(rig.flight.plant.momentum_residual() < 1e-6);
    assert!(error_deg(&mut rig.flight).norm() > 0.0);
}
