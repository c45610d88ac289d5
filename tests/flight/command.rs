//! `fly` as a user runs it.

use std::path::Path;

use assert_cmd::{Command, assert::Assert};
use serde_json::Value;
use tempfile::TempDir;

use crate::program::program;

fn stillframe(folder: &TempDir, args: &[&str]) -> Assert {
    Command::new(program()).args(args).current_dir(folder.path()).assert()
}

fn out(assert: &Assert) -> String {
    String::from_utf8_lossy(&assert.get_output().stdout).into_owned()
}

fn err(assert: &Assert) -> String {
    String::from_utf8_lossy(&assert.get_output().stderr).into_owned()
}

fn folder() -> TempDir {
    tempfile::tempdir().expect("folder")
}

fn json(path: &Path) -> Value {
    serde_json::from_str(&std::fs::read_to_string(path).expect("summary")).expect("JSON")
}

fn replace_in(path: &Path, find: &str, by: &str) {
    let text = std::fs::read_to_string(path).expect("file");
    assert!(text.contains(find), "{} does not hold {find:?}", path.display());
    std::fs::write(path, text.replacen(find, by, 1)).expect("file");
}

#[test]
fn without_a_verb_the_demonstration_is_flown_to_a_fresh_numbered_folder() {
    let folder = folder();
    let first = stillframe(&folder, &["fly", "--hours", "0.2"]).success();
    for told in ["whimbrel-strip", "gas", "film", "balances", "Results: "] {
        assert!(out(&first).contains(told), "{told}: {}", out(&first));
    }
    assert!(out(&first).lines().count() < 40, "more than one screen");
    assert!(folder.path().join("results/whimbrel-strip-1/report.html").exists());
    stillframe(&folder, &["fly", "--hours", "0.2"]).success();
    assert!(folder.path().join("results/whimbrel-strip-1-2/report.html").exists());
}

#[test]
fn json_on_stdout_is_the_summary_file() {
    let folder = folder();
    let told = stillframe(&folder, &["fly", "--hours", "0.2", "--json", "--seed", "7", "--out", "a"]).success();
    let told: Value = serde_json::from_str(&out(&told)).expect("JSON and nothing else");
    assert_eq!(told, json(&folder.path().join("a/summary.json")));
    assert_eq!(told["run"]["seed"], 7);
    assert_eq!(told["run"]["duration_s"], 720.0);
}

#[test]
fn quiet_is_quiet() {
    let folder = folder();
    let told = stillframe(&folder, &["fly", "--hours", "0.1", "--quiet", "--out", "a"]).success();
    assert_eq!((out(&told), err(&told)), (String::new(), String::new()));
    assert!(folder.path().join("a/summary.json").exists());
}

#[test]
fn results_are_never_written_over() {
    let folder = folder();
    stillframe(&folder, &["fly", "--hours", "0.1", "--quiet", "--out", "a"]).success();
    let read = || std::fs::read(folder.path().join("a/record.parquet")).expect("record");
    let before = read();
    let refused = stillframe(&folder, &["fly", "--hours", "0.2", "--seed", "9", "--out", "a"]).code(3);
    assert!(err(&refused).contains("holds something already"), "{}", err(&refused));
    assert_eq!(read(), before);
}

#[test]
fn a_scenario_of_ones_own_is_written_checked_and_flown_like_the_built_in_one() {
    let folder = folder();
    stillframe(&folder, &["new", "my.toml"]).success();
    let good = stillframe(&folder, &["validate", "my.toml"]).success();
    // The settings written with it are fitted to its return.
    assert!(!out(&good).contains("caution"), "{}", out(&good));
    stillframe(&folder, &["fly", "my.toml", "--hours", "0.2", "--quiet", "--out", "mine"]).success();
    stillframe(&folder, &["fly", "--hours", "0.2", "--quiet", "--out", "built-in"]).success();
    let digests = ["mine", "built-in"]
        .map(|run| json(&folder.path().join(run).join("summary.json"))["run"]["output_digest"].clone());
    assert!(digests[0].is_string());
    // The settings file writes every number in full, so nothing may differ.
    assert_eq!(digests[0], digests[1]);
}

#[test]
fn a_timer_that_is_not_the_plans_is_told_of_and_flown() {
    let folder = folder();
    stillframe(&folder, &["new", "my.toml"]).success();
    let settings = std::fs::read_to_string(folder.path().join("my-settings.toml")).expect("settings");
    let line = settings.lines().find(|line| line.starts_with("retro_delay_ticks")).expect("the delay").to_owned();
    assert!(line.contains("3800"), "40 s from separation to ignition, 2 s of them to spin: {line}");
    replace_in(&folder.path().join("my-settings.toml"), &line, "retro_delay_ticks = 500");
    let told = "ordnance.retro_delay_ticks is 500 where the plan of the return has 3800";
    let good = stillframe(&folder, &["validate", "my.toml"]).success();
    assert!(out(&good).contains(told), "{}", out(&good));
    let short = out_of_reach(&folder);
    assert!(short.contains(told), "{short}");
}

/// What `fly` says on its error output of a scenario that is refused only for its folder, after all that it looks at.
fn out_of_reach(folder: &TempDir) -> String {
    std::fs::create_dir_all(folder.path().join("full/x")).expect("folder");
    err(&stillframe(folder, &["fly", "my.toml", "--out", "full"]).code(3))
}

#[test]
fn a_changed_setting_has_its_effect() {
    let folder = folder();
    stillframe(&folder, &["new", "my.toml"]).success();
    stillframe(&folder, &["fly", "my.toml", "--hours", "0.6", "--quiet", "--out", "slow"]).success();
    replace_in(&folder.path().join("my-settings.toml"), "settle_s = 1500", "settle_s = 300");
    stillframe(&folder, &["fly", "my.toml", "--hours", "0.6", "--quiet", "--out", "quick"]).success();
    let [slow, quick] = ["slow", "quick"].map(|run| json(&folder.path().join(run).join("summary.json")));
    let capture_s = |summary: &Value| summary["attitude"]["capture_s"].as_f64().expect("captured");
    assert!(capture_s(&quick) < capture_s(&slow) - 1000.0);
    assert_ne!(slow["run"]["settings_hash"], quick["run"]["settings_hash"]);
}

#[test]
fn bad_settings_and_scenarios_are_refused_before_a_folder_is_made() {
    let folder = folder();
    stillframe(&folder, &["new", "my.toml"]).success();
    replace_in(&folder.path().join("my-settings.toml"), "settle_s = 1500", "settle_s = -1");
    let refused = stillframe(&folder, &["fly", "my.toml", "--hours", "0.2"]).code(3);
    for told in ["settle_s", "my-settings.toml", "-1"] {
        assert!(err(&refused).contains(told), "{told}: {}", err(&refused));
    }
    stillframe(&folder, &["new", "low.toml"]).success();
    replace_in(&folder.path().join("low.toml"), "semi_major_axis_km = 6613.137", "semi_major_axis_km = 6400.0");
    stillframe(&folder, &["fly", "low.toml", "--out", "low"]).code(3);
    assert!(!folder.path().join("results").exists() && !folder.path().join("low").exists());
}

#[test]
fn a_full_record_holds_more_rows_of_the_same_run() {
    let folder = folder();
    for args in [&["--out", "thin"][..], &["--out", "full", "--full-record"]] {
        stillframe(&folder, &[&["fly", "--hours", "0.1", "--quiet"], args].concat()).success();
    }
    let size = |run: &str| std::fs::metadata(folder.path().join(run).join("record.parquet")).expect("record").len();
    assert!(size("full") > 5 * size("thin"), "{} {}", size("full"), size("thin"));
    let digest = |run: &str| json(&folder.path().join(run).join("summary.json"))["run"]["output_digest"].clone();
    assert_eq!(digest("thin"), digest("full"));
}
