//! Points, rows and the front of a sweep.

use std::fs;

use proptest::prelude::*;
use stillframe::design::attitude::{
    measure::Goals,
    subject::Subject,
    sweep::{Knob, Plan, Point, SweepError, chosen, front, halton, settings_at, sweep},
};

use super::rig;

#[test]
fn the_points_are_haltons() {
    // Van der Corput's sequence in bases 2, 3 and 5 (Halton 1960): digits mirrored at the point.
    let of = |dimension| [1, 2, 3, 4, 5].map(|number| halton(number, dimension));
    assert_eq!(of(0), [0.5, 0.25, 0.75, 0.125, 0.625]);
    for (got, wanted) in of(1).iter().zip([1.0 / 3.0, 2.0 / 3.0, 1.0 / 9.0, 4.0 / 9.0, 7.0 / 9.0]) {
        assert!((got - wanted).abs() < 1e-15);
    }
    for (got, wanted) in of(2).iter().zip([0.2, 0.4, 0.6, 0.8, 0.04]) {
        assert!((got - wanted).abs() < 1e-15);
    }
}

fn point(number: u64, gas_kg_day: f64, rate_share: f64, quiet_share: f64, held: bool) -> Point {
    Point { number, values: vec![], gas_kg_day, rate_share, smear_um: 0.0, quiet_share, pulses_per_hour: 0.0, held }
}

proptest! {
    #[test]
    fn the_front_is_what_nothing_beats(values in prop::collection::vec((0.0..1.0_f64, 0.0..1.0_f64, any::<bool>()), 1..60)) {
        let points: Vec<Point> =
            values.iter().zip(0..).map(|(&(gas, rate, held), n)| point(n, gas, rate, 1.0, held)).collect();
        let mut found: Vec<u64> = front(&points).iter().map(|p| p.number).collect();
        found.sort_unstable();
        let beaten = |a: &Point| points.iter().any(|b| {
            b.held && b.gas_kg_day <= a.gas_kg_day && b.rate_share <= a.rate_share
                && (b.gas_kg_day < a.gas_kg_day || b.rate_share < a.rate_share)
        });
        let wanted: Vec<u64> = points.iter().filter(|p| p.held && !beaten(p)).map(|p| p.number).collect();
        prop_assert_eq!(found, wanted);
    }
}

#[test]
fn the_choice_is_the_least_gas_that_keeps_still() {
    let points = [
        point(0, 0.08, 1.4, 1.0, true),
        point(1, 0.09, 0.9, 0.8, true),
        point(2, 0.10, 0.8, 0.96, true),
        point(3, 0.12, 0.5, 1.0, true),
        point(4, 0.01, 0.1, 1.0, false),
    ];
    assert_eq!(chosen(&points).map(|p| p.number), Some(2));
    // A point that another beats in gas and rate is the one to take where the other's bursts are not quiet.
    let off_the_front =
        [point(0, 0.08, 0.6, 0.5, true), point(1, 0.09, 0.9, 1.0, true), point(2, 0.12, 0.5, 1.0, true)];
    assert_eq!(front(&off_the_front).iter().map(|p| p.number).collect::<Vec<_>>(), [0, 2]);
    assert_eq!(chosen(&off_the_front).map(|p| p.number), Some(1));
    // Where none is good enough, the quietest.
    assert_eq!(chosen(&points[..2]).map(|p| p.number), Some(0));
    assert_eq!(chosen(&points[4..]).map(|p| p.number), None);
}

const PLAN: Plan = Plan { flight_s: 2_400.0, from_s: 2_000.0, every_s: 120.0, points: 3, seed: 1 };

#[test]
fn an_interrupted_sweep_goes_on_and_comes_to_the_same() {
    let loaded = rig::demonstration();
    let (settings, _) = stillframe::flight::settings::for_run(&loaded).expect("sound settings");
    let built = stillframe::flight::build::build(&loaded, 1).expect("a sound scenario");
    let subject = Subject::new(&loaded, &built, &settings);
    let knobs = [Knob { key: "*.deadband_deg".into(), low: 0.2, high: 0.5 }];
    let folder = tempfile::tempdir().expect("a folder");
    let (whole, cut) = (folder.path().join("whole.csv"), folder.path().join("cut.csv"));
    let run = |plan: &Plan, file: &std::path::Path| {
        sweep(&loaded, &settings, &subject, &knobs, plan, &Goals::default(), file, &|| {})
    };
    let points = run(&PLAN, &whole).expect("flown");
    assert_eq!(points.iter().map(|p| p.number).collect::<Vec<_>>(), [0, 1, 2, 3]);
    // Values span the range evenly in the logarithm, to three figures, point 0 standing where the settings do.
    assert!((points[1].values[0] - (0.2_f64 * 0.5).sqrt()).abs() < 5e-4, "{:?}", points[1].values);
    let text = fs::read_to_string(&whole).expect("rows");
    // Cut off in the middle of the third row, with a mark in the second that a new flight would not make.
    let lines: Vec<&str> = text.lines().collect();
    let kept = format!("{}\n{}\n{}\n{}\n{}", lines[0], lines[1], lines[2], lines[3], &lines[4][..9]);
    fs::write(&cut, kept).expect("written");
    let again = run(&PLAN, &cut).expect("flown");
    assert_eq!(again, points);
    let rows = fs::read_to_string(&cut).expect("rows");
    assert!(rows.starts_with(&format!("{}\n{}\n{}\n{}\n", lines[0], lines[1], lines[2], lines[3])), "kept rows moved");
    assert_eq!(rows.lines().count(), 6);
    // Rows of another sweep are left alone.
    let other = run(&Plan { seed: 2, ..PLAN }, &cut);
    assert!(matches!(other, Err(SweepError::Other(_))), "{other:?}");
    assert_eq!(fs::read_to_string(&cut).expect("rows"), rows);
}

#[test]
fn knobs_that_are_no_settings_are_refused() {
    let settings = stillframe_controller::settings::Settings::default();
    for (key, low, high) in [
        ("pitch.deadband", 0.1, 0.2),
        ("pitch.deadband_deg", 0.2, 0.1),
        ("pitch.fill", 0.5, 2.0),
        ("*.fill", f64::NAN, 0.5),
    ] {
        let knob = Knob { key: key.into(), low, high };
        assert!(stillframe::design::attitude::sweep::check_knobs(&settings, &[knob]).is_err(), "{key}");
    }
    let knob = Knob { key: "*.fill".into(), low: 0.3, high: 0.6 };
    let moved = settings_at(&settings, &[knob], 1);
    assert!(moved.roll.fill == moved.yaw.fill && (moved.roll.fill - 0.424).abs() < 1e-6, "{}", moved.roll.fill);
}
