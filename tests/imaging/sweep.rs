//! The panoramic sweep: geometry on the cylinder of film, compensation that follows the angle, and what it leaves.

use nalgebra::{UnitQuaternion, Vector2, Vector3};
use stillframe::imaging::Earth;
use stillframe::imaging::camera::{Camera, CameraKind, SweepGeometry};
use stillframe::imaging::sample::{Exposure, Opening, TruthSample};
use stillframe::imaging::smear::{GroundHeight, smear, smear_at};

use crate::setup::{Flight, SPHERE, STILL_SPHERE, close, within};

const FOCAL_M: f64 = 0.6;

fn camera() -> Camera {
    Camera {
        kind: CameraKind::Sweep,
        focal_length_m: FOCAL_M,
        sweep: Some(SweepGeometry { half_angle_rad: 30_f64.to_radians(), rate_rad_s: 1.0 }),
        ..Camera::default()
    }
}

fn looking(flight: &Flight, angle_deg: f64, length_s: f64) -> Exposure {
    let opening = Opening::SweptSlit { width_m: FOCAL_M * length_s };
    let mut exposure = Exposure::sampled(-0.5 * length_s, 0.5 * length_s, opening, |time_s| flight.truth(time_s));
    exposure.sweep_angle_rad = angle_deg.to_radians();
    exposure
}

/// Film speed required at an angle over that straight down: 0.861332426 on a sphere at 30° from 200 km (the flat
/// Earth's cosine would be 0.866025404), from 232,159.9285 m away. The on-board rule agrees to 3e-5.
#[test]
fn required_speed_falls_with_the_angle() {
    let flight = Flight::at(200e3, 90.0);
    let required = |angle_deg: f64| {
        let smeared = smear(&STILL_SPHERE, &camera(), &looking(&flight, angle_deg, 2e-3), &GroundHeight::default());
        let smeared = smeared.unwrap();
        (smeared.required_film_speed_m_s, smeared.centre.slant_range_m)
    };
    let (middle_m_s, _) = required(0.0);
    close(middle_m_s, 22.642_773_1e-3, 1e-6);
    for angle_deg in [30.0, -30.0] {
        let (m_s, slant_m) = required(angle_deg);
        within(m_s / middle_m_s, 0.861_332_426, 1e-7);
        within(slant_m, 232_159.928_5, 1e-3);
    }
    let height_share: f64 = 200e3 / 6_378_137.0;
    let curvature = 0.5 * height_share * (1.0 + height_share);
    for angle_deg in [5.0_f64, 15.0, 30.0] {
        let (sin, cos) = angle_deg.to_radians().sin_cos();
        within(cos - curvature * sin * sin / cos, required(angle_deg).0 / middle_m_s, 3e-5);
    }
}

/// Everything askew, with a common velocity, moved by `dt`.
fn askew(dt: f64) -> TruthSample {
    let mut flight = Flight::at(231e3, 67.0);
    (flight.argument_rad, flight.roll_rad, flight.pitch_rad, flight.yaw_rad) = (0.9, 0.11, -0.07, 0.3);
    let mut sample = flight.truth(0.0);
    sample.rate_rad_s += Vector3::new(2e-3, -1e-3, 3e-3);
    sample.position_m += sample.velocity_m_s * dt;
    sample.attitude *= UnitQuaternion::from_scaled_axis(sample.rate_rad_s * dt);
    sample.earth_angle_rad += crate::setup::EARTH_RATE_RAD_S * dt;
    sample.film_speed_m_s = 0.02;
    sample.time_s = dt;
    sample
}

/// Image on the cylinder, straight from its definition: along f·X/√(Y² + Z²), across f·atan(Y/Z).
fn on_cylinder(sample: &TruthSample, earth_fixed_m: &Vector3<f64>) -> Vector2<f64> {
    let spin = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), sample.earth_angle_rad);
    let seen = sample.attitude.inverse_transform_vector(&(spin * earth_fixed_m - sample.position_m));
    Vector2::new(FOCAL_M * seen.x / seen.y.hypot(seen.z), FOCAL_M * seen.y.atan2(seen.z))
}

#[test]
fn smear_agrees_with_the_path_on_the_cylinder() {
    let camera = camera();
    let length_s = 0.02;
    for angle_deg in [-30.0_f64, -7.0, 0.0, 22.0] {
        let opening = Opening::SweptSlit { width_m: 1e-3 };
        let mut exposure = Exposure::sampled(-0.5 * length_s, 0.5 * length_s, opening, askew);
        exposure.sweep_angle_rad = angle_deg.to_radians();
        let grid = camera.grid();
        let points = smear_at(&Earth::WGS84, &camera, &exposure, &GroundHeight::default(), &grid).unwrap();
        assert_eq!(points.len(), 5);
        for point in points {
            let ground = &point.ground.earth_fixed_m;
            let start = on_cylinder(&askew(-0.5 * length_s), ground);
            let image = on_cylinder(&askew(0.5 * length_s), ground) - start;
            let moved = image + Vector2::new(0.02 * length_s, 0.0);
            assert!(moved.norm() > 1e-5, "a smear worth the name");
            // The plane touches the cylinder at the line: over this smear of 0.1 mm they part by (y/f)³, 1e-11 of f.
            assert!((point.net_m - moved).norm() < 1e-7 * moved.norm(), "{angle_deg}°: {} {moved}", point.net_m);
            let middle = on_cylinder(&askew(0.0), ground);
            within((middle - Vector2::new(point.point.x_m, FOCAL_M * angle_deg.to_radians())).norm(), 0.0, 1e-9);
        }
    }
}

/// A roll rate, which is the sweep's own axis, smears alike at every angle; a yaw rate does so along, by sin θ, and is
/// nothing straight down. What the sweep itself turns does not smear.
#[test]
fn rates_smear_by_the_angle() {
    let length_s = 2e-3;
    let rate = 0.01_f64.to_radians();
    let centre = |extra_rate_rad_s: Vector3<f64>, angle_deg: f64| {
        let still = Flight::at(200e3, 90.0);
        let turning = Flight { extra_rate_rad_s, ..still };
        let net = |flight: &Flight| {
            let exposure = looking(flight, angle_deg, length_s);
            let smeared = smear(&STILL_SPHERE, &camera(), &exposure, &GroundHeight::default()).unwrap();
            smeared.points().next().unwrap().net_m
        };
        net(&turning) - net(&still)
    };
    for angle_deg in [-20.0_f64, 0.0, 30.0] {
        let travel_m = FOCAL_M * rate * length_s;
        close(centre(Vector3::x() * rate, angle_deg).y, travel_m, 1e-5);
        within(centre(Vector3::z() * rate, angle_deg).x, travel_m * angle_deg.to_radians().sin(), 1e-11);
    }
}

/// Compensation that follows the angle leaves nothing at the middle of the slit; one that does not leaves the whole
/// difference: at 30° and 2 ms, 0.138667574 × 45.3 µm.
#[test]
fn compensation_must_follow_the_angle() {
    let mut flight = Flight::at(200e3, 90.0);
    let required = |flight: &Flight, angle_deg: f64| {
        smear(&STILL_SPHERE, &camera(), &looking(flight, angle_deg, 2e-3), &GroundHeight::default()).unwrap()
    };
    let middle_m_s = required(&flight, 0.0).required_film_speed_m_s;
    flight.film_speed_m_s = required(&flight, 30.0).required_film_speed_m_s;
    let right = *required(&flight, 30.0).points().next().unwrap();
    within(right.net_m.x, 0.0, 1e-12);
    flight.film_speed_m_s = middle_m_s;
    let wrong = *required(&flight, 30.0).points().next().unwrap();
    close(wrong.net_m.x, 0.138_667_574 * middle_m_s * 2e-3, 1e-6);
}

/// Exact on a line only. On a turning Earth at the node, crab steered out at the middle, what is left grows to the sides:
/// across the slit from the Earth's turning, along it at the slit's ends.
#[test]
fn compensation_is_exact_on_a_line_only() {
    let mut flight = Flight::at(235e3, 82.0).compensated(&SPHERE, FOCAL_M);
    let left = |flight: &Flight, angle_deg: f64| -> Vec<Vector2<f64>> {
        let exposure = looking(flight, angle_deg, 2e-3);
        let grid = camera().grid();
        let points = smear_at(&SPHERE, &camera(), &exposure, &GroundHeight::default(), &grid).unwrap();
        points.iter().map(|point| point.net_m).collect()
    };
    let at_middle = left(&flight, 0.0);
    assert!(at_middle[2].norm() < 1e-9, "{}", at_middle[2]);
    assert!(at_middle[0].norm() > 1e-8 && at_middle[4].norm() > 1e-8);
    let exposure = looking(&flight, 20.0, 2e-3);
    let smeared = smear(&SPHERE, &camera(), &exposure, &GroundHeight::default()).unwrap();
    flight.film_speed_m_s = smeared.required_film_speed_m_s;
    let at_side = left(&flight, 20.0)[2];
    println!("left at 20°, middle of the slit: {:.3} µm along, {:.3} µm across", 1e6 * at_side.x, 1e6 * at_side.y);
    assert!(at_side.norm() > 1e-8 && at_side.norm() < 2e-6);
}
