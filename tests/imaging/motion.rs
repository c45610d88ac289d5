//! Image velocity, V/h, crab angle, cycle time, sideways look: closed forms on a sphere.

use std::f64::consts::FRAC_PI_3;

use stillframe::imaging::Earth;
use stillframe::imaging::motion::{View, drift_m_s};

use crate::setup::{Flight, RADIUS_M, SPHERE, STILL_SPHERE, close, within};

/// f·n·R/h at 600 mm and 200 km: 22.64277311778 mm/s and 0.03773795519629 rad/s (closed form; an independent
/// vector differentiation agrees).
#[test]
fn image_velocity_straight_down() {
    let required = Flight::at(200e3, 90.0).required(&STILL_SPHERE, 0.6);
    close(required.film_speed_m_s, 22.642_773_117_78e-3, 1e-9);
    close(required.v_over_h_rad_s, 0.037_737_955_196_29, 1e-9);
    close(required.slant_range_m, 200e3, 1e-12);
}

/// Inertial V over h is (R+h)/R too fast: 1.031357118858 at 200 km.
#[test]
fn v_over_h_that_forgets_the_orbital_rate() {
    let required = Flight::at(200e3, 90.0).required(&STILL_SPHERE, 0.6);
    let ratio = required.v_over_h_inertial_rad_s / required.v_over_h_rad_s;
    close(ratio, 1.031_357_118_858, 1e-9);
}

/// Crab at the ascending node, atan(ω sin i/(n − ω cos i)); the ground moves towards +y there, so the yaw
/// that follows it is negative, and the other way round at the descending node.
#[test]
fn crab_at_the_node() {
    for (height_m, inclination_deg, crab_deg) in [
        (200e3, 90.0, 3.526_247_634_742),
        (200e3, 96.33, 3.481_209_968_569),
        (300e3, 90.0, 3.606_750_121_656),
        (500e3, 97.4, 3.706_848_711_494),
    ] {
        let mut flight = Flight::at(height_m, inclination_deg);
        let yaw = flight.required(&SPHERE, 0.6).yaw_to_align_rad;
        close(yaw.to_degrees(), -crab_deg, 1e-8);
        flight.argument_rad = std::f64::consts::PI;
        let yaw = flight.required(&SPHERE, 0.6).yaw_to_align_rad;
        close(yaw.to_degrees(), crab_deg, 1e-8);
        flight.yaw_rad = yaw;
        within(flight.required(&SPHERE, 0.6).yaw_to_align_rad, 0.0, 1e-12);
    }
}

/// Crab at 60° of latitude on a polar orbit at 200 km: 1.764794963824°.
#[test]
fn crab_at_sixty_degrees() {
    let mut flight = Flight::at(200e3, 90.0);
    flight.argument_rad = FRAC_PI_3;
    let yaw = flight.required(&SPHERE, 0.6).yaw_to_align_rad;
    close(yaw.to_degrees(), -1.764_794_963_824, 1e-8);
}

/// Time between frames of 110 mm with 60 % overlap: 1.943224876703 s.
#[test]
fn cycle_time() {
    let film_speed_m_s = Flight::at(200e3, 90.0).required(&STILL_SPHERE, 0.6).film_speed_m_s;
    close(0.110 * 0.4 / film_speed_m_s, 1.943_224_876_703, 1e-9);
}

/// Looking 30° aside from 200 km: image velocity 0.8613324263231 of that straight down, slant range
/// 232159.9284558 m, either side alike.
#[test]
fn sideways_look_over_a_sphere() {
    let down = Flight::at(200e3, 90.0).required(&STILL_SPHERE, 0.6);
    for side in [-30.0_f64, 30.0] {
        let mut flight = Flight::at(200e3, 90.0);
        flight.roll_rad = side.to_radians();
        let aside = flight.required(&STILL_SPHERE, 0.6);
        close(aside.film_speed_m_s / down.film_speed_m_s, 0.861_332_426_323_1, 1e-9);
        close(aside.slant_range_m, 232_159.928_455_8, 1e-9);
    }
}

/// Over flat ground the ratio is cos 30°. Flat: a sphere of 10¹¹ m, whose own curvature leaves 1e-6.
#[test]
fn sideways_look_over_flat_ground() {
    let big_m = 1e11;
    let flat = Earth { equatorial_radius_m: big_m, polar_radius_m: big_m, rate_rad_s: 0.0 };
    let mut flight = Flight::at(200e3, 90.0);
    flight.radius_m = big_m + 200e3;
    flight.mean_motion_rad_s = 7_784.0 / flight.radius_m;
    let down = flight.required(&flat, 0.6).film_speed_m_s;
    flight.roll_rad = 30_f64.to_radians();
    let aside = flight.required(&flat, 0.6).film_speed_m_s;
    close(aside / down, 0.866_025_403_784_4, 1e-5);
}

/// A camera that is compensated has no drift left at its centre; one that is not drifts by the whole image
/// velocity, towards −x.
#[test]
fn drift_vanishes_when_compensated() {
    let flight = Flight::at(220e3, 82.0);
    let drift = |flight: &Flight| {
        let sample = flight.truth(0.0);
        let view = View::new(&Earth::WGS84, &sample);
        drift_m_s(&view, 1.0, (0.0, 0.0), 0.0, sample.film_speed_m_s).unwrap()
    };
    let bare = drift(&flight);
    assert!(bare.x < -0.03, "the ground slides towards −x: {bare}");
    let left = drift(&flight.compensated(&Earth::WGS84, 1.0));
    within(left.norm(), 0.0, 1e-14);
}

/// The boresight straight down at the node of an equator crossing meets latitude 0 at the longitude of the
/// satellite less the Earth angle (0.3 rad in this set-up).
#[test]
fn ground_point_is_where_it_should_be() {
    let view = View::new(&Earth::WGS84, &Flight::at(220e3, 82.0).truth(0.0));
    let ground = view.ground_at(1.0, 0.0, 0.0, 0.0).unwrap();
    within(ground.latitude_rad(), 0.0, 1e-12);
    within(ground.longitude_rad(), -0.3, 1e-12);
    close(ground.slant_range_m, 220e3, 1e-12);
    close(ground.earth_fixed_m.norm(), RADIUS_M, 1e-15);
}

/// Raising the ground shortens the range by as much, and quickens the image.
#[test]
fn higher_ground_is_nearer() {
    let view = View::new(&SPHERE, &Flight::at(220e3, 82.0).truth(0.0));
    let high = view.ground_at(1.0, 0.0, 0.0, 1_500.0).unwrap();
    close(high.slant_range_m, 218_500.0, 1e-12);
}
