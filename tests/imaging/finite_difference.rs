//! The Jacobian against brute force: move satellite, body and Earth by a little, project the same ground
//! point again, difference. The projection here shares nothing with the library but the sample.

use nalgebra::{UnitQuaternion, Vector2, Vector3};
use stillframe::imaging::Earth;
use stillframe::imaging::camera::{Camera, CameraKind};
use stillframe::imaging::motion::View;
use stillframe::imaging::sample::{BOOLE, Exposure, NODES, Opening, RUNNING, TruthSample, node_times_s};
use stillframe::imaging::smear::{GroundHeight, smear};

use crate::setup::{EARTH_RATE_RAD_S, Flight};

const FOCAL_M: f64 = 1.0;

/// Truth with everything askew, moved by `dt` along its own velocities.
fn askew(dt: f64) -> TruthSample {
    let mut flight = Flight::at(231e3, 67.0);
    flight.argument_rad = 0.9;
    flight.roll_rad = 0.31;
    flight.pitch_rad = -0.12;
    flight.yaw_rad = 0.7;
    let mut sample = flight.truth(0.0);
    sample.velocity_m_s += Vector3::new(40.0, -25.0, 60.0);
    sample.rate_rad_s += Vector3::new(2e-3, -1e-3, 3e-3);
    sample.position_m += sample.velocity_m_s * dt;
    sample.attitude *= UnitQuaternion::from_scaled_axis(sample.rate_rad_s * dt);
    sample.earth_angle_rad += EARTH_RATE_RAD_S * dt;
    sample.film_speed_m_s = 0.03;
    sample.time_s = dt;
    sample
}

fn project(sample: &TruthSample, earth_fixed_m: &Vector3<f64>) -> Vector2<f64> {
    let spin = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), sample.earth_angle_rad);
    let seen = sample.attitude.inverse_transform_vector(&(spin * earth_fixed_m - sample.position_m));
    Vector2::new(FOCAL_M * seen.x / seen.z, FOCAL_M * seen.y / seen.z)
}

/// Five-point difference at 0.02 s: truncation below 1e-13, rounding of 1e-9 m in position the rest.
#[test]
fn jacobian_agrees_with_finite_difference() {
    let view = View::new(&Earth::WGS84, &askew(0.0));
    let dt = 0.02;
    let mut worst: f64 = 0.0;
    for (x, y) in [(0.0, 0.0), (0.0, 0.057), (0.057, -0.057), (-0.11, 0.11)] {
        let ground = view.ground_at(FOCAL_M, x, y, 350.0).unwrap().earth_fixed_m;
        let at = |steps: f64| project(&askew(steps * dt), &ground);
        let differenced = ((at(1.0) - at(-1.0)) * 8.0 - (at(2.0) - at(-2.0))) / (12.0 * dt);
        let image = view.image_of(FOCAL_M, &ground).unwrap();
        let exact = image.velocity_m_s(view.rate_rad_s());
        assert!((image.position_m - Vector2::new(x, y)).norm() < 1e-13);
        worst = worst.max((exact - differenced).norm() / exact.norm());
    }
    println!("Jacobian against finite difference: worst relative error {worst:.1e}");
    assert!(worst < 1e-9, "{worst:e}");
}

/// Smear by quadrature against the ground point's own path: projected at start and end, less the film's.
#[test]
fn smear_agrees_with_displacement() {
    let camera = Camera { kind: CameraKind::Framing, ..Camera::default() };
    let length_s = 0.02;
    let exposure = Exposure::sampled(-0.5 * length_s, 0.5 * length_s, Opening::Shutter, askew);
    let smeared = smear(&Earth::WGS84, &camera, &exposure, &GroundHeight::default()).unwrap();
    let mut points = 0;
    for point in smeared.points() {
        let ground = &point.ground.earth_fixed_m;
        let image = project(&askew(0.5 * length_s), ground) - project(&askew(-0.5 * length_s), ground);
        let moved = image + Vector2::new(0.03 * length_s, 0.0);
        assert!(moved.norm() > 1e-5, "a smear worth the name: {moved}");
        assert!((point.net_m - moved).norm() < 1e-9 * moved.norm(), "{} {moved}", point.net_m);
        points += 1;
    }
    assert_eq!(points, 5);
}

/// Ground length of an image metre against tracing two neighbouring lines of sight to the ground.
#[test]
fn ground_scale_agrees_with_neighbouring_rays() {
    let view = View::new(&Earth::WGS84, &askew(0.0));
    let step = 1e-5;
    for (x, y) in [(0.0, 0.0), (0.05, -0.057)] {
        let at = |x: f64, y: f64| view.ground_at(FOCAL_M, x, y, 0.0).unwrap();
        let scale = view.ground_per_image(FOCAL_M, &at(x, y));
        let length = |dx: f64, dy: f64| {
            let (a, b) = (at(x - dx, y - dy), at(x + dx, y + dy));
            (b.earth_fixed_m - a.earth_fixed_m).norm() / (2.0 * step)
        };
        assert!((scale.x / length(step, 0.0) - 1.0).abs() < 1e-8);
        assert!((scale.y / length(0.0, step) - 1.0).abs() < 1e-8);
    }
}

/// The quadrature is exact for every power that five nodes can carry, up to each node (and one more for the
/// whole window, as Boole's rule is).
#[test]
fn quadrature_is_exact_for_quartics() {
    let nodes = node_times_s(0.0, 1.0);
    for power in 0..=4 {
        for (row, end) in RUNNING.iter().zip(nodes) {
            let sum: f64 = row.iter().zip(nodes).map(|(w, t)| w * t.powi(power)).sum();
            let exact = end.powi(power + 1) / f64::from(power + 1);
            assert!((sum - exact).abs() < 1e-15, "t^{power} to {end}: {sum} {exact}");
        }
    }
    let fifth: f64 = (0..NODES).map(|node| BOOLE[node] * nodes[node].powi(5)).sum();
    assert!((fifth - 1.0 / 6.0).abs() < 1e-15);
}
