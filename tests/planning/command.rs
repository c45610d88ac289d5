//! `stillframe plan` as a user runs it.

use crate::program::program;
use std::{path::Path, process::Command};

fn plan(arguments: &[&str], folder: &Path) -> std::process::Output {
    Command::new(program()).arg("plan").args(arguments).current_dir(folder).output().expect("runs")
}

fn told(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

#[test]
fn a_plan_fills_a_folder_and_prints_one_screen() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = plan(&["--out", "a"], folder.path());
    assert!(output.status.success(), "{}", told(&output.stderr));
    let text = told(&output.stdout);
    assert!(text.lines().count() <= 45 && text.contains("no plan within the limits is worth more"), "{text}");
    assert!(text.contains("gap"), "{text}");
    for name in ["plan.json", "plan.geojson", "load.bin", "load.txt", "report.html"] {
        assert!(folder.path().join("a").join(name).is_file(), "{name} is missing");
    }
    let page = std::fs::read_to_string(folder.path().join("a/report.html")).expect("a page");
    assert!(!page.contains("http://") && !page.contains("https://") && !page.contains("<script"), "not self-contained");
    let geo = std::fs::read_to_string(folder.path().join("a/plan.geojson")).expect("a map");
    let geo: geojson::FeatureCollection =
        stillframe::world::geo_text::read(&geo).expect("GeoJSON").try_into().expect("features");
    let swaths = geo.features.iter().filter(|f| f.property("kind").and_then(|kind| kind.as_str()) == Some("swath"));
    assert!(swaths.count() >= 10);
    // A second plan never writes over the first.
    let again = plan(&["--out", "a"], folder.path());
    assert_eq!(again.status.code(), Some(3));
    assert!(told(&again.stderr).contains("left alone"));
}

const AREAS: &str = r#"{"type":"FeatureCollection","features":[
{"type":"Feature","geometry":{"type":"Polygon","coordinates":[[[105,51],[113,51],[113,55],[105,55],[105,51]]]},
 "properties":{"name":"Inland Sea","priority":4,"lowest_sun_deg":20,"ground_height_m":450}},
{"type":"Feature","geometry":{"type":"Point","coordinates":[79.2,66.8]},
 "properties":{"name":"Gulf Head","radius_km":60,"cover":"stereo"}}]}"#;

#[test]
fn areas_come_from_a_map_and_go_into_the_scenario() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("areas.geojson"), AREAS).expect("written");
    let new =
        Command::new(program()).args(["new", "strip", "my.toml"]).current_dir(folder.path()).output().expect("runs");
    assert!(new.status.success());
    let output = plan(&["my.toml", "--areas", "areas.geojson", "--write"], folder.path());
    let text = told(&output.stdout);
    assert!(output.status.success(), "{}", told(&output.stderr));
    assert!(text.contains("Inland Sea") && text.contains("Gulf Head: stereo wanted; a strip camera"), "{text}");
    assert!(text.contains("Next: stillframe fly my.toml"), "{text}");
    let scenario = std::fs::read_to_string(folder.path().join("my.toml")).expect("there");
    assert!(scenario.contains("name = \"Inland Sea\"") && !scenario.contains("Sulveig"), "{scenario}");
    let valid =
        Command::new(program()).args(["validate", "my.toml"]).current_dir(folder.path()).output().expect("runs");
    assert!(valid.status.success(), "{}", told(&valid.stderr));
}

#[test]
fn what_is_wrong_is_refused_with_file_feature_property_and_remedy() {
    let folder = tempfile::tempdir().expect("a folder");
    let bad = AREAS.replace("\"priority\":4", "\"priority\":-4").replace("\"stereo\"", "\"double\"");
    std::fs::write(folder.path().join("bad.geojson"), bad).expect("written");
    let output = plan(&["--areas", "bad.geojson", "--out", "b"], folder.path());
    let text = told(&output.stderr);
    assert_eq!(output.status.code(), Some(3));
    for part in ["bad.geojson", "features[1].properties.priority", "-4", "features[2].properties.cover", "\"single\""] {
        assert!(text.contains(part), "{part} is not in\n{text}");
    }
    assert!(!folder.path().join("b").exists());
    for (arguments, code) in [
        (vec!["--write"], 3),
        (vec!["--areas", "nowhere.geojson"], 3),
        (vec!["nowhere.toml"], 3),
        (vec!["--sigmas", "9"], 2),
    ] {
        assert_eq!(plan(&arguments, folder.path()).status.code(), Some(code), "{arguments:?}");
    }
}

#[test]
fn json_is_the_plan_and_nothing_else() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = plan(&["--json", "--film-m", "5"], folder.path());
    let value: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON alone");
    assert_eq!(value["to_spend"]["film_m"], 5.0);
    assert!(value["choice"]["bound"].as_f64() >= value["choice"]["value"].as_f64());
}
