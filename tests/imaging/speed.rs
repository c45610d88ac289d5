//! Time to judge one strip frame: three instants, three points, five nodes.

use std::hint::black_box;
use std::time::Instant;

use stillframe::imaging::Earth;
use stillframe::imaging::camera::Camera;
use stillframe::imaging::frame::judge;

use crate::setup::Flight;

/// A few µs on a common core; the bound leaves a factor for a busy machine. Not for debug builds.
#[test]
#[ignore = "a measurement: run alone, in release"]
fn one_strip_frame() {
    let flight = Flight::at(220e3, 82.0).compensated(&Earth::WGS84, 1.0);
    let exposures = [-0.5, 0.0, 0.5].map(|middle_s| flight.exposure_about(middle_s, 4e-3));
    let (camera, info) = (Camera::default(), flight.frame_info(28.0));
    let frames = 20_000;
    let start = Instant::now();
    for _ in 0..frames {
        black_box(judge(&Earth::WGS84, &camera, black_box(&exposures), &info).unwrap());
    }
    let each_us = 1e6 * start.elapsed().as_secs_f64() / f64::from(frames);
    println!("one strip frame: {each_us:.2} µs");
    assert!(each_us < 30.0, "{each_us} µs");
}
