//! Every kind of fault, flown: the handbook's table of what happens.
//!
//! The first 3.6 hours of the demonstration hold two passes of 27 frames each, at 1.96 and 3.46 hours. The
//! fault begins at 1.95 hours, 40 s before the first; faults of the radio link at the start, with the load sent
//! by radio. Some ten seconds of computing: the only place where every fault meets the whole loop.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::sync::{Mutex, PoisonError};

use jiff::Timestamp;
use stillframe::{
    flight::{self, Options},
    record::summary::Summary,
    scenario::{self, BuiltIn, demo::Demo, schema},
};

use super::{assert_published, cell};

/// Kind and amounts; each kind of the schema stands here once.
const FAULTS: [(&str, &str); 51] = [
    ("horizon_sun", "roll_deg = 2.0\npitch_deg = -1.5\nfor_s = 240.0"),
    ("horizon_bias", "roll_deg = 0.3\npitch_deg = 0.0\nramp_s = 300.0"),
    ("horizon_stuck", ""),
    ("horizon_lost", "for_s = 600.0"),
    ("horizon_noise", "times = 10.0"),
    ("horizon_swapped", ""),
    ("horizon_reversed", ""),
    ("gyro_bias_step", "axis = \"x\"\nstep_deg_h = 10.0"),
    ("gyro_dead", "axis = \"y\""),
    ("gyro_scale", "axis = \"y\"\nerror_percent = 20.0"),
    ("jet_stuck_open", "jet = \"A6\""),
    ("jet_stuck_closed", "jet = \"A6\""),
    ("jet_weak", "jet = \"A6\"\nthrust_percent = 50.0"),
    ("jet_swapped", "jet = \"A5\"\nwith = \"A6\""),
    ("valve_slow", "open_ms = 0.0\nclose_ms = 20.0"),
    ("regulator_off", "thrust_percent = 50.0"),
    ("gas_leak", "jet = \"A6\"\nrate_g_h = 30.0"),
    ("film_jam", ""),
    ("film_break", ""),
    ("take_up_stalled", ""),
    ("supply_overrun", "for_s = 60.0"),
    ("film_runaway", ""),
    ("metering_slip", "slip_percent = 3.0"),
    ("speed_step_off", "steps = 1"),
    ("camera_off_lost", ""),
    ("reel_sense_reversed", ""),
    ("shutter_stuck_open", ""),
    ("shutter_stuck_shut", ""),
    ("clock_step", "step_s = 10.0"),
    ("clock_drift", "rate_ppm = 500.0"),
    ("link_lost", "for_s = 3600.0"),
    ("uplink_garbled", "bits_percent = 1.0"),
    ("receiver_dead", ""),
    ("receiver_noise", ""),
    ("false_lock", ""),
    ("uplink_repeated", ""),
    ("uplink_out_of_order", ""),
    ("ordnance_orders", "event = \"capsule_separation\""),
    ("arming_relay_welded", ""),
    ("commit_switch_welded", ""),
    ("firing_line_closed", "event = \"capsule_separation\""),
    ("event_unshown", "event = \"capsule_separation\""),
    ("dud_charge", "event = \"drogue\""),
    ("capsule_spin_low", ""),
    ("deceleration_switch_closed", ""),
    ("deceleration_switch_dead", ""),
    ("backup_timer_dead", ""),
    ("battery_weak", "resistance_ohm = 1.5"),
    ("processor_reset", ""),
    ("memory_upset", "where = \"gain\""),
    ("cycle_overrun", "every = 40\nfor_s = 60.0"),
];
const LINK: [&str; 7] = [
    "link_lost",
    "uplink_garbled",
    "receiver_dead",
    "receiver_noise",
    "false_lock",
    "uplink_repeated",
    "uplink_out_of_order",
];
const AT_S: f64 = 1.95 * 3600.0;
const HEADING: &str = "# Faults as flown\n\nMade by `tests/docs/faults_flown.rs`, which flies every kind of fault; the test keeps it so. What each line means stands in [Faults](faults.md).\n\n| fault | amounts | frames met | gas used, g | last mode | noticed on board, s after the fault began |\n| --- | --- | --- | --- | --- | --- |\n";

#[test]
fn what_happens_is_what_the_handbook_says() {
    let jobs = Mutex::new(std::iter::once(("no fault", "")).chain(FAULTS).collect::<Vec<_>>());
    let rows = Mutex::new(BTreeMap::new());
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                while let Some((kind, amounts)) = next(&jobs) {
                    let row = flown(kind, amounts);
                    rows.lock().unwrap_or_else(PoisonError::into_inner).insert(kind, row);
                }
            });
        }
    });
    let rows = rows.into_inner().unwrap_or_else(PoisonError::into_inner);
    let order = std::iter::once("no fault").chain(FAULTS.iter().map(|(kind, _)| *kind));
    let table: String = order.map(|kind| rows.get(kind).expect("flown").as_str()).collect();
    assert_published("faults-flown.md", &format!("{HEADING}{table}"));
}

fn next(jobs: &Mutex<Vec<(&'static str, &'static str)>>) -> Option<(&'static str, &'static str)> {
    jobs.lock().unwrap_or_else(PoisonError::into_inner).pop()
}

/// One flight, as a row of the table.
fn flown(kind: &str, amounts: &str) -> String {
    let text = scenario_text(kind, amounts);
    let mut loaded =
        scenario::read("faults", &text, &BuiltIn(&[])).unwrap_or_else(|refusal| panic!("{kind}: {refusal}"));
    loaded.scenario.shorten(3.6 * 3600.0);
    let built = flight::build::build(&loaded, 1).unwrap_or_else(|error| panic!("{kind}: {error}"));
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("run");
    let options = Options { seed: 1, out: out.clone(), full_record: false, created: Timestamp::UNIX_EPOCH };
    let flown = flight::fly(&loaded, built, &options, &mut |_| {}).unwrap_or_else(|error| panic!("{kind}: {error}"));
    let Summary { frames, gas, .. } = flown.summary;
    let from_s = if LINK.contains(&kind) { 1.0 } else { AT_S };
    let (mode, noticed) = events(&out.join("events.csv"), from_s);
    let amounts: Vec<String> = amounts.lines().map(|line| format!("`{line}`")).collect();
    format!(
        "| `{kind}` | {} | {} of {} | {:.0} | {mode} | {} |\n",
        amounts.join(", "),
        frames.met,
        frames.count,
        gas.used_kg * 1e3,
        if noticed.is_empty() { "–".to_owned() } else { cell(&noticed) }
    )
}

/// The demonstration with this fault in place of its own, and without the load with a mistake that it has sent up: what
/// that does would stand in every line.
fn scenario_text(kind: &str, amounts: &str) -> String {
    let demo = Demo::Strip.text();
    let (before, rest) = demo.split_once("[[fault]]").expect("the demonstration has a fault");
    let (_, after) = rest.split_once("# ---- Ground").expect("and the ground after it");
    let (ground, after) = after.split_once("[[uplink]]").expect("the demonstration has a wrong load");
    let (_, areas) = after.split_once("[[area]]").expect("and the areas after it");
    let mut text = format!("{before}# {ground}[[area]]{areas}");
    let of_the_link = LINK.contains(&kind);
    if of_the_link {
        text = text.replacen("[run]\n", "[run]\nload_by = \"radio\"\n", 1);
    }
    if kind != "no fault" {
        let at_h = if of_the_link { 0.0 } else { 1.95 };
        let _ = write!(text, "\n[[fault]]\nkind = \"{kind}\"\nat_h = {at_h:.2}\n{amounts}\n");
    }
    text
}

/// Last mode, and each flag that rose after the fault began with the delay of its first time.
fn events(path: &std::path::Path, from_s: f64) -> (String, String) {
    let mut reader = csv::Reader::from_path(path).expect("events.csv");
    let mut mode = String::new();
    let mut noticed: Vec<String> = Vec::new();
    for event in reader.records() {
        let event = event.expect("a line");
        let (at_s, kind, text) = (event[0].parse::<f64>().expect("a time"), &event[1], &event[3]);
        match kind {
            "mode" => mode = text.trim_start_matches("attitude: ").to_owned(),
            "load_refused" | "load_accepted" | "health"
                if at_s >= from_s
                    && !text.starts_with("No longer")
                    && !noticed.iter().any(|seen| seen.ends_with(text)) =>
            {
                noticed.push(format!("{:.0}: {text}", at_s - from_s));
            }
            _ => {}
        }
    }
    (mode, noticed.join(" "))
}

#[test]
fn every_kind_of_the_schema_is_flown_and_explained() {
    let schema = schema();
    let kinds = schema["properties"]["fault"]["items"]["oneOf"].as_array().expect("kinds");
    let named: Vec<&str> = kinds.iter().map(|kind| kind["title"].as_str().expect("a title")).collect();
    let flown: Vec<&str> = FAULTS.iter().map(|(kind, _)| *kind).collect();
    assert_eq!(named, flown);
    let chapter = super::text("docs/src/faults.md");
    for kind in flown {
        assert!(chapter.contains(&format!("| `{kind}` |")), "docs/src/faults.md does not explain {kind}");
    }
}
