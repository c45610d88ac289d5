//! Smear by cause: closed forms, the sum of the parts, and three classic blunders.

use nalgebra::Vector3;
use stillframe::imaging::Earth;
use stillframe::imaging::camera::{Camera, CameraKind};
use stillframe::imaging::sample::Exposure;
use stillframe::imaging::smear::{GroundHeight, PointSmear, SmearCause, smear};

use crate::setup::{Flight, SPHERE, STILL_SPHERE, camera_600, close, within};

const HUNDREDTH_DEG_S: f64 = 0.01 * std::f64::consts::PI / 180.0;

fn points(earth: &Earth, camera: &Camera, exposure: &Exposure) -> Vec<PointSmear> {
    smear(earth, camera, exposure, &GroundHeight::default()).unwrap().points().copied().collect()
}

fn flight_600() -> Flight {
    Flight::at(200e3, 90.0).compensated(&STILL_SPHERE, 0.6)
}

/// Pitch rate 0.01 °/s for 2 ms at 600 mm: f·ω·t = 0.2094395102393 µm. Forward pitch turns the image to −x.
#[test]
fn pitch_rate() {
    let mut flight = flight_600();
    flight.extra_rate_rad_s = Vector3::new(0.0, HUNDREDTH_DEG_S, 0.0);
    let centre = points(&STILL_SPHERE, &camera_600(), &flight.exposure(2e-3))[0];
    close(centre.part_m(SmearCause::PitchRate).x, -0.209_439_510_239_3e-6, 1e-8);
    // Nothing else is wrong: what is left is the drift of attitude within the window, second order.
    close(centre.net_m.x, -0.209_439_510_239_3e-6, 1e-5);
    within(centre.net_m.y, 0.0, 1e-12);
}

/// Yaw rate 0.01 °/s for 2 ms, 100 mm from the centre: 0.03490658503989 µm, opposite at the other end.
#[test]
fn yaw_rate_at_the_edge() {
    let mut flight = flight_600();
    flight.extra_rate_rad_s = Vector3::new(0.0, 0.0, HUNDREDTH_DEG_S);
    let points = points(&STILL_SPHERE, &camera_600(), &flight.exposure(2e-3));
    let part = |index: usize| points[index].part_m(SmearCause::YawRate);
    within(part(0).norm(), 0.0, 1e-15);
    close(part(1).x, -0.034_906_585_039_89e-6, 1e-8);
    close(part(2).x, 0.034_906_585_039_89e-6, 1e-8);
}

/// Yaw 1° off: v·sin 1°·t = 0.7903417586372 µm across.
#[test]
fn yaw_error() {
    let mut flight = flight_600();
    flight.yaw_rad = 1_f64.to_radians();
    let centre = points(&STILL_SPHERE, &camera_600(), &flight.exposure(2e-3))[0];
    close(centre.part_m(SmearCause::YawError).y, 0.790_341_758_637_2e-6, 1e-8);
    close(centre.net_m.y, 0.790_341_758_637_2e-6, 1e-8);
}

/// Film 1 % fast: 0.452855462356 µm along. Blamed on the programme, or on the drive when the programme asked
/// for the right speed.
#[test]
fn film_rate() {
    let mut flight = flight_600();
    let right_m_s = flight.film_speed_m_s;
    flight.film_speed_m_s *= 1.01;
    let mut exposure = flight.exposure(2e-3);
    let centre = points(&STILL_SPHERE, &camera_600(), &exposure)[0];
    close(centre.part_m(SmearCause::FilmProgramme).x, 0.452_855_462_356e-6, 1e-7);
    within(centre.part_m(SmearCause::FilmDrive).x, 0.0, 0.0);
    exposure.programme_film_speed_m_s = Some(right_m_s);
    let centre = points(&STILL_SPHERE, &camera_600(), &exposure)[0];
    close(centre.part_m(SmearCause::FilmDrive).x, 0.452_855_462_356e-6, 1e-9);
    within(centre.part_m(SmearCause::FilmProgramme).x, 0.0, 1e-13);
}

/// Ground 1.5 km above the height of the programme quickens the image: f·n·(R+H)/(h−H) less f·n·R/h.
#[test]
fn relief() {
    let flight = flight_600();
    let height = GroundHeight { true_m: 1_500.0, programme_m: Some(0.0) };
    let smeared = smear(&STILL_SPHERE, &camera_600(), &flight.exposure(2e-3), &height).unwrap();
    let centre = *smeared.points().next().unwrap();
    let speed = |top: f64| 0.6 * flight.mean_motion_rad_s * (6_378_137.0 + top) / (200e3 - top);
    let expected = (speed(0.0) - speed(1_500.0)) * 2e-3;
    close(centre.part_m(SmearCause::Relief).x, expected, 1e-6);
    within(centre.part_m(SmearCause::FilmProgramme).x, 0.0, 1e-13);
}

/// The parts add up to the whole at every point with everything wrong at once, over WGS-84.
#[test]
fn parts_add_up() {
    let mut flight = Flight::at(220e3, 82.0).compensated(&Earth::WGS84, 1.0);
    flight.roll_rad = 0.2;
    flight.yaw_rad += 0.05;
    flight.extra_rate_rad_s = Vector3::new(3e-4, -2e-4, 5e-4);
    flight.film_speed_m_s *= 0.98;
    let camera = Camera { kind: CameraKind::Framing, ..Camera::default() };
    let mut exposure = flight.exposure(8e-3);
    exposure.programme_film_speed_m_s = Some(0.99 * flight.film_speed_m_s);
    let height = GroundHeight { true_m: 900.0, programme_m: Some(100.0) };
    let smeared = smear(&Earth::WGS84, &camera, &exposure, &height).unwrap();
    for point in smeared.points() {
        let sum = point.parts_m.iter().sum::<nalgebra::Vector2<f64>>();
        assert!(point.net_m.norm() > 1e-6);
        within((sum - point.net_m).norm(), 0.0, 1e-14 * point.net_m.norm().max(1e-4));
        for cause in SmearCause::ALL {
            // Every cause is at work here, but the yaw rate only away from the centre.
            let centre = point.point.x_m == 0.0;
            let silent = centre && matches!(cause, SmearCause::YawRate | SmearCause::Field);
            assert!(silent || point.part_m(cause).norm() > 1e-9, "{cause:?}");
        }
    }
}

/// Motion that turns back within the exposure leaves no net smear but blurs over its extent.
#[test]
fn motion_that_turns_back_still_blurs() {
    let mut flight = flight_600();
    let amplitude_rad_s = 1e-3;
    let mut exposure = flight.exposure(2e-3);
    for (sample, sign) in exposure.samples.iter_mut().zip([-1.0, -0.5, 0.0, 0.5, 1.0]) {
        sample.rate_rad_s.x += sign * amplitude_rad_s;
    }
    let centre = points(&STILL_SPHERE, &camera_600(), &exposure)[0];
    within(centre.net_m.y, 0.0, 1e-12);
    // A rate that runs evenly from −a to +a over T swings the angle by a·T/4.
    close(centre.extent_m.y, 0.6 * amplitude_rad_s * 2e-3 / 4.0, 1e-6);
    flight.film_speed_m_s *= 1.01;
    let steady = points(&STILL_SPHERE, &camera_600(), &flight.exposure(2e-3))[0];
    close(steady.extent_m.x, steady.net_m.x.abs(), 1e-12);
}

/// Blunder: the programme takes the inertial V over h and leaves the camera's own turning out. At 220 km
/// the film runs 3.4 % fast: 4.7 µm in 4 ms.
#[test]
fn blunder_orbital_rate_left_out() {
    let mut flight = Flight::at(220e3, 82.0).compensated(&STILL_SPHERE, 1.0);
    flight.film_speed_m_s = flight.required(&STILL_SPHERE, 1.0).v_over_h_inertial_rad_s;
    let centre = points(&STILL_SPHERE, &Camera::default(), &flight.exposure(4e-3))[0];
    within(centre.net_m.x, 4.7e-6, 0.05e-6);
    let share = centre.net_m.x / (flight.required(&STILL_SPHERE, 1.0).film_speed_m_s * 4e-3);
    close(share, 220e3 / 6_378_137.0, 1e-6);
    within(share, 0.034, 0.0006);
}

/// Blunder: crab not steered out. At the node of the demo's orbit about 8 µm across in 4 ms.
#[test]
fn blunder_crab_left_in() {
    let mut flight = Flight::at(220e3, 82.0).compensated(&SPHERE, 1.0);
    flight.yaw_rad = 0.0;
    let centre = points(&SPHERE, &Camera::default(), &flight.exposure(4e-3))[0];
    within(centre.net_m.y.abs(), 8.2e-6, 0.3e-6);
    assert!(centre.net_m.x.abs() < 0.5e-6);
    close(centre.part_m(SmearCause::YawError).y, centre.net_m.y, 1e-6);
    // The sign matters as much as the size: steered the wrong way it doubles.
    flight.yaw_rad = -flight.required(&SPHERE, 1.0).yaw_to_align_rad;
    let wrong = points(&SPHERE, &Camera::default(), &flight.exposure(4e-3))[0];
    within(wrong.net_m.y / centre.net_m.y, 2.0, 0.01);
}

/// Blunder: film runs backwards. Twice the image's travel, 2 × 136.6 µm in 4 ms.
#[test]
fn blunder_film_reversed() {
    let mut flight = Flight::at(220e3, 82.0).compensated(&STILL_SPHERE, 1.0);
    let travel_m = flight.film_speed_m_s * 4e-3;
    within(travel_m, 136.6e-6, 0.1e-6);
    flight.film_speed_m_s = -flight.film_speed_m_s;
    let centre = points(&STILL_SPHERE, &Camera::default(), &flight.exposure(4e-3))[0];
    close(centre.net_m.x, -2.0 * travel_m, 1e-7);
}
