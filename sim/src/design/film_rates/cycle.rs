//! The framing camera's cycle: what each phase takes, and the overlap that is really reached.

use super::drive::Run;
use crate::plant::TICK_S;
use stillframe_controller::exposure::Phase;

/// What one run's cycles came to.
#[derive(Clone, Copy, Debug)]
pub struct Cycle {
    /// Image speed, m/s.
    pub required_m_s: f64,
    /// Time of each phase, mean, s: advance, clamp, settle, platen run, expose, release, wait for the pace.
    pub phases_s: [f64; 7],
    /// Time from exposure to exposure asked for, s.
    pub asked_s: f64,
    /// Shortest and longest reached, s.
    pub reached_s: (f64, f64),
    /// Forward overlap wanted.
    pub wanted: f64,
    /// Least and most reached.
    pub overlap: (f64, f64),
    /// The most that the cycle without waiting would allow.
    pub most: f64,
    /// Pictures later than their pace.
    pub late: u16,
}

/// Phases of a cycle, in order.
pub const PHASES: [&str; 7] = ["advance", "clamp", "settle", "platen run", "expose", "release", "wait"];

const KINDS: [Phase; 7] = [
    Phase::Advancing,
    Phase::Clamping,
    Phase::Settling,
    Phase::PlatenRun,
    Phase::Exposing,
    Phase::Releasing,
    Phase::Pacing,
];

/// Measures a run of a framing camera; none with fewer than two frames.
pub fn cycle(run: &Run, required_m_s: f64, asked_s: f64, wanted: f64, format_m: f64) -> Option<Cycle> {
    let began: Vec<u32> = run.frames.iter().map(|frame| frame.began_tick).collect();
    let (first, last) = (*began.first()?, *began.last()?);
    let intervals: Vec<f64> = began.windows(2).map(|pair| f64::from(pair[1] - pair[0]) * TICK_S).collect();
    if intervals.is_empty() {
        return None;
    }
    // Only whole cycles, from the first exposure to the last.
    let inside = |at_s: f64| at_s > f64::from(first) * TICK_S && at_s <= f64::from(last) * TICK_S;
    let mut phases_s = [0.0; 7];
    for tick in run.ticks.iter().filter(|tick| inside(tick.on_board_s)) {
        if let Some(k) = KINDS.iter().position(|kind| *kind == tick.phase) {
            phases_s[k] += TICK_S / intervals.len() as f64;
        }
    }
    let shortest = intervals.iter().copied().fold(f64::INFINITY, f64::min);
    let longest = intervals.iter().copied().fold(0.0, f64::max);
    let overlap = |interval_s: f64| 1.0 - required_m_s * interval_s / format_m;
    let busy_s: f64 = phases_s[..6].iter().sum();
    Some(Cycle {
        required_m_s,
        phases_s,
        asked_s,
        reached_s: (shortest, longest),
        wanted,
        overlap: (overlap(longest), overlap(shortest)),
        most: overlap(busy_s),
        late: run.late,
    })
}
