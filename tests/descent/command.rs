//! `stillframe descend` as a user runs it.

use std::path::Path;
use std::process::{Command, Output};

use serde_json::Value;

use crate::program::program;

fn descend(arguments: &[&str], folder: &Path) -> Output {
    Command::new(program()).arg("descend").args(arguments).current_dir(folder).output().expect("runs")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

#[test]
fn a_study_fills_a_folder_and_prints_one_screen() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = descend(&["--runs", "60", "--out", "a"], folder.path());
    assert!(output.status.success(), "{}", text(&output.stderr));
    let told = text(&output.stdout);
    assert!(told.lines().count() <= 40, "more than a screen:\n{told}");
    for words in ["Gannet Ground", "touchdown", "footprint", "no licence", "report.html"] {
        assert!(told.contains(words), "{words}: {told}");
    }
    for name in ["descent.json", "trajectory.parquet", "landings.parquet", "region.geojson", "report.html"] {
        assert!(folder.path().join("a").join(name).is_file(), "{name} is missing");
    }
    let page = std::fs::read_to_string(folder.path().join("a/report.html")).expect("page");
    assert!(page.contains("authorities of the launching state") && !page.contains("NaN"));
    // A second study never writes over the first.
    let again = descend(&["--runs", "60", "--out", "a"], folder.path());
    assert_eq!(again.status.code(), Some(3));
    assert!(text(&again.stderr).contains("left alone"));
}

#[test]
fn json_is_the_study_and_nothing_else_and_news_makes_a_region() {
    let folder = tempfile::tempdir().expect("a folder");
    let asked = ["--runs", "40", "--json", "--quiet", "--retro-not-heard", "--orbit-drift-m", "-8000", "--out", "b"];
    let output = descend(&asked, folder.path());
    let value: Value = serde_json::from_slice(&output.stdout).expect("JSON alone");
    let parts = value["region"]["parts"].as_array().expect("parts");
    assert!(parts.len() >= 2, "a region, not a point: {parts:?}");
    let told = value["region"]["news"].as_str().expect("news");
    assert!(told.contains("did not hear it") && told.contains("-8.0"), "{told}");
    let outlines = std::fs::read_to_string(folder.path().join("b/region.geojson")).expect("outlines");
    let outlines: geojson_value::Collection = serde_json::from_str(&outlines).expect("GeoJSON");
    assert!(outlines.features.len() > parts.len(), "the footprint and every part");
}

mod geojson_value {
    #[derive(serde::Deserialize)]
    pub struct Collection {
        pub features: Vec<serde_json::Value>,
    }
}

#[test]
fn a_fault_shows_beside_the_descent_without_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = descend(
        &["--runs", "20", "--json", "--quiet", "--fault", "drogue-failed", "--fault", "retro-pitch=2"],
        folder.path(),
    );
    let value: Value = serde_json::from_slice(&output.stdout).expect("JSON alone");
    assert_eq!(value["faults"].as_array().expect("faults").len(), 2);
    assert_eq!(value["touchdown"]["drogue"], "failed");
    assert_eq!(value["footprint"]["under_canopies"]["hits"], 0);
    assert!(value["touchdown"]["along_km"].as_f64().expect("down").abs() > 1.0);
}

#[test]
fn what_cannot_be_is_refused_with_its_reason() {
    let folder = tempfile::tempdir().expect("a folder");
    let unknown = descend(&["--fault", "rain"], folder.path());
    assert_eq!(unknown.status.code(), Some(2));
    assert!(text(&unknown.stderr).contains("drogue-failed"));
    let pass = descend(&["--runs", "20", "--pass", "77", "--out", "c"], folder.path());
    assert_eq!(pass.status.code(), Some(3));
    assert!(text(&pass.stderr).contains("no pass 77") && !folder.path().join("c").exists());
    // A scenario that brings nothing home.
    assert!(
        Command::new(program())
            .args(["new", "frame", "f.toml"])
            .current_dir(folder.path())
            .status()
            .expect("runs")
            .success()
    );
    let nothing = descend(&["f.toml"], folder.path());
    assert_eq!(nothing.status.code(), Some(3));
    assert!(text(&nothing.stderr).contains("has no [capsule]"), "{}", text(&nothing.stderr));
}
