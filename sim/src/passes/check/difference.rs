//! The load on board beside the new one, line by line.

use super::{listing::utc, words::words};
use crate::world::time::Utc;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use stillframe_controller::programme::load::Load;

/// What becomes of a line.
#[derive(Clone, Copy, Debug, Deserialize, Eq, JsonSchema, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    /// In both.
    Same,
    /// Only in the load on board, and its time is still to come.
    Gone,
    /// Only in the load on board; it has been carried out before the new one takes effect.
    Done,
    /// Only in the new one.
    New,
}

impl Mark {
    /// As a column of a listing shows it.
    pub fn sign(self) -> &'static str {
        match self {
            Self::Same => " ",
            Self::Gone => "-",
            Self::Done => ".",
            Self::New => "+",
        }
    }
}

/// One line of the difference.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// What becomes of it.
    pub mark: Mark,
    /// Tick; none for the head of the load.
    pub tick: Option<u32>,
    /// UTC of the tick.
    pub utc: Option<String>,
    /// The command, or the head's key and value.
    pub text: String,
}

/// All lines of both, in order of time; a load replaces the one before it whole, so what is not in the new one is gone.
pub fn difference(old: &Load, new: &Load, arrives_tick: u32, start: Utc) -> Vec<Line> {
    let mut lines: Vec<Line> =
        head(old).into_iter().zip(head(new)).flat_map(|(was, becomes)| both(was, becomes)).collect();
    let mut at: BTreeMap<u32, (Vec<String>, Vec<String>)> = BTreeMap::new();
    for entry in &old.entries {
        at.entry(entry.tick).or_default().0.push(words(entry.command));
    }
    for entry in &new.entries {
        at.entry(entry.tick).or_default().1.push(words(entry.command));
    }
    for (tick, (was, becomes)) in at {
        let line =
            |mark, text: &String| Line { mark, tick: Some(tick), utc: Some(utc(start, tick)), text: text.clone() };
        let lost = if tick < arrives_tick { Mark::Done } else { Mark::Gone };
        lines.extend(was.iter().filter(|text| !becomes.contains(text)).map(|text| line(lost, text)));
        lines.extend(becomes.iter().map(|text| line(if was.contains(text) { Mark::Same } else { Mark::New }, text)));
    }
    lines
}

fn head(load: &Load) -> [String; 7] {
    let e = &load.ephemeris;
    [
        format!("counter {}", load.counter),
        format!("epoch {}", e.epoch_tick),
        format!("phase {}", e.phase),
        format!("rate {}", e.phase_per_tick),
        format!("decay {:e}", e.half_acceleration_rad_s2),
        format!("inclination {:?}", e.inclination_rad),
        format!("radius {:?}", e.radius_ratio2),
    ]
}

fn both(was: String, becomes: String) -> Vec<Line> {
    let line = |mark, text| Line { mark, tick: None, utc: None, text };
    if was == becomes { vec![line(Mark::Same, was)] } else { vec![line(Mark::Gone, was), line(Mark::New, becomes)] }
}
