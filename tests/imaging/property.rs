//! Invariants over many attitudes, rates and film speeds.

use nalgebra::{Quaternion, UnitQuaternion, Vector3};
use proptest::prelude::*;
use stillframe::imaging::camera::{Camera, CameraKind};
use stillframe::imaging::frame::judge;
use stillframe::imaging::motion::View;
use stillframe::imaging::sample::Exposure;
use stillframe::imaging::smear::{GroundHeight, smear};
use stillframe::imaging::{Earth, ImagingError};

use crate::setup::Flight;

fn any_flight() -> impl Strategy<Value = Flight> {
    (
        (150e3..500e3, 0.0..180.0, 0.0..std::f64::consts::TAU),
        (-0.6..0.6, -0.6..0.6, -3.1..3.1),
        [-0.1..0.1_f64, -0.1..0.1, -0.1..0.1],
        -0.1..0.1,
    )
        .prop_map(|(orbit, tilt, rate, film_speed_m_s)| {
            let mut flight = Flight::at(orbit.0, orbit.1);
            flight.argument_rad = orbit.2;
            (flight.roll_rad, flight.pitch_rad, flight.yaw_rad) = tilt;
            flight.extra_rate_rad_s = Vector3::from(rate);
            flight.film_speed_m_s = film_speed_m_s;
            flight
        })
}

fn framing() -> Camera {
    Camera { kind: CameraKind::Framing, ..Camera::default() }
}

proptest! {
    /// Parts add up, and no number is lost, whatever the vehicle does.
    #[test]
    fn parts_add_up_always(flight in any_flight(), programme in proptest::option::of(-0.1..0.1)) {
        let mut exposure = flight.exposure(5e-3);
        exposure.programme_film_speed_m_s = programme;
        let height = GroundHeight { true_m: 400.0, programme_m: Some(0.0) };
        let smeared = smear(&Earth::WGS84, &framing(), &exposure, &height).unwrap();
        for point in smeared.points() {
            let sum = point.parts_m.iter().sum::<nalgebra::Vector2<f64>>();
            // Rounding is set by the largest part, not by what is left of their sum.
            let largest = point.parts_m.iter().map(|part| part.norm()).fold(0.0, f64::max);
            prop_assert!((sum - point.net_m).norm() <= 1e-14 * largest.max(1e-4));
            prop_assert!(point.extent_m.x >= point.net_m.x.abs() - 1e-18);
            prop_assert!(point.extent_m.y >= point.net_m.y.abs() - 1e-18);
        }
    }

    /// Rotation smears alike at any range: at the same point of the image the rates act the same however
    /// far the ground, while translation does not.
    #[test]
    fn rotation_smear_ignores_range(
        flight in any_flight(),
        lift_m in 10e3..300e3,
        at in (-0.06..0.06, -0.06..0.06),
    ) {
        let image = |radius_m: f64| {
            let view = View::new(&Earth::WGS84, &Flight { radius_m, ..flight }.truth(0.0));
            let ground = view.ground_at(1.0, at.0, at.1, 0.0).unwrap();
            view.image_of(1.0, &ground.earth_fixed_m).unwrap()
        };
        let (near, far) = (image(flight.radius_m), image(flight.radius_m + lift_m));
        for (near, far) in near.per_rate_m.iter().zip(&far.per_rate_m) {
            prop_assert!((near - far).norm() <= 1e-13);
        }
        let translation = near.translation_m_s.norm() / far.translation_m_s.norm();
        prop_assert!(translation > 1.0 + 0.3 * lift_m / 500e3, "{translation}");
    }

    /// Any attitude whatever: a finite judgement, or a clear word that the Earth was missed.
    #[test]
    fn any_attitude_is_answered(
        q in [-1.0..1.0_f64, -1.0..1.0, -1.0..1.0, -1.0..1.0],
        flight in any_flight(),
    ) {
        prop_assume!(q.iter().map(|c| c * c).sum::<f64>() > 1e-3);
        let attitude = UnitQuaternion::from_quaternion(Quaternion::new(q[0], q[1], q[2], q[3]));
        let mut exposure: Exposure = flight.exposure(5e-3);
        for sample in &mut exposure.samples {
            sample.attitude = attitude;
        }
        match judge(&Earth::WGS84, &framing(), &[exposure], &flight.frame_info(30.0)) {
            Ok(judged) => {
                let all = [judged.grd_m.x, judged.grd_m.y, judged.awar_lp_mm, judged.slant_range_m,
                    judged.latitude_rad, judged.longitude_rad, judged.sun_elevation_rad,
                    judged.worst_grd_m.x, judged.worst_grd_m.y, judged.required_film_speed_m_s];
                prop_assert!(all.iter().all(|number| number.is_finite()), "{all:?}");
                prop_assert!(judged.grd_m.min() > 0.0);
            }
            Err(error) => {
                let missed = matches!(error, ImagingError::EarthMissed { .. });
                prop_assert!(missed, "{error}");
            }
        }
    }
}

/// Half of all directions look away from the Earth, so the property above must have met both answers.
#[test]
fn up_misses_and_down_does_not() {
    let mut flight = Flight::at(220e3, 82.0);
    let look = |flight: &Flight| {
        let height = GroundHeight::default();
        smear(&Earth::WGS84, &framing(), &flight.exposure(4e-3), &height).is_ok()
    };
    assert!(look(&flight));
    // The horizon lies acos(R/(R+h)) = 14.8° below level: 75.2° from straight down, less half the format.
    flight.roll_rad = 70_f64.to_radians();
    assert!(look(&flight));
    flight.roll_rad = 76_f64.to_radians();
    assert!(!look(&flight));
}
