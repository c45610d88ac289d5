//! Every exchange of two like wires and every reversal, one after the other: does the round find it?

use super::round;
use crate::{
    board::Board,
    lockstep::LockstepError,
    wiring::{Reverse, Swap, Wire, Wiring},
};
use schemars::JsonSchema;
use serde::Serialize;
use stillframe::scenario::Loaded;

/// One fault of the wiring, and whether it was found.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Tried {
    /// As on the command line: `--swap A:B` or `--reverse A`.
    pub fault: String,
    /// Wires whose rows were wrong.
    pub wrong: Vec<String>,
}

impl Tried {
    /// Whether any row was wrong.
    pub fn found(&self) -> bool {
        !self.wrong.is_empty()
    }
}

/// All that can be exchanged or reversed on a vehicle with so many jets.
pub fn faults(jets: usize) -> Vec<(String, Wiring)> {
    let wires = Wire::all(jets);
    let reversals = wires.iter().filter(|wire| wire.has_sign()).map(|&wire| {
        let wiring = Wiring { reverses: vec![Reverse(wire)], ..Wiring::default() };
        (format!("--reverse {wire}"), wiring)
    });
    let pairs = wires.iter().enumerate().flat_map(|(index, &a)| wires[index + 1..].iter().map(move |&b| (a, b)));
    let swaps = pairs.filter(|(a, b)| a.like(*b)).map(|(a, b)| {
        let wiring = Wiring { swaps: vec![Swap(a, b)], ..Wiring::default() };
        (format!("--swap {a}:{b}"), wiring)
    });
    reversals.chain(swaps).collect()
}

/// Goes round with each. `progress` gets the number done, and of how many.
///
/// # Errors
/// [`LockstepError`].
pub fn every(
    board: &mut Board,
    loaded: &Loaded,
    progress: &mut dyn FnMut(u64, u64),
) -> Result<Vec<Tried>, LockstepError> {
    let faults = faults(loaded.scenario.jets.len());
    let of = faults.len() as u64;
    let mut tried = Vec::with_capacity(faults.len());
    for (number, (fault, wiring)) in (1..).zip(faults) {
        let rows = round(board, loaded, &wiring, &mut |_| {})?;
        let mut wrong: Vec<String> = rows.into_iter().filter(|row| !row.good).map(|row| row.wire).collect();
        wrong.dedup();
        tried.push(Tried { fault, wrong });
        progress(number, of);
    }
    Ok(tried)
}
