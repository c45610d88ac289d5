//! What the flight code and the simulated drive make of the programme.

use stillframe::{design::film_rates::Options, scenario::demo::Demo};

use crate::{changed, demo, made, six_hours};

/// Start-up, run-down, tension and waste over a mission's worth of reel fills, full to empty.
#[test]
fn film_is_valid_within_a_second_from_full_to_empty_supply() {
    let options = Options { duration_s: 86_400.0, runs_per_revolution: 3, ..Options::default() };
    let drive = made(&demo(Demo::Strip), &options).summary.drive;
    assert_eq!(drive.never_valid, 0);
    assert!(drive.runs >= 40);
    let (up, down) = (drive.start_up_s.clone().expect("runs"), drive.run_down_s.clone().expect("runs"));
    assert!(up.low > 0.1 && up.high < 1.0, "{up:?}");
    assert!(down.high < 3.0, "{down:?}");
    let tension = drive.tension_n.clone().expect("runs");
    assert!(tension.low > 3.0 && tension.high < 10.0, "{tension:?}");
    // The roller's counts cannot see its eccentricity (1e-3 of the speed): the film is the less even of the two.
    assert!(drive.metered_percent.rms < drive.error_percent.rms, "{drive:?}");
    assert!(drive.wow_percent.expect("wow") > 0.05, "an eccentricity of 0.1 % makes a wow of 0.2 %, 3σ: {drive:?}");
}

/// The framing camera reaches the overlap wanted; where the cycle is too slow for it, that is said.
#[test]
fn overlap_is_reached_where_the_cycle_allows_it() {
    let options = Options { runs_per_revolution: 2, run_s: 20.0, ..six_hours() };
    let summary = made(&demo(Demo::Frame), &options).summary;
    let cycle = summary.cycle.first().expect("a cycle");
    assert!(cycle.overlap_percent.low > 9.5 && cycle.overlap_percent.high < 12.0, "{cycle:?}");
    assert_eq!(cycle.late, 0);
    let whole: f64 = cycle.phases_s.iter().map(|(_, s)| s).sum();
    assert!((whole - cycle.asked_s).abs() < 0.011, "{cycle:?}");
    assert!(summary.all_met(), "{:?}", summary.criteria);

    let greedy = changed(Demo::Frame, "overlap_percent = 10.0", "overlap_percent = 75.0");
    let greedy = changed_cycle(&greedy.text);
    let summary = made(&greedy, &options).summary;
    let cycle = summary.cycle.first().expect("a cycle");
    assert!(cycle.overlap_percent.high < 70.0 && cycle.late > 0, "{cycle:?}");
    assert!(!summary.all_met());
}

/// The same scenario with a cycle that is promised to be faster than the mechanism is.
fn changed_cycle(text: &str) -> stillframe::scenario::Loaded {
    let text = text.replacen("shortest_cycle_s = 2.0", "shortest_cycle_s = 0.8", 1);
    stillframe::scenario::read("greedy", &text, &stillframe::scenario::BuiltIn(&[])).expect("a sound scenario")
}

/// Slit over film speed: the exposure follows the speed, and a slit that suits the Sun is within half a stop
/// wherever the Sun stands above 16°.
#[test]
fn exposure_follows_film_speed_and_sun() {
    let study =
        made(&demo(Demo::Strip), &Options { duration_s: 86_400.0, runs_per_revolution: 1, ..Options::default() });
    let slits_m = [0.0685e-3, 0.0969e-3, 0.137e-3, 0.194e-3];
    let lit: Vec<_> = study.points.iter().filter(|p| p.setting >= 0).collect();
    assert!(lit.len() > 3000);
    for point in &lit {
        let exposure_s = slits_m[point.setting as usize] / point.commanded_m_s;
        assert!((f64::from(point.exposure_s) / exposure_s - 1.0).abs() < 1e-6);
        assert!(point.sun_elevation_deg < 16.0 || point.stops_off.abs() <= 0.5, "{point:?}");
    }
    assert!(lit.iter().any(|p| p.stops_off < -1.0), "a low Sun cannot be exposed for");
}
