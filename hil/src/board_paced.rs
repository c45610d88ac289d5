//! The board's own timer makes the ticks: each brings an answer, and the bench has until the next to move the plant and
//! send what its sensors say.
//!
//! A step that comes too late is bridged by the board with the sensors of before ([`stillframe_wire::pace`]). The desk's
//! controller is stepped with what the board must have used, so that answers are compared to the bit all the same.

use crate::{
    board::{Answer, Board, BoardError},
    compare::first_difference,
    cost::{Spread, SpreadNumbers},
    lockstep::LockstepError,
};
use schemars::JsonSchema;
use serde::Serialize;
use std::{
    collections::BTreeMap,
    time::{Duration, Instant},
};
use stillframe::{
    flight::{FlightError, build::build, closed_loop::ClosedLoop, link::Link},
    plant::{PlantError, faults::FaultSchedule},
    scenario::Loaded,
};
use stillframe_controller::io::{Actuators, Sensors, TICK_US};

/// Wait for an answer after which a tick is taken to have gone by without one.
const PATIENCE: Duration = Duration::from_micros(TICK_US as u64 * 2);

/// What a run at the board's pace came to.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct BoardPaced {
    /// Ticks flown.
    pub ticks: u64,
    /// Ticks in a second of wall-clock time.
    pub rate_hz: f64,
    /// Ticks in which the board went on with the sensors of before.
    pub held: u64,
    /// Most of them in a row.
    pub held_in_a_row: u64,
    /// Ticks for which no answer came: outputs were safe.
    pub without_answer: u64,
    /// Answers compared with the desk's: all until a first tick without an answer, after which the desk no longer knows
    /// how far the board's clock has gone.
    pub compared: u64,
    /// Of them, those that were not the desk's to the bit.
    pub different: u64,
    /// Times that the board's outputs went safe for want of steps.
    pub link_losses: u32,
    /// Attitude mode at the end.
    pub mode: String,
    /// Time from answer to answer, µs.
    pub interval_us: Option<SpreadNumbers>,
    /// Counts of them up to each edge, µs.
    pub interval_bins_us: Vec<(f64, u64)>,
    /// The bench's own time from an answer to the next step, µs.
    pub turnaround_us: Option<SpreadNumbers>,
    /// Counts of them up to each edge, µs.
    pub turnaround_bins_us: Vec<(f64, u64)>,
}

/// Flies `loaded` for so many ticks of the board; half way, `withhold` steps in a row are not sent. `progress` gets the
/// ticks done.
///
/// # Errors
/// [`LockstepError`].
pub fn fly(
    board: &mut Board,
    loaded: &Loaded,
    ticks: u64,
    withhold: u32,
    progress: &mut dyn FnMut(u64),
) -> Result<BoardPaced, LockstepError> {
    let at = |tick| move |error: BoardError| LockstepError::Board { tick, error };
    let built = build(loaded, loaded.scenario.run.seed)?;
    board.begin(&built.settings, &built.load.encode()).map_err(at(0))?;
    let losses_before = board.stats().map_err(at(0))?.link_losses;
    board.pace().map_err(at(0))?;
    let link = Link::new(&loaded.scenario, loaded.scenario.run.seed, &built.load);
    let flight = ClosedLoop::new(built.plant, built.controller, link, FaultSchedule::new(&loaded.scenario));
    let mut run = Run::new(flight);
    let silence = ticks / 2..ticks / 2 + u64::from(withhold);
    let began = Instant::now();
    run.send(board).map_err(at(0))?;
    for tick in 0..ticks {
        let heard = board.hear(Instant::now() + PATIENCE).map_err(at(tick))?;
        run.take(heard).map_err(FlightError::Plant)?;
        if !silence.contains(&tick) {
            run.send(board).map_err(at(tick))?;
        }
        progress(tick);
    }
    let wall = began.elapsed();
    let mut result = run.result(ticks, wall);
    result.link_losses = board.stats().map_err(at(ticks))?.link_losses - losses_before;
    Ok(result)
}

struct Run {
    flight: ClosedLoop,
    /// What the plant's sensors say now.
    now: Sensors,
    /// Steps sent, by number.
    sent: BTreeMap<u32, Sensors>,
    answered: Option<u32>,
    /// The board's own count of ticks.
    board_tick: Option<u32>,
    heard_at: Option<Instant>,
    interval_ns: Spread,
    turnaround_ns: Spread,
    held: u64,
    row: u64,
    longest_row: u64,
    without_answer: u64,
    compared: u64,
    different: u64,
}

impl Run {
    fn new(mut flight: ClosedLoop) -> Self {
        let now = flight.sense();
        Self {
            flight,
            now,
            sent: BTreeMap::new(),
            answered: None,
            board_tick: None,
            heard_at: None,
            interval_ns: Spread::default(),
            turnaround_ns: Spread::default(),
            held: 0,
            row: 0,
            longest_row: 0,
            without_answer: 0,
            compared: 0,
            different: 0,
        }
    }

    fn send(&mut self, board: &mut Board) -> Result<(), BoardError> {
        let sequence = board.post(&self.now)?;
        self.sent.insert(sequence, self.now.clone());
        if let Some(heard_at) = self.heard_at {
            self.turnaround_ns.add(heard_at.elapsed().as_nanos() as u64);
        }
        Ok(())
    }

    /// A tick of the board: its answer, or none because its outputs are safe.
    fn take(&mut self, heard: Option<(u32, Answer)>) -> Result<(), PlantError> {
        let commanded = match heard {
            Some((sequence, answer)) => {
                self.note_time();
                self.compare(sequence, &answer.actuators);
                answer.actuators
            }
            None => {
                self.without_answer += 1;
                self.heard_at = None;
                Actuators::SAFE
            }
        };
        let sensors = self.now.clone();
        self.flight.act(&sensors, commanded, &[], &mut |_, _| ())?;
        self.now = self.flight.sense();
        Ok(())
    }

    fn note_time(&mut self) {
        let now = Instant::now();
        if let Some(before) = self.heard_at.replace(now) {
            self.interval_ns.add((now - before).as_nanos() as u64);
        }
    }

    /// Steps the desk with what the board must have used.
    fn compare(&mut self, sequence: u32, board: &Actuators) {
        let held = self.answered == Some(sequence);
        self.answered = Some(sequence);
        self.row = if held { self.row + 1 } else { 0 };
        self.held += u64::from(held);
        self.longest_row = self.longest_row.max(self.row);
        let Some(mut sensors) = self.sent.get(&sequence).cloned() else { return };
        self.sent = self.sent.split_off(&sequence);
        if held {
            sensors.uplink.clear();
        }
        sensors.tick = self.board_tick.map_or(sensors.tick, |tick| tick.wrapping_add(1));
        self.board_tick = Some(sensors.tick);
        let desk = self.flight.controller.step(&sensors);
        if self.without_answer == 0 {
            self.compared += 1;
            self.different += u64::from(first_difference("actuators", &desk, board).is_some());
        }
    }

    fn result(self, ticks: u64, wall: Duration) -> BoardPaced {
        BoardPaced {
            ticks,
            rate_hz: ticks as f64 / wall.as_secs_f64(),
            held: self.held,
            held_in_a_row: self.longest_row,
            without_answer: self.without_answer,
            compared: self.compared,
            different: self.different,
            link_losses: 0,
            mode: format!("{:?}", self.flight.controller.mode()),
            interval_us: self.interval_ns.numbers(1e-3),
            interval_bins_us: self.interval_ns.bins(1e-3),
            turnaround_us: self.turnaround_ns.numbers(1e-3),
            turnaround_bins_us: self.turnaround_ns.bins(1e-3),
        }
    }
}
