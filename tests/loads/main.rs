//! Command loads before they are sent: listing, every refusal by name, margins, ledgers, and the command.

mod agreement;
mod command;
mod contacts;
mod findings;
mod ledgers;
mod listing;
mod schema;

#[path = "../program.rs"]
mod program;

use std::sync::OnceLock;
use stillframe::{
    flight::build::{Built, build},
    passes::check::{
        Checked, Ground, check,
        finding::{Finding, Grade, Rule},
        state::State,
    },
    scenario::{Loaded, demo::Demo},
};
use stillframe_controller::programme::load::{Command, Load};

/// The demonstration's day, built once: scenario, settings, prediction, load.
pub fn day() -> &'static (Loaded, Built) {
    static DAY: OnceLock<(Loaded, Built)> = OnceLock::new();
    DAY.get_or_init(|| {
        let loaded = Demo::Strip.load().expect("the demonstration is sound");
        let built = build(&loaded, 1).expect("it builds");
        (loaded, built)
    })
}

/// A load checked against the day, from a state.
pub fn checked_from(load: &Load, state: &State) -> Checked {
    let (loaded, built) = day();
    let ground = Ground {
        scenario: &loaded.scenario,
        settings: &built.settings,
        camera: &built.camera,
        prediction: &built.prediction,
        start: built.start,
    };
    let lines: Vec<usize> = (1..=load.entries.len()).collect();
    check(&ground, load, &lines, state)
}

/// As loaded on the pad.
pub fn on_pad() -> State {
    State::on_pad(&day().0.scenario)
}

/// A load checked against the day on the pad.
pub fn checked(load: &Load) -> Checked {
    checked_from(load, &on_pad())
}

/// The day's own load after a change.
pub fn changed(change: impl FnOnce(&mut Load)) -> Load {
    let mut load = day().1.load.clone();
    change(&mut load);
    load
}

/// Entries of a kind, counted from 0.
pub fn positions(load: &Load, wanted: impl Fn(Command) -> bool) -> Vec<usize> {
    (0..load.entries.len()).filter(|&index| wanted(load.entries[index].command)).collect()
}

/// Camera-ons.
pub fn ons(load: &Load) -> Vec<usize> {
    positions(load, |command| matches!(command, Command::CameraOn { .. }))
}

/// Refusals of a rule.
pub fn refusals(checked: &Checked, rule: Rule) -> Vec<&Finding> {
    checked.findings.iter().filter(|f| f.rule == rule && f.grade == Grade::Refusal).collect()
}

/// Refusals, all.
pub fn all_refusals(checked: &Checked) -> Vec<&Finding> {
    checked.findings.iter().filter(|f| f.grade == Grade::Refusal).collect()
}
