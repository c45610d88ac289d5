//! How uncertainty grows: the closed forms against orbits propagated with the error in them.

use nalgebra::Vector3;
use stillframe::{
    passes::{plan::uncertainty::Uncertainty, prediction::Prediction},
    world::{
        atmosphere::Atmosphere, ellipsoid::A_M, forces::Forces, frames::EarthRotation, kepler::Elements, kepler::State,
    },
};

const DAY_S: f64 = 86_400.0;

fn start(more_m: f64) -> State {
    let elements = Elements {
        semi_major_axis_m: A_M + 235e3 + more_m,
        eccentricity: 0.0005,
        inclination_rad: 82_f64.to_radians(),
        node_rad: 4.4,
        perigee_rad: 0.0,
        true_anomaly_rad: 0.0,
    };
    elements.to_state()
}

fn air(factor: f64) -> Forces {
    // 420 kg behind 1.13 m² at a drag coefficient of 2.2.
    Forces::new(Atmosphere::new(factor), 1.13 * 2.2 / 420.0)
}

fn path(factor: f64, more_m: f64) -> Prediction {
    let earth = EarthRotation { angle_at_start_rad: 0.3, rate_rad_s: 7.292_115e-5 };
    Prediction::new(air(factor), start(more_m), earth, DAY_S).expect("stays up")
}

/// Distance along the track from one vehicle to the other, m, positive if the second is ahead.
fn ahead_m(first: &Prediction, second: &Prediction, time_s: f64) -> f64 {
    let ((r, v), (other, _)) = (first.path.position_velocity(time_s), second.path.position_velocity(time_s));
    let normal = r.cross(&v).normalize();
    let along: Vector3<f64> = normal.cross(&r).normalize();
    other.dot(&along).atan2(other.dot(&r.normalize())) * r.norm()
}

fn closed_form(density: f64, semi_major_axis_m: f64, decay_per_rev_m: f64, n: f64) -> Uncertainty {
    Uncertainty {
        sigmas: 1.0,
        semi_major_axis_m,
        density,
        decay_per_rev_m,
        mean_motion_rad_s: n,
        radius_m: A_M + 235e3,
        ..Uncertainty::default()
    }
}

/// Mean motion over the day by the vehicle's own constants.
fn mean_motion(path: &Prediction) -> f64 {
    f64::from(path.on_board().phase_per_tick) / 2_f64.powi(48) * std::f64::consts::TAU * 100.0
}

/// Thicker air by 15 %, propagated for 4 to 24 hours. The closed form takes the fall per revolution as constant; by the
/// day's end the orbit is 2 km lower, where the air is a twentieth thicker, and half of that shows by then. In the first
/// revolutions the density still varies around each.
#[test]
fn density_error_grows_as_the_square() {
    let (right, thick) = (path(1.0, 0.0), path(1.15, 0.0));
    let n = mean_motion(&right);
    let decay_m = right.decay_per_rev_m(n);
    let predicted = closed_form(0.15, 0.0, decay_m, n);
    for hours in [4.0, 8.0, 12.0, 16.0, 20.0, 24.0] {
        let flown_m = ahead_m(&right, &thick, hours * 3600.0);
        let ratio = flown_m / predicted.along_track(hours * 3600.0).density_m;
        println!("{hours} h: {:.2} km, ratio {ratio:.3}", flown_m * 1e-3);
        assert!((0.97..1.06).contains(&ratio), "{hours} h: {ratio}");
    }
    // A control: without the error there is no distance.
    assert!(ahead_m(&right, &path(1.0, 0.0), DAY_S).abs() < 1e-3);
}

/// A semi-major axis larger by 50 m: the vehicle falls behind by 3π·50 m a revolution. No air, so that nothing else acts;
/// what is left is the second order in δa and the eccentricity of 0.0005.
#[test]
fn a_larger_orbit_falls_behind_evenly() {
    let earth = EarthRotation { angle_at_start_rad: 0.3, rate_rad_s: 7.292_115e-5 };
    let still = |more_m: f64| Prediction::new(air(0.0), start(more_m), earth, DAY_S).expect("stays up");
    let (right, large) = (still(0.0), still(50.0));
    let predicted = closed_form(0.0, 50.0, 0.0, mean_motion(&right));
    for hours in [6.0, 12.0, 24.0] {
        let behind_m = -ahead_m(&right, &large, hours * 3600.0);
        let ratio = behind_m / predicted.along_track(hours * 3600.0).period_m;
        println!("{hours} h: {behind_m:.0} m, ratio {ratio:.4}");
        assert!((ratio - 1.0).abs() < 0.003, "{hours} h: {ratio}");
    }
}
