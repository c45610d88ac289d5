//! `stillframe check` as a user runs it.

use std::{path::Path, process::Command};

use serde_json::Value;

use crate::program::program;

fn check(arguments: &[&str], folder: &Path) -> std::process::Output {
    Command::new(program()).arg("check").args(arguments).current_dir(folder).output().expect("runs")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

#[test]
fn the_days_own_load_passes_and_is_there_to_be_sent_and_signed() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = check(&["--out", "a"], folder.path());
    assert!(output.status.success(), "{}{}", text(&output.stdout), text(&output.stderr));
    let shown = text(&output.stdout);
    assert!(shown.contains("may be sent") && !shown.contains("DEAF"), "{shown}");
    for name in ["check.json", "load.txt", "load.bin", "report.html", "signatures.html"] {
        assert!(folder.path().join("a").join(name).is_file(), "{name} is missing");
    }
    let told: Value =
        serde_json::from_slice(&std::fs::read(folder.path().join("a/check.json")).expect("read")).expect("JSON");
    let sheet = std::fs::read_to_string(folder.path().join("a/signatures.html")).expect("read");
    let sum = told["checksum"].as_str().expect("text");
    assert!(sheet.contains(&format!("<p class=\"sum\">{sum}</p>")), "no check sum in large type");
    assert_eq!(sheet.matches("name, signature, time").count(), 2);
    // The check sum is that of the bytes to be sent: the last two.
    let bytes = std::fs::read(folder.path().join("a/load.bin")).expect("read");
    assert!(bytes.iter().rev().take(2).rev().map(|b| format!("{b:02X}")).collect::<String>() == sum);
    // Bytes and listing go back in and come to the same; a folder in use is refused.
    for file in ["a/load.bin", "a/load.txt"] {
        let again = check(
            &[file, "--json", "--quiet", "--out", &format!("b{}", file.len() + usize::from(file.ends_with("txt")))],
            folder.path(),
        );
        let value: Value = serde_json::from_slice(&again.stdout).expect("JSON alone");
        assert_eq!((value["good"].as_bool(), value["checksum"].as_str()), (Some(true), Some(sum)), "{file}");
    }
    let taken = check(&["--out", "a"], folder.path());
    assert_eq!(taken.status.code(), Some(3));
    assert!(text(&taken.stderr).contains("left alone"));
}

#[test]
fn the_wrong_example_is_refused_with_lines_and_reasons_and_cannot_be_sent() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = check(&["--example-wrong", "--out", "w"], folder.path());
    assert_eq!(output.status.code(), Some(3));
    let shown = text(&output.stdout);
    assert!(shown.contains("REFUSED") && shown.contains("refused  line "), "{shown}");
    assert!(!folder.path().join("w/load.bin").exists() && !folder.path().join("w/signatures.html").exists());
    // A line named is that line of the listing beside it.
    let listing = std::fs::read_to_string(folder.path().join("w/load.txt")).expect("read");
    let told: Value =
        serde_json::from_slice(&std::fs::read(folder.path().join("w/check.json")).expect("read")).expect("JSON");
    let named = told["findings"].as_array().expect("findings").iter().filter(|f| f["line"].is_u64());
    let mut count = 0;
    for finding in named {
        let line = listing.lines().nth(finding["line"].as_u64().expect("a line") as usize - 1).expect("a line");
        let tick = finding["tick"].to_string();
        assert!(
            line.trim_start().starts_with(&tick) && line.contains(finding["command"].as_str().expect("words")),
            "{finding} {line}"
        );
        count += 1;
    }
    assert!(count >= 5);
}

#[test]
fn the_load_on_board_is_held_against_the_new_one() {
    let folder = tempfile::tempdir().expect("a folder");
    assert!(check(&["--out", "a"], folder.path()).status.success());
    let listing = std::fs::read_to_string(folder.path().join("a/load.txt")).expect("read");
    let next = listing.replacen("counter      1", "counter      2", 1);
    std::fs::write(folder.path().join("next.txt"), next).expect("written");
    let same = check(&["a/load.txt", "--on-board", "a/load.txt", "--json", "--quiet"], folder.path());
    assert_eq!(same.status.code(), Some(3), "a counter that does not rise");
    let rises = check(&["next.txt", "--on-board", "a/load.bin", "--json", "--quiet"], folder.path());
    let value: Value = serde_json::from_slice(&rises.stdout).expect("JSON");
    assert_eq!(value["good"].as_bool(), Some(true), "{value:#}");
    let changed = value["difference"].as_array().expect("lines").iter().filter(|line| line["mark"] != "same").count();
    assert_eq!(changed, 2, "the counter, was and becomes");
}

#[test]
fn files_that_are_no_loads_are_refused_with_the_reason() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut bytes = crate::day().1.load.encode().to_vec();
    bytes[40] ^= 1;
    std::fs::write(folder.path().join("bad.bin"), &bytes).expect("written");
    let bad = check(&["bad.bin"], folder.path());
    assert_eq!(bad.status.code(), Some(3));
    assert!(text(&bad.stderr).contains("its check sum does not match"), "{}", text(&bad.stderr));
    std::fs::write(folder.path().join("bad.txt"), "counter 1\n100 jump\n").expect("written");
    let bad = check(&["bad.txt"], folder.path());
    assert_eq!(bad.status.code(), Some(3));
    let shown = text(&bad.stderr);
    assert!(shown.contains("'jump' is no command") && shown.contains("radius is missing"), "{shown}");
    assert_eq!(check(&["nowhere.txt"], folder.path()).status.code(), Some(4));
    assert_eq!(check(&["--now", "yesterday"], folder.path()).status.code(), Some(2));
}

/// What is left comes from the last telemetry that a station heard, and from nothing later: some two hours are flown.
#[test]
fn film_gas_and_time_come_from_what_was_heard_last() {
    let folder = tempfile::tempdir().expect("a folder");
    let flown = Command::new(program())
        .args(["fly", "--hours", "2.2", "--quiet", "--out", "f"])
        .current_dir(folder.path())
        .output()
        .expect("runs");
    assert!(flown.status.success(), "{}", text(&flown.stderr));
    let summary: Value =
        serde_json::from_slice(&std::fs::read(folder.path().join("f/summary.json")).expect("read")).expect("JSON");
    let output = check(&["--from", "f", "--counter", "0", "--json", "--quiet"], folder.path());
    let told: Value = serde_json::from_slice(&output.stdout).expect("JSON alone");
    let sent = &told["sent"];
    assert_eq!(sent["stage"], "in flight");
    let now_s = sent["now_s"].as_f64().expect("a time");
    assert!(now_s > 0.0 && now_s < 2.2 * 3600.0, "{now_s}");
    // In that time there is one pass at most: the film left is what was loaded less what went through, or all of it.
    let through_m = summary["film"]["metered_m"].as_f64().expect("film");
    let film_m = sent["film_m"].as_f64().expect("film");
    let film = &crate::day().0.scenario.film;
    let gone_m = film.load_m - film.wound_m - film_m;
    assert!((-0.01..=through_m + 0.01).contains(&gone_m), "{gone_m} m gone, {through_m} m through");
    // The gauges, to their own error of half a per cent.
    let used_kg = summary["gas"]["used_kg"].as_f64().expect("gas");
    let gas_kg = sent["gas_kg"].as_f64().expect("gas");
    assert!(gas_kg < 4.02 && gas_kg > 4.0 - used_kg - 0.02, "{gas_kg} left, {used_kg} used");
    // The load made on the ground begins with passes that are past by then, or goes up through a station.
    assert_ne!(told["delivery"]["by"], "pad");
}
