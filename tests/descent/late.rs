//! Late news: regions that say what is known, and no more.

use stillframe::descent::Model;
use stillframe::descent::ground::Along;
use stillframe::descent::repredict::{Before, Form, LateFacts, News, Region, region};
use stillframe::world::ellipsoid::Geodetic;

use crate::made;

fn after(facts: LateFacts) -> Region {
    let made = made();
    let d = &made.descents;
    let before =
        Before { model: &made.model, at: &d.at, timers: &d.timers, axes: &d.axes, along: &d.along, runs: 60, seed: 1 };
    region(&before, &facts, &|_| {})
}

fn chance(region: &Region, form: fn(&Form) -> bool) -> f64 {
    region.parts.iter().filter(|part| form(&part.form)).map(|part| part.chance).sum()
}

/// Not heard: 97 % good, 1 % partial, 2 % none before, heard four times in five; after Bayes 89.8 % good, 0.9 and 9.3 %
/// (0.194, 0.002 and 0.02 of 0.216). The rest is the whole ground track and the orbit, with their weight.
#[test]
fn a_retro_not_heard_leaves_the_whole_track() {
    let region = after(LateFacts { news: News::NotHeard, drift_m: None });
    let total: f64 = region.parts.iter().map(|part| part.chance).sum();
    assert!((total - 1.0).abs() < 1e-12);
    let ellipse = chance(&region, |form| matches!(form, Form::Ellipse(_)));
    assert!((ellipse - 0.194 / 0.216).abs() < 1e-9, "{ellipse}");
    let orbit = chance(&region, |form| matches!(form, Form::UnderOrbit(_)));
    let strip = chance(&region, |form| matches!(form, Form::Strip(..)));
    assert!((0.02 / 0.216..0.022 / 0.216).contains(&orbit), "{orbit}");
    assert!((orbit + strip - 0.022 / 0.216).abs() < 1e-9);
    // The orbit reaches 82°.
    let latitude = region.parts.iter().find_map(|part| match part.form {
        Form::UnderOrbit(latitude) => Some(latitude.to_degrees()),
        _ => None,
    });
    assert!((latitude.expect("an orbit") - 82.0).abs() < 0.2);
    // A burn in part lands anywhere along thousands of kilometres of track.
    let line = region.parts.iter().find_map(|part| match &part.form {
        Form::Strip(line, _) => Some(line.clone()),
        _ => None,
    });
    let line = line.expect("a strip");
    let farthest = line.iter().map(|p| made().descents.along.offset_m(p)[0]).fold(0.0, f64::max);
    assert!(line.len() > 5 && farthest > 1.5e6, "{} {farthest}", line.len());
}

/// Heard: no chance is left for a silent motor.
#[test]
fn a_retro_heard_rules_out_the_orbit_unless_it_was_weak() {
    let time_s = made().descents.at.time_s;
    let region = after(LateFacts { news: News::Heard { time_s, sigma_s: 1.0 }, drift_m: None });
    let ellipse = chance(&region, |form| matches!(form, Form::Ellipse(_)));
    assert!((ellipse - 97.0 / 98.0).abs() < 1e-9);
    // A second of doubt about its time: 7 km more along the track.
    let along = |region: &Region| {
        let offsets: Vec<f64> = region.landings.iter().map(|l| l.offset_m[0]).collect();
        let mean = offsets.iter().sum::<f64>() / offsets.len() as f64;
        (offsets.iter().map(|o| (o - mean).powi(2)).sum::<f64>() / offsets.len() as f64).sqrt()
    };
    let sure = after(LateFacts { news: News::Heard { time_s, sigma_s: 0.0 }, drift_m: None });
    let doubt = after(LateFacts { news: News::Heard { time_s, sigma_s: 10.0 }, drift_m: None });
    assert!(along(&doubt) > 2.0 * along(&sure), "{} {}", along(&doubt), along(&sure));
}

/// The region of the demonstration after a change to its capsule, the burn heard on time.
fn after_a_good_burn(runs: u32, change: impl FnOnce(&mut Model)) -> Region {
    let made = made();
    let d = &made.descents;
    let mut model = made.model.clone();
    change(&mut model);
    let before = Before { model: &model, at: &d.at, timers: &d.timers, axes: &d.axes, along: &d.along, runs, seed: 1 };
    let news = News::Heard { time_s: d.at.time_s, sigma_s: 1.0 };
    region(&before, &LateFacts { news, drift_m: None }, &|_| {})
}

/// Without spin a line of thrust off the mass centre turns the capsule over: some come down anywhere along the track, some
/// not at all. Those that came down have their share, in a strip through them; only the rest stayed in orbit.
#[test]
fn descents_that_came_down_are_not_told_to_be_in_orbit() {
    let region = after_a_good_burn(60, |model| model.faults.spin_rad_s = Some(0.0));
    let share = region.landings.iter().filter(|l| l.down).count() as f64 / 60.0;
    assert!((0.05..1.0).contains(&share), "{share} came down");
    let good = 97.0 / 98.0;
    let part = |why: &str| region.parts.iter().find(|part| part.why.contains(why)).expect("a part");
    assert!((part("as it should").chance - good * share).abs() < 1e-9, "{:?}", region.parts);
    let Form::Strip(line, half_m) = &part("as it should").form else { panic!("an ellipse over such landings") };
    assert!(line.len() > 2 && *half_m >= 20_000.0, "{line:?} {half_m}");
    let orbit = chance(&region, |form| matches!(form, Form::UnderOrbit(_)));
    assert!((orbit - good * (1.0 - share)).abs() < 1.0 / 98.0, "{orbit}");
    assert!((region.parts.iter().map(|part| part.chance).sum::<f64>() - 1.0).abs() < 1e-12);
    // Nearly all of them lie within its half width of the line between two corners.
    let apart_m = |place: &Geodetic| {
        let from = |pair: &[Geodetic]| {
            let [a, b] = [&pair[0], &pair[1]].map(|end| Along { origin: *place, azimuth_rad: 0.0 }.offset_m(end));
            let way = [b[0] - a[0], b[1] - a[1]];
            let length = way[0] * way[0] + way[1] * way[1];
            let on = (-(a[0] * way[0] + a[1] * way[1]) / length.max(1e-9)).clamp(0.0, 1.0);
            (a[0] + on * way[0]).hypot(a[1] + on * way[1])
        };
        line.windows(2).map(from).fold(f64::INFINITY, f64::min)
    };
    let down: Vec<_> = region.landings.iter().filter(|l| l.down).collect();
    let near = down.iter().filter(|l| apart_m(&l.place) <= *half_m).count();
    assert!(near as f64 >= 0.9 * down.len() as f64, "{near} of {}", down.len());
}

/// Two landings make no ellipse: a strip with the whole chance of the good burn, and nothing of it in orbit.
#[test]
fn few_landings_are_a_strip() {
    let region = after_a_good_burn(2, |_| {});
    let part = region.parts.iter().find(|part| part.why.contains("as it should")).expect("a part");
    assert!((part.chance - 97.0 / 98.0).abs() < 1e-9 && matches!(part.form, Form::Strip(..)), "{part:?}");
}

/// A vehicle found 30 km ahead lands 28 km long or so, its region moved whole.
#[test]
fn a_drift_moves_the_region() {
    let mean =
        |region: &Region| region.landings.iter().map(|l| l.offset_m[0]).sum::<f64>() / region.landings.len() as f64;
    let still = after(LateFacts { news: News::None, drift_m: Some((0.0, 500.0)) });
    let moved = after(LateFacts { news: News::None, drift_m: Some((30_000.0, 500.0)) });
    let by_km = (mean(&moved) - mean(&still)) * 1e-3;
    assert!((24.0..31.0).contains(&by_km), "{by_km}");
}
