//! The command as a user runs it.

use assert_cmd::Command;
use stillframe::cli::help_text;
use tempfile::TempDir;

use crate::program::program;
use crate::support::snapshot;

fn stillframe(folder: &TempDir, args: &[&str]) -> assert_cmd::assert::Assert {
    Command::new(program()).args(args).current_dir(folder.path()).assert()
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
fn help_teaches() {
    let verbs = [
        None,
        Some("fly"),
        Some("size"),
        Some("tune"),
        Some("film"),
        Some("plan"),
        Some("descend"),
        Some("new"),
        Some("schema"),
        Some("validate"),
        Some("settings"),
        Some("completions"),
    ];
    let texts: Vec<String> = verbs
        .iter()
        .map(|verb| {
            let text = help_text(*verb).expect("verb");
            format!("==== {}\n{text}", verb.unwrap_or("stillframe"))
        })
        .collect();
    snapshot(
        "help",
        &texts.join(
            "
",
        ),
    );
}

#[test]
fn a_new_scenario_is_sound_and_never_written_over() {
    let folder = folder();
    for args in [&["new", "a.toml"][..], &["new", "frame", "b.toml"]] {
        stillframe(&folder, args).success();
    }
    let good = stillframe(&folder, &["validate", "a.toml", "b.toml"]).success();
    assert_eq!(out(&good).matches(": good.").count(), 2, "{}", out(&good));
    assert!(out(&good).contains("settings: a-settings.toml"));
    let before = std::fs::read(folder.path().join("a.toml")).expect("a.toml");
    let refused = stillframe(&folder, &["new", "frame", "a.toml"]).code(3);
    assert!(err(&refused).contains("left alone"));
    assert_eq!(std::fs::read(folder.path().join("a.toml")).expect("a.toml"), before);
    stillframe(&folder, &["new", "panorama", "c.toml"]).code(2);
}

#[test]
fn validate_tells_every_file_and_ends_with_3() {
    let folder = folder();
    stillframe(&folder, &["new", "a.toml"]).success();
    let text = std::fs::read_to_string(folder.path().join("a.toml")).expect("a.toml");
    std::fs::write(folder.path().join("b.toml"), text.replace("volume_l = 18.0", "volume_l = 1.0")).expect("b.toml");
    let told = stillframe(&folder, &["validate", "b.toml", "missing.toml", "a.toml"]).code(3);
    assert!(err(&told).contains("tank.gas_kg"), "{}", err(&told));
    assert!(err(&told).contains("missing.toml cannot be read"));
    assert!(out(&told).contains("a.toml: good."));
}

#[test]
fn an_output_folder_that_holds_something_is_refused() {
    let folder = folder();
    std::fs::create_dir(folder.path().join("full")).expect("folder");
    std::fs::write(folder.path().join("full/summary.json"), "{}").expect("file");
    let refused = stillframe(&folder, &["fly", "--hours", "0.1", "--out", "full"]).code(3);
    assert!(err(&refused).contains("holds something already"), "{}", err(&refused));
    let held: Vec<_> = std::fs::read_dir(folder.path().join("full")).expect("folder").collect();
    assert_eq!(held.len(), 1);
    stillframe(&folder, &["fly", "--hours", "0.1", "--out", "full/summary.json"]).code(3);
    assert!(!folder.path().join("results").exists());
}

#[test]
fn command_lines_out_of_range_are_refused() {
    let folder = folder();
    for args in [
        &["fly", "--hours", "0"][..],
        &["fly", "--hours", "nan"],
        &["fly", "--seed", "-1"],
        &["fly", "--seed", "9007199254740992"],
        &["land"],
        &["validate"],
    ] {
        stillframe(&folder, args).code(2);
    }
    stillframe(&folder, &["fly", "--hours", "100"]).code(3);
    stillframe(&folder, &["fly", "none.toml"]).code(3);
}

#[test]
fn schema_settings_and_completions_print() {
    let folder = folder();
    let schema = out(&stillframe(&folder, &["schema"]).success());
    let schema: serde_json::Value = serde_json::from_str(&schema).expect("JSON");
    assert_eq!(schema["title"], "Stillframe scenario");
    assert!(out(&stillframe(&folder, &["settings"]).success()).contains("format = 1"));
    assert!(out(&stillframe(&folder, &["completions", "bash"]).success()).contains("validate"));
}
