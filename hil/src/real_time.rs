//! Keeping the wall clock's pace: a step goes out at each base tick's time, and its answer is used if it has come by
//! the next.

use crate::{
    board::{Board, BoardError, Counts},
    compare::first_difference,
    cost::{Spread, SpreadNumbers},
    lockstep::LockstepError,
};
use schemars::JsonSchema;
use serde::Serialize;
use std::{
    collections::BTreeMap,
    thread::sleep,
    time::{Duration, Instant},
};
use stillframe::{
    flight::{FlightError, build::build, closed_loop::ClosedLoop, link::Link},
    plant::faults::FaultSchedule,
    scenario::Loaded,
};
use stillframe_controller::io::{Actuators, Edges, TICK_US, TICKS_PER_S};

/// What a run in real time came to.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct RealTime {
    /// Base ticks flown.
    pub ticks: u64,
    /// Base ticks in a second of wall-clock time.
    pub rate_hz: f64,
    /// Answers that came before the next tick.
    pub in_time: u64,
    /// Answers that came later: the vehicle went without new commands for a tick.
    pub missed: u64,
    /// Most of them in a row.
    pub missed_in_a_row: u64,
    /// Answers that never came.
    pub lost: u64,
    /// Answers, in time or late, that were not the desk's to the bit.
    pub different: u64,
    /// Time from a step's going out to its answer, µs.
    pub latency_us: Option<SpreadNumbers>,
    /// Counts of latencies up to each edge, µs.
    pub latency_bins_us: Vec<(f64, u64)>,
    /// By how much the bench itself was late to send, µs.
    pub lateness_us: Option<SpreadNumbers>,
    /// Counts of latenesses up to each edge, µs.
    pub lateness_bins_us: Vec<(f64, u64)>,
    /// Times that the board's outputs went safe for want of steps.
    pub link_losses: u32,
    /// The line's counts.
    pub line: Counts,
}

/// Flies `loaded` for `seconds`. `progress` gets the ticks done.
///
/// # Errors
/// [`LockstepError`].
pub fn fly(
    board: &mut Board,
    loaded: &Loaded,
    seconds: u64,
    progress: &mut dyn FnMut(u64),
) -> Result<RealTime, LockstepError> {
    let built = build(loaded, loaded.scenario.run.seed)?;
    let at = |tick| move |error: BoardError| LockstepError::Board { tick, error };
    board.begin(&built.settings, &built.load.encode()).map_err(at(0))?;
    let losses_before = board.stats().map_err(at(0))?.link_losses;
    let link = Link::new(&loaded.scenario, loaded.scenario.run.seed, &built.load);
    let flight = ClosedLoop::new(built.plant, built.controller, link, FaultSchedule::new(&loaded.scenario));
    let mut run = Run::new(board, flight);
    let ticks = seconds * u64::from(TICKS_PER_S);
    let began = Instant::now();
    for tick in 0..ticks {
        let due = began + Duration::from_micros(u64::from(TICK_US)) * tick as u32;
        sleep(due.saturating_duration_since(Instant::now()));
        run.lateness_ns.add(due.elapsed().as_nanos() as u64);
        run.tick(due + Duration::from_micros(u64::from(TICK_US))).map_err(at(tick))?.map_err(FlightError::Plant)?;
        progress(tick);
    }
    let wall = began.elapsed();
    run.last_answers().map_err(at(ticks))?;
    let (mut result, board) = run.result(ticks, wall);
    result.link_losses = board.stats().map_err(at(ticks))?.link_losses - losses_before;
    result.line = board.counts;
    Ok(result)
}

struct Run<'a> {
    board: &'a mut Board,
    flight: ClosedLoop,
    /// Steps without an answer: when they went out and what the desk made of them.
    open: BTreeMap<u32, (Instant, Actuators)>,
    latency_ns: Spread,
    lateness_ns: Spread,
    in_time: u64,
    missed: u64,
    row: u64,
    longest_row: u64,
    different: u64,
}

impl<'a> Run<'a> {
    fn new(board: &'a mut Board, flight: ClosedLoop) -> Self {
        Self {
            board,
            flight,
            open: BTreeMap::new(),
            latency_ns: Spread::default(),
            lateness_ns: Spread::default(),
            in_time: 0,
            missed: 0,
            row: 0,
            longest_row: 0,
            different: 0,
        }
    }

    fn tick(&mut self, until: Instant) -> Result<Result<(), stillframe::plant::PlantError>, BoardError> {
        let sensors = self.flight.sense();
        let desk = self.flight.controller.step(&sensors);
        let sequence = self.board.post(&sensors)?;
        self.open.insert(sequence, (Instant::now(), desk));
        let mut mine = None;
        while mine.is_none() {
            let Some((answered, answer)) = self.board.hear(until)? else { break };
            self.take(answered, &answer.actuators);
            if answered == sequence {
                mine = Some(answer.actuators);
            }
        }
        if mine.is_some() {
            self.in_time += 1;
            self.row = 0;
        } else {
            self.missed += 1;
            self.row += 1;
            self.longest_row = self.longest_row.max(self.row);
        }
        // Without new commands valves and shutter stay as they are and motors run on.
        let held = || Actuators { jets: Default::default(), shutter: Edges::NONE, ..self.flight.pending().clone() };
        let commanded = mine.unwrap_or_else(held);
        Ok(self.flight.act(&sensors, commanded, &[], &mut |_, _| ()).map(|_| ()))
    }

    fn take(&mut self, sequence: u32, actuators: &Actuators) {
        if let Some((sent, desk)) = self.open.remove(&sequence) {
            self.latency_ns.add(sent.elapsed().as_nanos() as u64);
            self.different += u64::from(first_difference("actuators", &desk, actuators).is_some());
        }
    }

    fn last_answers(&mut self) -> Result<(), BoardError> {
        let until = Instant::now() + Duration::from_secs(1);
        while !self.open.is_empty() {
            let Some((sequence, answer)) = self.board.hear(until)? else { break };
            self.take(sequence, &answer.actuators);
        }
        Ok(())
    }

    fn result(self, ticks: u64, wall: Duration) -> (RealTime, &'a mut Board) {
        let result = RealTime {
            ticks,
            rate_hz: ticks as f64 / wall.as_secs_f64(),
            in_time: self.in_time,
            missed: self.missed,
            missed_in_a_row: self.longest_row,
            lost: self.open.len() as u64,
            different: self.different,
            latency_us: self.latency_ns.numbers(1e-3),
            latency_bins_us: self.latency_ns.bins(1e-3),
            lateness_us: self.lateness_ns.numbers(1e-3),
            lateness_bins_us: self.lateness_ns.bins(1e-3),
            link_losses: 0,
            line: Counts::default(),
        };
        (result, self.board)
    }
}
