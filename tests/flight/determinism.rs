//! The same run twice is the same run to the last bit, however it is cut up or watched.

use std::path::Path;
use std::thread;

use jiff::Timestamp;
use stillframe::flight::{Options, build::build, fly};

use crate::rig::{Rig, SETTLED_S, camera, fault, loaded, scenario};

/// Everything a folder holds but what tells of wall-clock time: the summary's speed, and the report that shows it.
const SAME: [&str; 6] = ["attitude.aem", "events.csv", "frames.csv", "jets.parquet", "orbit.oem", "record.parquet"];

/// Capture, one pass with a fault in it.
fn text() -> String {
    let sun = fault("horizon_sun", "roll_deg = 2.0\npitch_deg = -1.5\nfor_s = 60.0");
    scenario(0.62, &(camera(0.605, 20.0) + &sun))
}

fn digest(folder: &Path, name: &str, seed: u64, full_record: bool) -> String {
    let mut loaded = loaded(&text());
    loaded.scenario.run.seed = seed;
    let built = build(&loaded, seed).expect("builds");
    let options = Options { seed, out: folder.join(name), full_record, created: Timestamp::UNIX_EPOCH };
    let flown = fly(&loaded, built, &options, &mut |_| {}).expect("flies");
    assert!(flown.summary.frames.count > 10, "the run must hold frames to be worth comparing");
    flown.summary.run.output_digest.expect("digest")
}

#[test]
fn equal_runs_are_equal_to_the_last_byte_in_parallel_threads_too() {
    let folder = tempfile::tempdir().expect("folder");
    let path = folder.path();
    let [one, two, other, full] = thread::scope(|scope| {
        let runs = [("one", 1, false), ("two", 1, false), ("other", 2, false), ("full", 1, true)];
        runs.map(|(name, seed, full)| scope.spawn(move || digest(path, name, seed, full)))
            .map(|run| run.join().expect("run"))
    });
    assert_eq!(one, two);
    assert_ne!(one, other, "the seed changes nothing");
    assert_eq!(one, full, "watching more closely changes the run");
    let read = |run: &str, name: &str| std::fs::read(path.join(run).join(name)).expect(name);
    for name in SAME {
        assert!(read("one", name) == read("two", name), "{name} differs between equal runs");
    }
    for name in ["record.parquet", "frames.csv"] {
        assert!(read("one", name) != read("other", name), "{name} does not depend on the seed");
    }
}

#[test]
fn a_run_may_be_cut_at_any_tick() {
    let end_s = SETTLED_S + 40.0;
    let mut whole = Rig::new(&text());
    whole.run(end_s);
    // Tip-off, odd and even ticks in capture, run-up, exposure and run-down.
    for cut in [1, 2, 777, 12_345, 100_001, 217_651, 217_800, 218_001, 219_831] {
        let mut first = Rig::new(&text());
        first.run(f64::from(cut) * 0.01);
        let mut second = first.clone();
        // What happens to the first part afterwards must not reach the second.
        first.run(f64::from(cut) * 0.01 + 3.0);
        drop(first);
        second.run(end_s);
        assert_eq!(second.flight.output_digest(), whole.flight.output_digest(), "cut at tick {cut}");
        let states = [&mut second, &mut whole].map(|rig| rig.flight.plant.truth().state);
        assert_eq!(states[0], states[1], "cut at tick {cut}");
        assert_eq!(second.telemetry(), whole.telemetry());
    }
}

#[test]
fn looking_at_the_truth_changes_no_command() {
    let end_s = SETTLED_S + 40.0;
    let mut unseen = Rig::new(&text());
    unseen.run(end_s);
    let mut seen = Rig::new(&text());
    seen.watch(end_s, |flight, _| {
        if flight.plant.ticks().is_multiple_of(100) {
            flight.plant.truth();
        }
    });
    let digests = [&unseen, &seen].map(|rig| rig.flight.output_digest());
    assert_eq!(digests[0], digests[1]);
}
