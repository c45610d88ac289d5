//! A flight's record by the same ruler.

use std::path::Path;

use jiff::Timestamp;
use stillframe::{
    descent::{Model, dispersions::Off, ground::below, integrate::Closeness},
    design::film_rates::{Options, from_record},
    flight::{self, Options as FlyOptions, build::build, settings::for_run},
    record::{Row, files, reading::read_columns, writer::TableWriter},
    scenario::{Loaded, demo::Demo},
};

use crate::demo;

/// The first 3.6 hours: two passes of half a minute. Gives back the whole scenario.
fn flown(kind: Demo, out: &Path) -> Loaded {
    let mut loaded = demo(kind);
    loaded.scenario.shorten(3.6 * 3600.0);
    let built = build(&loaded, 1).expect("builds");
    let options = FlyOptions { seed: 1, out: out.to_path_buf(), full_record: false, created: Timestamp::UNIX_EPOCH };
    flight::fly(&loaded, built, &options, &mut |_| {}).expect("flies");
    demo(kind)
}

/// A flight that brings its capsule home carries settings fitted to that: three hours and a half of a longer run, its one
/// pass before the return, judged with the scenario as it stands in the file.
#[test]
fn a_flight_with_a_way_home_is_the_run_it_was() {
    const HOUR_S: f64 = 3600.0;
    let mut loaded = demo(Demo::Strip);
    let mut short = loaded.clone();
    short.scenario.shorten(3.4 * HOUR_S);
    let prediction = build(&short, 1).expect("builds").prediction;
    // A zone where a capsule that leaves in the third hour comes down.
    let model = Model::new(&loaded.scenario, prediction.earth).expect("a capsule and a return");
    let (position, velocity) = prediction.path.position_velocity(2.8 * HOUR_S);
    let at = model.at_retro(2.8 * HOUR_S, position, velocity);
    let timers = model.timers(&at).expect("comes down");
    let last = model.fall(&at, &Off::default(), &timers, Closeness::COUNTED, false).last.at;
    let place = below(&last.position_m(), last.t_s, &model.earth);
    let plan = loaded.scenario.descent.as_mut().expect("a return");
    (plan.earliest_s, plan.latest_s) = (2.6 * HOUR_S, 3.0 * HOUR_S);
    plan.zone.centre_rad = [place.latitude_rad, place.longitude_rad];
    let mut short = loaded.clone();
    short.scenario.shorten(3.4 * HOUR_S);

    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("run");
    let built = build(&short, 1).expect("builds");
    assert!(built.home.is_some(), "no way home");
    let as_written = for_run(&short).expect("sound settings").1;
    assert_ne!(built.settings_digest, as_written, "settings are not fitted to the way home");
    let options = FlyOptions { seed: 1, out: out.clone(), full_record: false, created: Timestamp::UNIX_EPOCH };
    flight::fly(&short, built, &options, &mut |_| {}).expect("flies");
    let study = from_record::study(&loaded, &out, &Options::default()).expect("judged");
    assert_eq!(study.summary.by_pass.len(), 1);

    // With another return it is a run of other settings.
    let plan = loaded.scenario.descent.as_mut().expect("a return");
    plan.retro_angle_rad += 0.05;
    let other = from_record::study(&loaded, &out, &Options::default()).expect_err("refused");
    assert!(other.to_string().contains("other settings"), "{other}");
}

#[test]
fn a_flights_record_keeps_the_budget_and_agrees_with_its_frames() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("run");
    let loaded = flown(Demo::Strip, &out);
    let study = from_record::study(&loaded, &out, &Options::default()).expect("judged");
    let summary = &study.summary;
    assert!(summary.all_met(), "{:?}", summary.criteria);
    assert_eq!(summary.by_pass.len(), 2);
    assert!(summary.drive.metered_percent.count > 40);
    // The frames' own judgement took the required speed from five instants of each exposure and the true
    // attitude; a yaw off by a tenth of a degree takes 2e-6 of it, half a second of time 5e-5.
    let mut frames = csv::Reader::from_path(out.join(files::FRAMES)).expect("frames");
    let mut compared = 0;
    for frame in frames.deserialize::<stillframe::imaging::row::FrameRow>() {
        let frame = frame.expect("a frame");
        let Some(required) = frame.required_film_speed_mm_s else { continue };
        let near = study
            .samples
            .iter()
            .min_by(|a, b| (a.time_s - frame.time_s).abs().total_cmp(&(b.time_s - frame.time_s).abs()));
        crate::close(near.expect("samples").required_m_s * 1e3, required, 2e-4);
        compared += 1;
    }
    assert!(compared > 40);

    // The board's view: no truth, only the roller's counts and the commands.
    let board = folder.path().join("board");
    without_truth(&out, &board);
    let counted = from_record::study(&loaded, &board, &Options::default()).expect("judged").summary;
    assert!(counted.source.contains("counts"), "{}", counted.source);
    crate::close(counted.drive.error_percent.rms, summary.drive.metered_percent.rms, 1e-9);
}

/// Copies a results folder, film's true speed taken out.
fn without_truth(from: &Path, to: &Path) {
    std::fs::create_dir(to).expect("a folder");
    for name in [files::SUMMARY, files::FRAMES] {
        std::fs::copy(from.join(name), to.join(name)).expect("copied");
    }
    let names = [
        "time_s",
        "position_x_m",
        "position_y_m",
        "position_z_m",
        "velocity_x_m_s",
        "velocity_y_m_s",
        "velocity_z_m_s",
        "shutter_open",
        "film_speed_step",
        "yaw_rad",
        "roller_counts",
    ];
    let columns = read_columns(&from.join(files::RECORD), &names).expect("read");
    let columns: Vec<Vec<f64>> = columns.into_iter().map(|column| column.expect("there")).collect();
    let mut table = TableWriter::<Row>::create(to, "record", &[]).expect("a table");
    for k in columns[0].iter().enumerate().map(|(k, _)| k) {
        let at = |c: usize| columns[c][k];
        let row = Row {
            time_s: at(0),
            position_m: [at(1), at(2), at(3)],
            velocity_m_s: [at(4), at(5), at(6)],
            shutter_open: at(7) > 0.5,
            film_speed_step: at(8) as u32,
            orbital_angle_rad: [f32::NAN, f32::NAN, at(9) as f32],
            roller_counts: at(10) as u32,
            ..Row::default()
        };
        table.push(row).expect("written");
    }
    table.finish().expect("written");
}

#[test]
fn a_framing_record_is_judged_frame_by_frame() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("run");
    let loaded = flown(Demo::Frame, &out);
    let study = from_record::study(&loaded, &out, &Options::default()).expect("judged");
    assert!(study.samples.len() > 20, "{}", study.samples.len());
    assert!(study.summary.all_met(), "{:?}", study.summary.criteria);
}

#[test]
fn a_record_of_something_else_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("run");
    let _ = flown(Demo::Strip, &out);
    let other = from_record::study(&demo(Demo::Frame), &out, &Options::default()).expect_err("refused");
    assert!(other.to_string().contains("name the scenario it was made with"), "{other}");
    let none = from_record::study(&demo(Demo::Strip), folder.path(), &Options::default()).expect_err("refused");
    assert!(none.to_string().contains("summary.json"), "{none}");
}
