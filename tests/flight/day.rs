//! The main job: a day from tip-off to frames, by the numbers that were fixed before anything was tuned.

use std::collections::BTreeSet;
use std::path::Path;

use jiff::Timestamp;
use stillframe::{
    flight::{CAMERA_KEY, Options, build::build, fly, pictures},
    imaging::camera::Camera,
    record::{FramePoint, files, points::Points, summary::Summary},
    scenario::demo::Demo,
};

/// What the handbook says a results folder holds.
const FILES: [&str; 11] = [
    "attitude.aem",
    "events.csv",
    "film.parquet",
    "frames.csv",
    "jets.parquet",
    "orbit.oem",
    "points.parquet",
    "record.parquet",
    "report.html",
    "return",
    "summary.json",
];

fn flown(demo: Demo, folder: &Path) -> Summary {
    let loaded = demo.load().expect("the demonstration is sound");
    let seed = loaded.scenario.run.seed;
    let built = build(&loaded, seed).expect("the demonstration builds");
    let out = folder.join("day");
    let options = Options { seed, out, full_record: false, created: Timestamp::UNIX_EPOCH };
    fly(&loaded, built, &options, &mut |_| {}).expect("the demonstration flies").summary
}

#[test]
fn a_day_with_the_strip_camera_does_the_job() {
    let folder = tempfile::tempdir().expect("folder");
    let summary = flown(Demo::Strip, folder.path());
    let frames = &summary.frames;
    assert!(frames.count >= 200, "{} frames", frames.count);
    assert!(frames.met_fraction.expect("frames") >= 0.95, "{:?}", frames.met_fraction);
    assert_eq!(frames.wanted_grd_m, 2.5, "the wanted resolution was fixed before any tuning");
    assert_eq!(frames.missed_by_cause.values().sum::<u64>(), frames.count - frames.met, "a miss without a cause");
    let capture_s = summary.attitude.capture_s.expect("captured");
    assert!(capture_s <= 45.0 * 60.0, "captured after {capture_s} s");
    // Below 1 the floor would be wrong, not the vehicle good.
    let ratio = summary.gas.hold_ratio.expect("held");
    assert!((1.0..=1.3).contains(&ratio), "{ratio}");
    for balance in &summary.balances.truth {
        let relative = balance.relative.expect("something went through");
        assert!(relative.abs() <= 1e-6 && balance.throughput > 0.0, "{}: {relative}", balance.name);
    }
    assert_eq!(summary.balances.truth.len(), 3);
    // The standard's table at 239 km, between its rows of 200 and 250 km: 8.27e-11, × 1.05. NRLMSIS 2.1 by pymsis 0.13.0
    // at 235 and 250 km, between them: ln −0.787 at 65 sfu and 0.526 at 250.
    let air = &summary.torques.air;
    assert!((air.density_kg_m3 / 8.68e-11 - 1.0).abs() < 0.05, "{air:?}");
    assert!(
        (air.quiet_sun_ratio / 0.455 - 1.0).abs() < 0.015 && (air.active_sun_ratio / 1.692 - 1.0).abs() < 0.015,
        "{air:?}"
    );
    // Air 5 % thicker than the ground predicts with: 1.5π·N²·0.05·Δa with N = 18.2 revolutions and Δa = 126 m are 9.8 km, and
    // a twentieth more as the orbit sinks (`tests/planning/growth.rs`). Yaw steering changes the drag area: with the air as
    // predicted the vehicle is 0.8 km ahead.
    let place = &summary.contacts.place;
    assert!((1.0..1.2).contains(&(place.ahead_m / 9.8e3)), "{place:?}");
    assert!(place.worst_sigmas < 3.0 && place.since_tracked_worst_m < 0.5 * place.since_start_m, "{place:?}");
    assert_eq!(summary.events.get("fault_start"), Some(&1), "the Sun intrusion");
    // Aimed anew from the last tracking: what is left is what air and attitude do in the descent itself, where a day of the
    // thicker air would have made more than six kilometres along the track.
    let touchdown = summary.way_home.expect("a way home").touchdown.expect("the capsule is down");
    assert!(touchdown.along_km.abs() < 2.0 && touchdown.across_km.abs() < 2.0, "{touchdown:?}");
    check_folder(&folder.path().join("day"));
}

/// The files are the documented ones, and the frames lie in at least eight areas and each say why they missed.
fn check_folder(folder: &Path) {
    let mut held: Vec<String> = std::fs::read_dir(folder)
        .expect("folder")
        .map(|entry| entry.expect("entry").file_name().to_string_lossy().into_owned())
        .collect();
    held.sort();
    assert_eq!(held, FILES);
    let mut table = csv::Reader::from_path(folder.join("frames.csv")).expect("frames.csv");
    let column = |table: &mut csv::Reader<std::fs::File>, name: &str| {
        table.headers().expect("headers").iter().position(|header| header == name).expect(name)
    };
    let [met, cause, why, lat, lon] =
        ["met", "cause", "why", "latitude_deg", "longitude_deg"].map(|name| column(&mut table, name));
    let scenario = Demo::Strip.load().expect("sound").scenario;
    let mut areas = BTreeSet::new();
    for row in table.records() {
        let row = row.expect("row");
        if &row[met] == "false" {
            assert!(!row[cause].is_empty() && !row[why].is_empty(), "no cause: {row:?}");
        }
        let [lat_rad, lon_rad] = [lat, lon].map(|at| row[at].parse::<f64>().expect("angle").to_radians());
        let inside = scenario.areas.iter().filter(|a| stillframe::passes::areas::contains(a, lat_rad, lon_rad));
        areas.extend(inside.map(|area| area.name.clone()));
    }
    assert!(areas.len() >= 8, "{areas:?}");
}

/// The panoramic camera through its first two passes: sweeps at their angles, frames met, and the sweep's own kick seen
/// in the rates while it lasts.
#[test]
fn the_panoramic_camera_sweeps_and_meets() {
    let folder = tempfile::tempdir().expect("folder");
    let mut loaded = Demo::Sweep.load().expect("the demonstration is sound");
    loaded.scenario.shorten(3.7 * 3600.0);
    let seed = loaded.scenario.run.seed;
    let built = build(&loaded, seed).expect("the demonstration builds");
    let out = folder.path().join("sweep");
    let options = Options { seed, out, full_record: false, created: Timestamp::UNIX_EPOCH };
    let summary = fly(&loaded, built, &options, &mut |_| {}).expect("the demonstration flies").summary;
    let frames = &summary.frames;
    println!("{} frames, {} met, {:?} m", frames.count, frames.met, frames.grd_median_m);
    assert!(frames.count >= 8 && frames.met == frames.count, "{:?}", frames.missed_by_cause);
    // 0.021 N·m·s on 75 kg·m² are 0.016 °/s: present, and below the budget's 0.02.
    let roll_deg_s = summary.attitude.exposures.rate_rms_deg_s[0];
    assert!((0.010..0.02).contains(&roll_deg_s), "{roll_deg_s}");
    assert!(summary.balances.truth.iter().all(|balance| balance.closes() != Some(false)));

    // The pictures that the record's points make: what is read in them is what was computed, within one size.
    let points = Points::read(&folder.path().join("sweep").join(files::POINTS)).expect("points");
    let camera: Camera = serde_json::from_str(points.metadata(CAMERA_KEY).expect("a camera")).expect("a camera");
    let frames: Vec<&[FramePoint]> = points.rows.chunk_by(|a, b| a.frame == b.frame).collect();
    assert_eq!(frames.len() as u64, summary.frames.count);
    for frame in frames {
        // Five lines of five points, from one side of the sweep to the other.
        assert_eq!(frame.len(), 25);
        assert!(frame[0].sweep_angle_rad < -0.2 && frame[24].sweep_angle_rad > 0.2);
        let (place, middle) = pictures::middle(frame).expect("a middle");
        for (place, point) in [(place, middle), (0, &frame[0])] {
            let shown = pictures::show(&camera, seed, point, place);
            assert!(
                shown.steps_off.iter().all(|steps| steps.abs() <= 1),
                "frame {}: {:?}",
                point.frame,
                shown.steps_off
            );
        }
    }
}
