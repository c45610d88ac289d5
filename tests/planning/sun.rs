//! The Sun's elevation at every pass against the `solar-positioning` crate (SPA, Reda and Andreas 2004).

use crate::demo_plan;
use solar_positioning::{Location, SolarPositions, time::JulianDate};
use stillframe::world::track::ground_point;

/// Ours leaves out parallax (0.0024°) and is good to 0.01° by its method; UT1 − UTC of the crate's day is not ours to
/// know: its ΔT of 69.184 s is TT − UTC of 2026, so that both take UT1 as UTC.
#[test]
fn the_sun_stands_where_spa_has_it() {
    let study = demo_plan();
    let (mut worst, mut late) = (0.0_f64, 0.0_f64);
    for pass in &study.plan.passes {
        let mut lowest = f64::INFINITY;
        for t in [pass.start_s, 0.5 * (pass.start_s + pass.end_s), pass.end_s] {
            let place = ground_point(&study.built.prediction.path.position(t), &study.built.prediction.earth, t);
            let location =
                Location { latitude: place.latitude_rad.to_degrees(), longitude: place.longitude_rad.to_degrees() };
            // The run begins on 2026-06-10 at 06:00, JD 2461201.75.
            let spa_deg = |t: f64| {
                let time = JulianDate::new(2_461_201.75 + t / 86_400.0, 69.184).expect("a date");
                let spa = SolarPositions::new().at_from_julian(time, location, 0.0, None).expect("a place");
                spa.elevation_angle()
            };
            lowest = lowest.min(spa_deg(t));
            late = late.max((spa_deg(t + 60.0) - spa_deg(t)).abs());
        }
        worst = worst.max((pass.sun_rad[0].to_degrees() - lowest).abs());
    }
    println!("{} passes, worst {worst:.4}°", study.plan.passes.len());
    assert!(study.plan.passes.len() > 13 && worst < 0.01, "{worst}");
    // A control: a minute would show.
    assert!(late > 0.1, "{late}");
}
