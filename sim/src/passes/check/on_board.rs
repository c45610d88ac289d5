//! What the vehicle itself would say: the flight code's own acceptance, run on the very bytes.

use super::{
    finding::{Findings, Rule},
    rules::on_board_words,
    state::{Stage, State},
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use stillframe_controller::{
    Controller,
    programme::{
        check::{Against, FilmLeft},
        load::Load,
    },
    settings::Settings,
};

/// The vehicle's answer.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct OnBoard {
    /// It would take effect.
    pub accepted: bool,
    /// Why not: the first reason, at which the vehicle stops.
    pub reason: Option<String>,
    /// Entry named in it, counted from 1.
    pub entry: Option<usize>,
}

/// What the vehicle holds a load against at a tick: its own account, with what the ground knows of its state.
///
/// The flight code makes it, so that ground and vehicle cannot differ in what they ask; film, counter, what is in
/// force and the stage of the mission come from the ground's state.
pub fn against(settings: &Settings, state: &State, tick: u32) -> Option<Against> {
    // Settings have been through the same check when the scenario was built.
    let fresh = Controller::new(settings.clone()).ok()?.against(tick);
    let inherited = state.inherited(tick);
    let left_m = (state.film_m - f64::from(settings.film.reserve_length_m)) as f32;
    Some(Against {
        counter: state.counter,
        speed: inherited.step,
        hold: inherited.hold,
        secured: state.stage == Stage::Secured,
        ready_tick: if state.stage == Stage::Pad { fresh.ready_tick } else { 0 },
        film: FilmLeft { left_m, ..fresh.film },
        ..fresh
    })
}

/// The answer; a refusal that the ground's own rules missed is a finding of its own.
///
/// The bytes go through the flight code's decoder too.
pub fn ask(load: &Load, against: &Against, findings: &mut Findings<'_>) -> OnBoard {
    match Load::decode(&load.encode()).and_then(|load| load.check(against)) {
        Ok(()) => OnBoard { accepted: true, reason: None, entry: None },
        Err(error) => {
            let (entry, reason) = on_board_words(error);
            if !findings.refused() {
                let reason = format!("the vehicle itself would refuse it: {reason}");
                findings.refuse(
                    Rule::OnBoard,
                    entry,
                    reason,
                    "The ground's rules missed this; the vehicle's word stands.",
                );
            }
            OnBoard { accepted: false, reason: Some(reason.to_owned()), entry: entry.map(|index| index + 1) }
        }
    }
}
