//! The plan put into a scenario, and flown.

use crate::{demo_plan, program::program};
use std::process::Command;
use stillframe::{
    design::day_plan::write::with_plan,
    scenario::{BuiltIn, demo::Demo, read},
};

#[test]
fn a_scenario_takes_the_plan_and_keeps_its_comments() {
    let before = Demo::Strip.text();
    let after = with_plan(before, demo_plan(), false).expect("written");
    let again = read("again", &after, &BuiltIn(&[]))
        .unwrap_or_else(|refusal| panic!("{}\n{after}", refusal.render(100, false)));
    assert_eq!(again.scenario.commands, demo_plan().scenario().commands);
    // All that stands before the programme is as it was, byte for byte.
    let head = before.split_once("\n[[command]]").expect("commands").0;
    assert!(after.starts_with(head), "{after}");
    // Each command is followed by the area's name.
    assert!(after.matches("# Sulveig Sound").count() >= 1, "{after}");
    // Written twice is written once.
    assert_eq!(with_plan(&after, demo_plan(), false).expect("written"), after);
}

#[test]
fn other_commands_stay_with_their_comments() {
    let head = Demo::Strip.text().split_once("[[command]]").expect("commands").0;
    let kept = "# Before the first pass.\n[[command]]\ndo = \"mode\"      # never mind\nat_h = 1.0\nmode = \"fine\"\n\n\
                [[command]]\ndo = \"camera\"\nat_h = 3.0\nfor_s = 9.0\n\n[[command]]\ndo = \"cut_and_seal\"\nat_h = 23.9  # the end\n";
    let after = with_plan(&format!("{head}{kept}"), demo_plan(), false).expect("written");
    assert!(after.contains("do = \"mode\"      # never mind") && after.contains("# the end"), "{after}");
    assert!(!after.contains("for_s = 9.0"), "{after}");
    let again = read("again", &after, &BuiltIn(&[]))
        .unwrap_or_else(|refusal| panic!("{}\n{after}", refusal.render(100, false)));
    assert_eq!(again.scenario.commands.len(), demo_plan().document.bursts.len() + 2);
}

/// Planned, written, flown: the film that went through in the first camera-ons is what the plan said. The air flown through
/// is 5 % thicker than the air planned with; film speeds differ by less than that moves the height. Film before and after
/// a camera-on is planned as run at full speed for the whole lead; the drive is slower to start and stops later.
///
/// Flies four hours: a second or so optimised.
#[test]
fn film_flown_is_film_planned() {
    let folder = tempfile::tempdir().expect("a folder");
    let run = |arguments: &[&str]| {
        let output = Command::new(program()).args(arguments).current_dir(folder.path()).output().expect("runs");
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        output.stdout
    };
    run(&["new", "strip", "day.toml"]);
    run(&["plan", "day.toml", "--write", "--quiet"]);
    let summary = run(&["fly", "day.toml", "--hours", "4", "--json", "--quiet"]);
    let summary: serde_json::Value = serde_json::from_slice(&summary).expect("JSON");
    let flown_m = summary["film"]["metered_m"].as_f64().expect("a number");
    let plan = std::fs::read(folder.path().join("results/plan-whimbrel-strip/plan.json")).expect("a plan");
    let plan: serde_json::Value = serde_json::from_slice(&plan).expect("JSON");
    let bursts = plan["bursts"].as_array().expect("bursts");
    let early = bursts.iter().filter(|burst| burst["off_s"].as_f64().is_some_and(|off_s| off_s < 4.0 * 3600.0));
    let films: Vec<f64> = early.map(|burst| burst["film_m"].as_f64().expect("a number")).collect();
    let planned_m: f64 = films.iter().sum();
    println!("{} camera-ons: planned {planned_m:.3} m, flown {flown_m:.3} m", films.len());
    assert!(films.len() >= 2, "{films:?}");
    assert!((flown_m / planned_m - 1.0).abs() < 0.02, "planned {planned_m}, flown {flown_m}");
}
