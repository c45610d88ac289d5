//! `stillframe tune` as a user runs it. Each run flies the least there is to fly: half a second of computing.

use std::fs;

use assert_cmd::Command;
use stillframe::design::attitude::document::study_schema;
use tempfile::TempDir;

use super::program::program;

fn stillframe(folder: &TempDir, args: &[&str]) -> assert_cmd::assert::Assert {
    Command::new(program()).args(args).current_dir(folder.path()).assert()
}

fn err(assert: &assert_cmd::assert::Assert) -> String {
    String::from_utf8_lossy(&assert.get_output().stderr).into_owned()
}

fn out(assert: &assert_cmd::assert::Assert) -> String {
    String::from_utf8_lossy(&assert.get_output().stdout).into_owned()
}

const LEAST: [&str; 8] = ["--points", "0", "--captures", "0", "--rounds", "0", "--hours", "1"];

#[test]
fn the_published_schema_is_the_programs() {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/src/study.schema.json");
    if std::env::var_os("STILLFRAME_BLESS").is_some() {
        fs::write(&path, study_schema()).expect("written");
    }
    let published = fs::read_to_string(&path).unwrap_or_default();
    assert!(published == study_schema(), "docs/src/study.schema.json is out of date; run with STILLFRAME_BLESS=1");
    let folder = tempfile::tempdir().expect("folder");
    let printed = stillframe(&folder, &["tune", "--schema"]).success();
    assert_eq!(out(&printed).trim(), published.trim());
}

#[test]
fn settings_are_compared_and_written_with_their_comments() {
    let folder = tempfile::tempdir().expect("folder");
    let at = |name: &str| folder.path().join(name);
    stillframe(&folder, &["new", "a.toml"]).success();
    let mine = fs::read_to_string(at("a-settings.toml")).expect("settings");
    let mine = mine.replacen("[pitch]", "# my own words\n[pitch]", 1);
    fs::write(at("a-settings.toml"), &mine).expect("written");
    fs::write(at("other.toml"), mine.replacen("deadband_deg = 0.3 ", "deadband_deg = 0.2 ", 1)).expect("written");
    let mut args = vec!["tune", "a.toml", "--write", "--compare", "other.toml", "--out", "t"];
    args.extend(LEAST);
    let told = stillframe(&folder, &args).success();
    assert!(out(&told).contains("settings compared: in hand, other.toml, proposed"), "{}", out(&told));
    assert!(out(&told).contains("Changed in a-settings.toml"), "{}", out(&told));
    let now = fs::read_to_string(at("a-settings.toml")).expect("settings");
    assert!(now != mine && now.contains("# my own words\n[pitch]"));
    assert_eq!(now.lines().count(), mine.lines().count(), "lines came or went");
    let changed = now.lines().zip(mine.lines()).filter(|(new, old)| new != old).count();
    assert!(changed > 5 && changed < 40, "{changed}");
    // What was written is what the study ended with, and the scenario flies with it.
    stillframe(&folder, &["validate", "a.toml"]).success();
    let ended = fs::read_to_string(at("t/settings.toml")).expect("settings of the study");
    let numbers = |text: &str| {
        let lines = text.lines().filter(|line| !line.trim_start().starts_with('#'));
        lines.map(|line| line.split('#').next().unwrap_or_default().trim().to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(numbers(&now), numbers(&ended));
    for name in ["report.html", "study.json"] {
        assert!(at("t").join(name).exists(), "{name}");
    }
    // A study that has ended is not gone over again, nor its folder used twice.
    for again in [["--resume", "t"], ["--out", "t"]] {
        let mut args = vec!["tune", "a.toml"];
        args.extend(again);
        args.extend(LEAST);
        stillframe(&folder, &args).code(3);
    }
}

#[test]
fn a_scenario_without_a_settings_file_is_given_one() {
    let folder = tempfile::tempdir().expect("folder");
    let at = |name: &str| folder.path().join(name);
    let text = stillframe::scenario::demo::Demo::Strip.text();
    fs::write(at("b.toml"), text).expect("written");
    let mut args = vec!["tune", "b.toml", "--write", "-q", "--out", "t"];
    args.extend(LEAST);
    let told = stillframe(&folder, &args).success();
    assert!(out(&told).contains("named it in b.toml"), "{}", out(&told));
    let good = stillframe(&folder, &["validate", "b.toml"]).success();
    assert!(out(&good).contains("settings: b-settings.toml"), "{}", out(&good));
    let now = fs::read_to_string(at("b.toml")).expect("scenario");
    assert_eq!(now.lines().count(), text.lines().count() + 1);
}

#[test]
fn what_cannot_be_studied_is_refused_before_anything_is_made() {
    let folder = tempfile::tempdir().expect("folder");
    for (args, code, says) in [
        (&["tune", "--write"][..], 3, "--write needs a scenario file"),
        (&["tune", "--vary", "pitch.deadband=0.1:0.2"], 3, "is no setting"),
        (&["tune", "--vary", "pitch.fill=0.1:7"], 3, "allowed: 0.05 to 0.95"),
        (&["tune", "--take", "70"], 3, "points 0 to 64"),
        (&["tune", "--compare", "none.toml"], 3, "cannot be read"),
        (&["tune", "--resume", "none"], 3, "is no folder"),
        (&["tune", "none.toml"], 3, "cannot be read"),
        (&["tune", "--vary", "pitch.fill"], 2, "LOW:HIGH"),
        (&["tune", "--rates-deg-s", "1,2"], 2, "three rates"),
    ] {
        let refused = stillframe(&folder, args).code(code);
        assert!(err(&refused).contains(says), "{args:?}: {}", err(&refused));
    }
    assert_eq!(fs::read_dir(folder.path()).expect("folder").count(), 0);
}
