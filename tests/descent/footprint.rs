//! The footprint: repeatable, of the size its parts say, aimed where it should be.

use stillframe::descent::dispersions::{Axis, Quantity, axes};
use stillframe::descent::footprint::{Many, landings};
use stillframe::descent::repredict::{LateFacts, News};
use stillframe::descent::{self, Options};
use stillframe::world::kepler::State;

use crate::{demo, made, near};

fn many(axes: &[Axis], seed: u64, runs: u32) -> Vec<[f64; 2]> {
    let made = made();
    let d = &made.descents;
    let many = Many { model: &made.model, at: &d.at, timers: &d.timers, axes, along: &d.along, seed, runs };
    landings(&many, &|_| {}).iter().map(|landing| landing.offset_m).collect()
}

/// The same seed gives the same bits on one thread and on three; another seed other ones.
#[test]
fn landings_do_not_depend_on_the_number_of_threads() {
    let on = |threads: usize, seed: u64| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        pool.install(|| many(&axes(&[]), seed, 24))
    };
    assert_eq!(on(1, 1), on(3, 1));
    assert_ne!(on(1, 1), on(1, 2));
    // The demonstration's footprint begins with them.
    let first: Vec<[f64; 2]> = made().descents.landings.iter().take(24).map(|l| l.offset_m).collect();
    assert_eq!(first, on(2, made().summary.seed));
}

/// With nothing that may be off there is no footprint; with one thing, a line.
#[test]
fn a_footprint_is_made_by_what_may_be_off() {
    let none = many(&[], 1, 4);
    assert!(none.iter().all(|o| o[0].hypot(o[1]) < 30.0), "{none:?}");
    let impulse = Axis { quantity: Quantity::Impulse, sigma: 0.003_3, even: false };
    let line = many(&[impulse], 1, 40);
    let spread = |k: usize| line.iter().map(|o| o[k].abs()).fold(0.0, f64::max);
    assert!(spread(0) > 15_000.0 && spread(1) < 0.05 * spread(0), "{} {}", spread(0), spread(1));
}

/// 200 descents know a sigma to 5 %: the sensitivity matrix, by straight lines, must give it within three of those; and
/// the 99.73 % ellipse may leave out none to three of them.
#[test]
fn the_matrix_and_the_many_agree() {
    let f = &made().summary.footprint;
    println!("{:?} km by the many, {:?} by the matrix", f.sigma_km, f.straight_sigma_km);
    for k in [0, 1] {
        assert!((f.sigma_km[k] / f.straight_sigma_km[k] - 1.0).abs() < 0.15);
    }
    assert!(f.in_ellipse.hits >= 197, "{:?}", f.in_ellipse);
    let shares: f64 = made().summary.sensitivity.iter().map(|c| c.share_percent).sum();
    near(shares, 100.0, 1e-6);
    let sorted = made().summary.sensitivity.windows(2).all(|pair| pair[0].share_percent >= pair[1].share_percent);
    assert!(sorted, "ranked");
}

/// Along the track the centre is met to the tick of 10 ms, 75 m; across, the best pass is used; the demonstration's is
/// inside its zone.
#[test]
fn the_retro_is_timed_for_the_zone() {
    let made = made();
    let s = &made.summary;
    assert!(s.passes.len() >= 2, "several candidates: {}", s.passes.len());
    for pass in &s.passes {
        assert!(pass.along_km.abs() < 0.075, "{pass:?}");
        let least = s.passes.iter().map(|p| p.across_km.abs()).fold(f64::INFINITY, f64::min);
        assert_eq!(pass.used, pass.across_km.abs() == least);
    }
    let used = &made.passes[made.used];
    assert!(used.across_m.abs() < made.model.plan.zone.half_across_m);
    let touchdown = s.touchdown.latitude_deg.zip(s.touchdown.longitude_deg).expect("down");
    near(touchdown.0, used.touchdown.latitude_rad.to_degrees(), 1e-3);
    near(touchdown.1, used.touchdown.longitude_rad.to_degrees(), 1e-3);
    // A second later lands a second's ground track further on: 7.2 km.
    let later = made.model.at_retro(used.at.time_s, used.at.position_m, used.at.velocity_m_s).shifted(7_750.0);
    let fall = made.model.fall(
        &later,
        &Default::default(),
        &made.descents.timers,
        stillframe::descent::integrate::Closeness::COUNTED,
        false,
    );
    let place = descent::ground::below(&fall.last.at.position_m(), fall.last.at.t_s, &made.model.earth);
    let along_m = made.descents.along.offset_m(&place)[0];
    assert!((6_500.0..8_000.0).contains(&along_m), "{along_m}");
}

/// From a state reached by other means: the same ignition gives the same descents as the study that aimed it.
#[test]
fn a_state_at_ignition_is_enough() {
    let made = made();
    let list = axes(&demo().scenario.dispersions);
    let (seed, model) = (made.summary.seed, descent::model(&demo()).expect("a capsule and a return"));
    let from = descent::from_state(&model, &made.descents.at, &list, (12, seed), &|_| {}).expect("comes down");
    assert_eq!(from.timers, made.descents.timers);
    assert_eq!(from.landings[..], made.descents.landings[..12]);
}

/// From where the vehicle is found: as far behind the place of ignition as it flies in 100 s (776 km at 7.76 km/s), it
/// fires 100 s later, but for the Earth, which has turned 1.25° less by then (half a degree of the track: seconds); ten
/// seconds' flight further back, ten seconds later still.
#[test]
fn a_vehicle_that_is_found_elsewhere_is_aimed_anew() {
    let used = made().passes[made().used].at;
    let found_s = used.time_s - 300.0;
    let fired_s = |behind_m: f64| {
        let found = used.shifted(-behind_m);
        let state = State { position_m: found.position_m, velocity_m_s: found.velocity_m_s };
        let mut loaded = demo();
        let plan = loaded.scenario.descent.as_mut().expect("a return");
        (plan.earliest_s, plan.latest_s) = (found_s, found_s + 800.0);
        let options = Options { runs: 10, found: Some((found_s, state)), ..Options::default() };
        descent::study(&loaded, &options, &|_| {}).expect("a pass").descents.at.time_s
    };
    let first_s = fired_s(776_000.0);
    println!("fires {} s after it was found", first_s - found_s);
    near(first_s - found_s, 100.0, 5.0);
    near(fired_s(853_600.0) - first_s, 10.0, 0.1);
}

#[test]
fn a_pass_that_is_not_there_is_refused() {
    let options = Options { runs: 10, pass: Some(99), ..Options::default() };
    let refused = descent::study(&demo(), &options, &|_| {}).expect_err("no such pass").to_string();
    assert!(refused.contains("no pass 99"), "{refused}");
    let time_s = 1e7;
    let late = Some(LateFacts { news: News::Heard { time_s, sigma_s: 1.0 }, drift_m: None });
    let refused = descent::study(&demo(), &Options { runs: 10, late, ..Options::default() }, &|_| {});
    assert!(refused.expect_err("another day").to_string().contains("outside the predicted orbit"));
}
