//! The results folder: whole when done, marked when not, never overwritten.

use std::fs;

use stillframe::record::{Event, EventKind, JetEdge, RecordError, Recorder, files};

use super::synthetic;

#[derive(serde::Serialize)]
struct Judged {
    number: u32,
    grd_m: f64,
    met: bool,
}

fn fly(recorder: &mut Recorder) {
    for k in 0..300 {
        recorder.row(&synthetic::row(f64::from(k) * 30.0)).expect("row");
    }
    recorder.jet_edge(JetEdge { time_s: 1.25, jet: 2, open: true }).expect("edge");
    recorder.jet_edge(JetEdge { time_s: 1.27, jet: 2, open: false }).expect("edge");
    recorder
        .event(&Event::new(180.0, EventKind::Mode, "damp rates → capture").with("rate_deg_s", 0.25))
        .expect("event");
    recorder.frame(&Judged { number: 1, grd_m: 2.25, met: true }).expect("frame");
}

#[test]
fn a_finished_run_leaves_the_documented_files_and_nothing_else() {
    let folder = tempfile::tempdir().expect("folder");
    let mut recorder = Recorder::create(folder.path(), &synthetic::info()).expect("recorder");
    fly(&mut recorder);
    assert!(folder.path().join(files::INCOMPLETE).exists());
    let digest = recorder.finish(&synthetic::summary(&[], 9_000.0)).expect("finished");
    let mut names: Vec<String> = fs::read_dir(folder.path())
        .expect("folder")
        .map(|e| e.expect("entry").file_name().into_string().expect("name"))
        .collect();
    names.sort();
    let mut wanted = [
        files::RECORD,
        files::JETS,
        files::FILM,
        files::EVENTS,
        files::FRAMES,
        files::POINTS,
        files::ORBIT,
        files::ATTITUDE,
        files::SUMMARY,
    ];
    wanted.sort_unstable();
    assert_eq!(names, wanted);
    assert_eq!(digest.rows, 300);
    assert_eq!(digest.firings[2], 1);
}

#[test]
fn events_and_frames_are_tables_others_can_read() {
    let folder = tempfile::tempdir().expect("folder");
    let mut recorder = Recorder::create(folder.path(), &synthetic::info()).expect("recorder");
    fly(&mut recorder);
    // Not finished: both must be whole up to their last line all the same.
    let mut events = csv::Reader::from_path(folder.path().join(files::EVENTS)).expect("events");
    assert_eq!(events.headers().expect("header"), vec!["time_s", "kind", "knowledge", "text", "numbers"]);
    let line = events.records().next().expect("a line").expect("readable");
    assert_eq!(line, vec!["180.0", "mode", "assumed", "damp rates → capture", "rate_deg_s=0.25"]);
    let mut frames = csv::Reader::from_path(folder.path().join(files::FRAMES)).expect("frames");
    assert_eq!(frames.headers().expect("header"), vec!["number", "grd_m", "met"]);
    assert_eq!(frames.records().next().expect("a line").expect("readable"), vec!["1", "2.25", "true"]);
}

#[test]
fn a_folder_with_results_is_refused_whatever_they_are() {
    for name in files::ALL {
        let folder = tempfile::tempdir().expect("folder");
        fs::write(folder.path().join(name), "mine").expect("written");
        match Recorder::create(folder.path(), &synthetic::info()) {
            Err(RecordError::FolderInUse { found, .. }) => assert_eq!(found, name),
            other => panic!("{name}: {:?}", other.map(|_| ()).map_err(|e| e.to_string())),
        }
        assert_eq!(fs::read_to_string(folder.path().join(name)).expect("still there"), "mine");
        assert_eq!(fs::read_dir(folder.path()).expect("folder").count(), 1, "a refused folder is left as it was");
    }
}

#[test]
fn a_summary_that_is_not_finite_is_refused_and_the_run_stays_marked() {
    for spoil in [
        (|s| s.gas.used_kg = f64::NAN) as fn(&mut stillframe::record::Summary),
        |s| s.gas.hold_ratio = Some(f64::INFINITY),
        |s| s.criteria[0].value = Some(f64::NAN),
        |s| s.balances.truth[0].relative = Some(f64::NAN),
    ] {
        let folder = tempfile::tempdir().expect("folder");
        let recorder = Recorder::create(folder.path(), &synthetic::info()).expect("recorder");
        let mut summary = synthetic::summary(&[], 1.0);
        spoil(&mut summary);
        assert!(matches!(recorder.finish(&summary), Err(RecordError::Summary { .. })));
        assert!(folder.path().join(files::INCOMPLETE).exists());
        assert!(!folder.path().join(files::SUMMARY).exists());
    }
}

#[test]
fn no_peak_is_lost_to_the_digest_however_long_the_run() {
    let mut digest = stillframe::record::Digest::new(Vec::new());
    let mut row = synthetic::row(0.0);
    for k in 0..500_000_u32 {
        row.time_s = f64::from(k) * 0.02;
        row.power_w = if k == 123_457 { 999.0 } else { 70.0 };
        row.gas_kg = 4.0 - 1e-6 * f64::from(k);
        digest.row(&row);
    }
    let power = digest.series.curve("power_w");
    assert!(power.len() <= stillframe::record::envelope::BUCKETS);
    assert_eq!(power.iter().filter(|b| b.high == 999.0).count(), 1);
    assert!(power.iter().all(|b| b.low == 70.0));
    let gas = digest.series.curve("gas_kg");
    assert_eq!((gas[0].high, gas.last().expect("bucket").low), (4.0, 4.0 - 1e-6 * 499_999.0));
    assert!(digest.phase.samples().len() <= 3_000 && digest.phase.samples().len() > 1_000);
}
