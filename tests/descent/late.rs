//! Late news: regions that say what is known, and no more.

use stillframe::descent::repredict::{Before, Form, LateFacts, News, Region, region};

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
