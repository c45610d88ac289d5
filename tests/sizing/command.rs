//! `stillframe size` as a user runs it.

use assert_cmd::Command;
use serde_json::Value;
use stillframe::design::camera::summary::SizingSummary;
use tempfile::TempDir;

use crate::program::program;

fn size(folder: &TempDir, args: &[&str]) -> assert_cmd::assert::Assert {
    Command::new(program()).arg("size").args(args).current_dir(folder.path()).assert()
}

fn out(assert: &assert_cmd::assert::Assert) -> String {
    String::from_utf8_lossy(&assert.get_output().stdout).into_owned()
}

fn err(assert: &assert_cmd::assert::Assert) -> String {
    String::from_utf8_lossy(&assert.get_output().stderr).into_owned()
}

fn folder() -> TempDir {
    tempfile::tempdir().expect("folder")
}

#[test]
fn the_built_in_wants_make_a_folder_of_results() {
    let folder = folder();
    let told = out(&size(&folder, &[]).success());
    for word in ["1040 mm f/5.3 on fine 127", "the lightest that meets every want", "limited by", "1.5 m", "4 m"] {
        assert!(told.contains(word), "{word}: {told}");
    }
    assert!(told.lines().count() <= 24, "more than a screen:\n{told}");
    let results = folder.path().join("results/size-whimbrel-camera");
    let read =
        |name: &str| std::fs::read_to_string(results.join(name)).unwrap_or_else(|error| panic!("{name}: {error}"));
    let summary: SizingSummary = serde_json::from_str(&read("sizing.json")).expect("its own format");
    assert!(summary.met && summary.pareto.len() > 20 && summary.candidates > 10_000);
    assert_eq!(read("pareto.csv").lines().count(), summary.pareto.len() + 1);
    assert!(read("wants.toml").contains("whimbrel-camera"));
    page_quotes_the_summary(&read("report.html"), &serde_json::from_str(&read("sizing.json")).expect("JSON"));
    // A second time goes beside the first, never over it.
    size(&folder, &["--quiet"]).success();
    assert!(folder.path().join("results/size-whimbrel-camera-2/report.html").exists());
}

/// Every number on the page that names a key of the JSON has its value.
fn page_quotes_the_summary(page: &str, summary: &Value) {
    let mut checked = 0;
    for tag in page.split("<data ").skip(1) {
        let attribute = |name: &str| tag.split(&format!("{name}=\"")).nth(1).and_then(|rest| rest.split('"').next());
        let (key, value) = (attribute("data-key").expect("a key"), attribute("value").expect("a value"));
        let wanted = summary.pointer(&format!("/{}", key.replace('.', "/"))).and_then(Value::as_f64);
        let (value, wanted) =
            (value.parse::<f64>().expect("a number"), wanted.unwrap_or_else(|| panic!("{key}: no number")));
        // Reading JSON may lose the last bit.
        assert!((value - wanted).abs() <= 1e-14 * wanted.abs(), "{key}: {value} {wanted}");
        checked += 1;
    }
    assert!(checked > 100, "only {checked} numbers quoted");
    assert!(!page.contains("NaN") && !page.contains("inf "));
    let pictures = page.matches("<svg").count();
    assert_eq!(pictures, page.matches("role=\"img\"").count() + page.matches("aria-hidden=\"true\"").count());
    assert!(!page.contains("src=") && !page.contains("<script"), "the page needs nothing else");
}

#[test]
fn one_camera_can_be_looked_at_and_terms_left_out() {
    let folder = folder();
    let json = |args: &[&str]| -> SizingSummary {
        serde_json::from_str(&out(&size(&folder, args).success())).expect("its own format")
    };
    let all = json(&["--at", "1000,5", "--json", "--out", "one"]);
    // The folder's wants alone give the same study again.
    assert_eq!(json(&["one/wants.toml", "--json"]), all);
    let camera = all.camera.expect("a camera");
    assert_eq!((camera.focal_length_mm, camera.f_number), (1000.0, 5.0));
    assert!(!all.met && all.missed.iter().any(|miss| miss.key == "mission.grd_m"));
    let focused = ["--without", "thermal-focus", "--without", "film-flatness", "--without", "focus-setting"];
    let less = json(&[&["--at", "1000,5", "--json"], &focused[..]].concat());
    assert_eq!(less.without, ["thermal-focus", "film-flatness", "focus-setting"]);
    let grd = |summary: &Option<stillframe::design::camera::summary::CameraSummary>| {
        summary.as_ref().and_then(|camera| camera.grd_m).expect("a distance")
    };
    assert!(grd(&less.camera) < camera.grd_m.expect("a distance"));
    assert!((grd(&less.camera) - 2.24).abs() < 0.006);
}

#[test]
fn wants_to_start_from_are_sound_and_never_written_over() {
    let folder = folder();
    size(&folder, &["--write-wants", "mine.toml"]).success();
    let before = std::fs::read(folder.path().join("mine.toml")).expect("mine.toml");
    let refused = size(&folder, &["--write-wants", "mine.toml"]).failure();
    assert!(err(&refused).contains("mine.toml"), "{}", err(&refused));
    assert_eq!(std::fs::read(folder.path().join("mine.toml")).expect("mine.toml"), before);
    size(&folder, &["mine.toml", "--quiet", "--out", "there"]).success();
    let full = size(&folder, &["mine.toml", "--out", "there"]).code(3);
    assert!(err(&full).contains("left alone"));
}

#[test]
fn bad_orders_are_refused() {
    let folder = folder();
    assert!(err(&size(&folder, &["--without", "luck"]).code(2)).contains("v-over-h"));
    assert!(err(&size(&folder, &["--at", "1000"]).code(2)).contains("1000,5"));
    assert!(err(&size(&folder, &["none.toml"]).code(3)).contains("--write-wants"));
    std::fs::write(folder.path().join("bad.toml"), "format = 1\n[mission]\nname = \"x\"\n").expect("written");
    assert!(err(&size(&folder, &["bad.toml"]).code(3)).contains("grd_m is missing"));
    assert!(!folder.path().join("results").exists());
}

/// Heights of the demonstration's orbit: it flies 229 to 249 km over the ellipsoid (README), seen here from its first
/// revolution.
#[test]
fn heights_come_from_a_scenario() {
    let folder = folder();
    Command::new(program()).args(["new", "s.toml"]).current_dir(folder.path()).assert().success();
    let told = out(&size(&folder, &["--scenario", "s.toml"]).success());
    let heights = told.lines().find(|line| line.contains("wanted")).expect("a line");
    assert!(heights.contains("from 23") && heights.contains("to 2"), "{heights}");
    let numbers: Vec<f64> = heights.split(&[' ', ','][..]).filter_map(|word| word.parse().ok()).collect();
    assert!(
        numbers.iter().any(|km| (225.0..240.0).contains(km)) && numbers.iter().any(|km| (240.0..262.0).contains(km))
    );
}

#[test]
fn the_schema_names_every_table() {
    let folder = folder();
    let schema: Value = serde_json::from_str(&out(&size(&folder, &["--schema"]).success())).expect("JSON");
    for table in ["mission", "light", "lens", "focus", "film", "exposure", "smear", "build", "limits", "search"] {
        assert!(schema["properties"][table].is_object(), "{table}");
    }
}
