//! What the vehicle itself would say: the flight code's own acceptance, run on the very bytes.

use super::{
    finding::{Findings, Rule},
    rules::on_board_words,
    state::State,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use stillframe_controller::{
    Controller,
    programme::load::{Load, LoadError},
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

/// Hands a load to the flight code, with the load in force before it.
///
/// # Errors
/// The flight code's reason.
pub fn hand_over(settings: &Settings, state: &State, load: &Load, tick: u32) -> Result<(), LoadError> {
    // Settings have been through the same check when the scenario was built.
    let Ok(mut controller) = Controller::new(settings.clone()) else { return Err(LoadError::Packet) };
    if let Some(counter) = state.counter {
        // Only its counter matters to the next one.
        let before = Load { counter, entries: heapless::Vec::new(), ..load.clone() };
        controller.load(&before.encode(), 0)?;
    }
    controller.load(&load.encode(), tick)
}

/// The answer; a refusal that the ground's own rules missed is a finding of its own.
pub fn ask(settings: &Settings, state: &State, load: &Load, tick: u32, findings: &mut Findings<'_>) -> OnBoard {
    match hand_over(settings, state, load, tick) {
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
