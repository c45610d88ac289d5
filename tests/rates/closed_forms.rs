//! Published closed forms, and what the classic blunders cost by them.

use nalgebra::Vector3;
use stillframe::{
    design::film_rates::{Blunder, Options},
    imaging::{
        Earth,
        motion::{RequiredMotion, View, required_motion},
    },
    passes::required::square,
    scenario::demo::Demo,
};

use crate::{close, demo, made, six_hours};

const MU: f64 = 3.986_004_418e14;
const RADIUS: f64 = 6_378_137.0;
const SPIN: f64 = 7.292_115e-5;

/// A circular orbit over a sphere, at an argument of latitude.
fn over_sphere(height_m: f64, inclination_deg: f64, argument_deg: f64, spin: f64) -> RequiredMotion {
    let (a, i, u) = (RADIUS + height_m, inclination_deg.to_radians(), argument_deg.to_radians());
    let speed = (MU / a).sqrt();
    let node = Vector3::x();
    let ahead = Vector3::new(0.0, i.cos(), i.sin());
    let r = (node * u.cos() + ahead * u.sin()) * a;
    let v = (ahead * u.cos() - node * u.sin()) * speed;
    let earth = Earth { equatorial_radius_m: RADIUS, polar_radius_m: RADIUS, rate_rad_s: spin };
    required_motion(&View::new(&earth, &square(&r, &v, 0.0, 0.0, [0.0; 2])), 0.6, 0.0).expect("sees the Earth")
}

/// f·n·R/h for 600 mm from 200 km: 22.6427731 mm/s; V/h 0.03773795520 rad/s (closed form, evaluated apart).
#[test]
fn image_velocity_is_f_n_r_over_h() {
    let motion = over_sphere(200e3, 90.0, 0.0, 0.0);
    close(motion.film_speed_m_s, 22.642_773_1e-3, 2e-9);
    close(motion.v_over_h_rad_s, 0.037_737_955_20, 2e-10);
}

/// Crab at the node, atan(ω sin i/(n − ω cos i)): 3.526248° (polar, 200 km), 3.606750° (300 km), 3.481210°
/// (96.33°, 200 km); at 60° of a polar orbit 1.764795°.
#[test]
fn crab_is_the_published_angle() {
    for (height_m, inclination, argument, crab) in [
        (200e3, 90.0, 0.0, 3.526_248),
        (300e3, 90.0, 0.0, 3.606_750),
        (200e3, 96.33, 0.0, 3.481_210),
        (200e3, 90.0, 60.0, 1.764_795),
    ] {
        let found = over_sphere(height_m, inclination, argument, SPIN).yaw_to_align_rad.to_degrees();
        assert!((found + crab).abs() < 1e-6, "{found} {crab}");
    }
}

/// The orbital rate left out: inertial speed over height is (R + h)/R too fast, +3.45 % at 220 km, and the smear
/// f·n·t whatever the height: 4.7 µm in 4 ms. Crab: v·sin ψ·t. Film reversed: 2·v·t.
#[test]
fn blunders_cost_what_the_closed_forms_say() {
    close(
        over_sphere(220e3, 82.0, 0.0, 0.0).v_over_h_inertial_rad_s / over_sphere(220e3, 82.0, 0.0, 0.0).v_over_h_rad_s,
        1.034_49,
        1e-5,
    );
    let summary = made(&demo(Demo::Strip), &six_hours()).summary;
    let cost = |name: &str| summary.blunders.iter().find(|b| b.name.starts_with(name)).expect(name).clone();
    // n of the demonstration's start, a = 6613.137 km; the orbit is 0.0005 off a circle, WGS-84 off a sphere and
    // the Earth turns: 1 %.
    let n = (MU / 6_613_137.0_f64.powi(3)).sqrt();
    close(cost("orbital").smear_along_um, 1e6 * n * 0.004, 0.01);
    // Both worst where the film is fastest or the crab greatest: from the required figures themselves.
    let required = summary.required.expect("required");
    let crab = (SPIN * 82_f64.to_radians().sin() / (n - SPIN * 82_f64.to_radians().cos())).atan().to_degrees();
    close(required.crab_deg.high, crab, 0.01);
    let (most, least) = (required.speed_mm_s.high, required.speed_mm_s.low);
    let across = cost("crab").smear_across_um.abs() / (4.0 * crab.to_radians().sin());
    assert!((least..=most).contains(&across), "{across}");
    close(cost("film").smear_along_um, -2.0 * most * 4.0, 1e-9);
}

fn with(blunder: Option<Blunder>) -> stillframe::design::film_rates::Study {
    made(&demo(Demo::Strip), &Options { blunder, runs_per_revolution: 4, ..six_hours() })
}

/// The whole chain with each blunder: flight code, drive and judgement show it, and only it.
#[test]
fn each_blunder_shows_its_large_smear_through_the_whole_chain() {
    let right = with(None).summary;
    assert!(right.all_met(), "{:?}", right.criteria);
    let sound_um = right.drive.smear_along_um.three_sigma;

    let orbital = with(Some(Blunder::OrbitalRate)).summary;
    assert!(!orbital.all_met());
    assert!((3.0..4.0).contains(&orbital.drive.error_percent.mean), "{:?}", orbital.drive.error_percent);
    assert!(orbital.drive.smear_along_um.three_sigma > 4.0 * sound_um);

    let crab = with(Some(Blunder::Crab)).summary;
    assert!(!crab.all_met());
    assert!(right.drive.smear_across_um.three_sigma < 0.1, "{:?}", right.drive.smear_across_um);
    assert!(crab.drive.smear_across_um.three_sigma > 5.0, "{:?}", crab.drive.smear_across_um);
    close(crab.drive.error_percent.three_sigma, right.drive.error_percent.three_sigma, 1e-12);

    let reversed = with(Some(Blunder::Direction)).summary;
    assert!(!reversed.all_met());
    close(reversed.drive.error_percent.mean, -200.0, 1e-3);
    assert!(reversed.drive.smear_along_um.worst < -200.0);
}
