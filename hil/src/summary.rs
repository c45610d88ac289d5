//! What a bench run came to: `bench.json`, with a published schema.

use crate::{
    board::{Board, Counts},
    compare::Difference,
    cost::{CostNumbers, Costs, Spread, SpreadNumbers},
    lockstep::Found,
    log::LogEntry,
};
use schemars::JsonSchema;
use serde::Serialize;
use std::time::Duration;
use stillframe_controller::io::TICKS_PER_S;
use stillframe_wire::Stats;

/// Number of this format; rises when a field changes its meaning or goes.
pub const FORMAT: u32 = 1;

/// What a lockstep run or a replay came to.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct BenchSummary {
    /// Number of this format: 1.
    pub format: u32,
    /// `lockstep` or `replay`.
    pub command: String,
    /// Where the board was, as written on the command line.
    pub board: String,
    /// Name of the scenario, or the file that was replayed.
    pub scenario: String,
    /// Seed of all random draws; none for a replay.
    pub seed: Option<u64>,
    /// Base ticks compared.
    pub ticks: u64,
    /// Whether desk and board asked for the same in all of them, bit for bit.
    pub equal: bool,
    /// The first difference, if there was one.
    pub first_difference: Option<DifferenceAt>,
    /// Wall-clock time of the loop, s.
    pub wall_s: f64,
    /// Exchanges in a second of wall-clock time.
    pub exchanges_per_s: f64,
    /// Time from a question to its answer, µs.
    pub latency_us: Option<SpreadNumbers>,
    /// What the line did.
    pub line: Counts,
    /// Cost of the controller's step on the board, by rate group.
    pub step_cost: CostNumbers,
    /// The board's own counters at the end.
    pub board_stats: Option<BoardStats>,
    /// What the board logged.
    pub log: Vec<LogEntry>,
}

/// What was run, and where.
#[derive(Clone, Debug)]
pub struct What {
    /// `lockstep` or `replay`.
    pub command: &'static str,
    /// Where the board was.
    pub board: String,
    /// Scenario or file.
    pub scenario: String,
    /// Seed.
    pub seed: Option<u64>,
}

/// What was measured while it ran.
#[derive(Debug)]
pub struct Measured<'a> {
    /// Base ticks compared.
    pub ticks: u64,
    /// The first difference.
    pub found: Option<&'a Found>,
    /// Wall-clock time.
    pub wall: Duration,
    /// Time from question to answer, ns.
    pub latency_ns: &'a Spread,
    /// Step costs.
    pub costs: &'a Costs,
}

impl BenchSummary {
    /// Puts together what was run and measured; with a board, what that and its line did.
    pub fn new(what: What, measured: &Measured<'_>, board: Option<(&Board, Stats)>) -> Self {
        let wall_s = measured.wall.as_secs_f64();
        Self {
            format: FORMAT,
            command: what.command.into(),
            board: what.board,
            scenario: what.scenario,
            seed: what.seed,
            ticks: measured.ticks,
            equal: measured.found.is_none(),
            first_difference: measured.found.map(|found| DifferenceAt {
                tick: found.tick,
                time_s: f64::from(found.tick) / f64::from(TICKS_PER_S),
                difference: found.difference.clone(),
            }),
            wall_s,
            exchanges_per_s: measured.ticks as f64 / wall_s,
            latency_us: measured.latency_ns.numbers(1e-3),
            line: board.map(|(board, _)| board.counts).unwrap_or_default(),
            step_cost: measured.costs.numbers(board.map_or("", |(board, _)| board.cost_unit)),
            board_stats: board.map(|(_, stats)| stats.into()),
            log: Vec::new(),
        }
    }
}

/// A difference and when it was.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct DifferenceAt {
    /// On-board tick.
    pub tick: u32,
    /// Time since the start, s.
    pub time_s: f64,
    /// Field and values.
    #[serde(flatten)]
    pub difference: Difference,
}

/// Counters of a board since its reset.
#[derive(Clone, Copy, Debug, Serialize, JsonSchema)]
pub struct BoardStats {
    /// Steps taken.
    pub steps: u32,
    /// Frames that were no message.
    pub bad_frames: u32,
    /// Bytes lost because the receive ring was full.
    pub lost_bytes: u32,
    /// Deepest use of the stack, bytes; 0: not measured.
    pub stack_used: u32,
    /// Size of the stack, bytes; 0: not measured.
    pub stack_size: u32,
    /// Times that outputs went safe because the link fell silent.
    pub link_losses: u32,
    /// Cause of the last reset, as the processor's register gives it.
    pub reset_flags: u32,
}

impl From<Stats> for BoardStats {
    fn from(stats: Stats) -> Self {
        let Stats { steps, bad_frames, lost_bytes, stack_used, stack_size, link_losses, reset_flags } = stats;
        Self { steps, bad_frames, lost_bytes, stack_used, stack_size, link_losses, reset_flags }
    }
}

/// The schema of `bench.json`.
pub fn schema() -> serde_json::Value {
    schemars::schema_for!(BenchSummary).to_value()
}
