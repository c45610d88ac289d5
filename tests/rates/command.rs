//! `stillframe film` as a user runs it.

use std::process::Command;

use serde_json::Value;

use crate::program::program;

fn film(arguments: &[&str], folder: &std::path::Path) -> std::process::Output {
    Command::new(program()).arg("film").args(arguments).current_dir(folder).output().expect("runs")
}

#[test]
fn a_study_fills_a_folder_and_prints_one_screen() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = film(&["--days", "0.25", "--out", "a"], folder.path());
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).expect("text");
    assert!(text.lines().count() <= 45, "more than a screen:\n{text}");
    assert!(text.contains("Total film rate error, 3σ") && !text.contains("NOT MET"), "{text}");
    for name in ["film-rates.json", "points.parquet", "samples.parquet", "report.html"] {
        assert!(folder.path().join("a").join(name).is_file(), "{name} is missing");
    }
    // A second study never writes over the first.
    let again = film(&["--days", "0.25", "--out", "a"], folder.path());
    assert_eq!(again.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&again.stderr).contains("left alone"));
}

#[test]
fn json_is_the_study_and_nothing_else() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = film(&["--days", "0.1", "--json", "--quiet"], folder.path());
    let value: Value = serde_json::from_slice(&output.stdout).expect("JSON alone");
    assert_eq!(value["source"], "simulated drive");
    assert!(value["drive"]["error_percent"]["three_sigma"].as_f64().expect("a number") < 1.0);
}

#[test]
fn what_cannot_be_is_refused_with_its_reason() {
    let folder = tempfile::tempdir().expect("a folder");
    let past = film(&["--days", "0.1", "--roll-deg", "60", "--pitch-deg", "60", "--out", "b"], folder.path());
    assert_eq!(past.status.code(), Some(3));
    assert!(
        String::from_utf8_lossy(&past.stderr).contains("tilt it less"),
        "{}",
        String::from_utf8_lossy(&past.stderr)
    );
    assert!(!folder.path().join("b").exists());
    let mixed = film(&["--record", "x", "--days", "2"], folder.path());
    assert_eq!(mixed.status.code(), Some(2));
    let nothing = film(&["--record", "nowhere"], folder.path());
    assert_eq!(nothing.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&nothing.stderr).contains("nowhere/summary.json"));
}
