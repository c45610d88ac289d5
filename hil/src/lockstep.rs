//! Lockstep: the plant waits for the board in every tick, and the desk's own controller, fed with the same sensors,
//! must have asked for the same to the last bit.

use crate::{
    board::{Board, BoardError, Counts},
    compare::{Difference, first_difference},
    cost::{Costs, Spread},
    log::LogEntry,
    stream::{StreamError, Writer},
    wiring::Wiring,
};
use serde::Serialize;
use std::{
    collections::VecDeque,
    path::PathBuf,
    time::{Duration, Instant},
};
use stillframe::{
    flight::{
        self, FlightError, Flown, Options,
        build::{BuildError, build},
        pilot::{Pilot, PilotGone},
    },
    record::{Event, EventKind},
    scenario::{Loaded, parts::run::LoadBy},
};
use stillframe_controller::{
    Controller,
    io::{Actuators, Sensors},
    telemetry::Telemetry,
};
use stillframe_wire::server::fresh_telemetry;
use thiserror::Error;

/// Why a lockstep run could not be made or ended early. That board and desk differ is no error but a result.
#[derive(Debug, Error)]
pub enum LockstepError {
    /// The scenario cannot be flown.
    #[error(transparent)]
    Build(#[from] BuildError),
    /// The flight broke off.
    #[error(transparent)]
    Flight(#[from] FlightError),
    /// The board broke off.
    #[error("tick {tick}: {error}")]
    Board {
        /// Tick under way.
        tick: u64,
        /// What happened.
        error: BoardError,
    },
    /// The stream of sensors could not be written.
    #[error(transparent)]
    Stream(#[from] StreamError),
}

/// How a lockstep run is to be made.
#[derive(Clone, Debug)]
pub struct Order {
    /// How the flight is flown and recorded.
    pub options: Options,
    /// Ticks kept before a difference, and flown on after it.
    pub around: usize,
    /// Wires that are not as drawn.
    pub wiring: Wiring,
    /// File for the stream of sensors and answers, for replays.
    pub stream: Option<PathBuf>,
}

/// One tick around a difference.
#[derive(Clone, Debug, Serialize)]
pub struct TickRecord {
    /// Tick.
    pub tick: u32,
    /// What the sensors said.
    pub sensors: Sensors,
    /// What the desk asked for.
    pub desk: Actuators,
    /// What the board asked for.
    pub board: Actuators,
    /// The desk's snapshot, if it made one.
    pub desk_telemetry: Option<Telemetry>,
    /// The board's snapshot, if it sent one.
    pub board_telemetry: Option<Telemetry>,
}

/// The first difference, and where.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// On-board tick.
    pub tick: u32,
    /// Field and values.
    pub difference: Difference,
}

/// What a lockstep run came to.
#[derive(Debug)]
pub struct Outcome {
    /// Ticks compared.
    pub ticks: u64,
    /// The first difference, if there was one.
    pub found: Option<Found>,
    /// Ticks around it.
    pub around: Vec<TickRecord>,
    /// The flight, if it was flown to its end.
    pub flown: Option<Flown>,
    /// What the board logged.
    pub log: Vec<LogEntry>,
    /// Step costs.
    pub costs: Costs,
    /// Time from a question to its answer, ns.
    pub latency_ns: Spread,
    /// Wall-clock time of the loop.
    pub wall: Duration,
}

/// Flies `loaded` with the board in the loop. `progress` gets the ticks done and the line's counts after each.
///
/// # Errors
/// [`LockstepError`].
pub fn fly(
    board: &mut Board,
    loaded: &Loaded,
    order: &Order,
    progress: &mut dyn FnMut(u64, &Counts),
) -> Result<Outcome, LockstepError> {
    let built = build(loaded, order.options.seed)?;
    let load = if loaded.scenario.run.load_by == LoadBy::Pad { built.load.encode().to_vec() } else { Vec::new() };
    let failed = |error| LockstepError::Board { tick: 0, error };
    board.begin(&built.settings, &load).map_err(failed)?;
    let steps_before = u64::from(board.stats().map_err(failed)?.steps);
    let stream = order.stream.as_deref().map(|path| Writer::create(path, &built.settings, &load)).transpose()?;
    let mut pilot = Hands {
        board,
        stream,
        progress,
        wiring: &order.wiring,
        around: order.around,
        kept: VecDeque::new(),
        left: None,
        found: None,
        failure: None,
        ticks: 0,
        steps_before,
        log: Vec::new(),
        costs: Costs::default(),
        latency_ns: Spread::default(),
    };
    let began = Instant::now();
    let flown = flight::fly_with(&mut pilot, loaded, built, &order.options, &mut |_| {});
    let wall = began.elapsed();
    pilot.finish(flown, wall)
}

/// The board's hands on the controls, watched by the desk.
struct Hands<'a> {
    board: &'a mut Board,
    stream: Option<Writer>,
    progress: &'a mut dyn FnMut(u64, &Counts),
    wiring: &'a Wiring,
    around: usize,
    kept: VecDeque<TickRecord>,
    /// Ticks still to be flown after a difference.
    left: Option<usize>,
    found: Option<Found>,
    failure: Option<LockstepError>,
    ticks: u64,
    /// Steps that the board had taken before.
    steps_before: u64,
    log: Vec<LogEntry>,
    costs: Costs,
    latency_ns: Spread,
}

impl Pilot for Hands<'_> {
    fn step(&mut self, desk: &mut Controller, sensors: &Sensors) -> Result<Actuators, PilotGone> {
        let asked = Instant::now();
        let answer = self.board.step(&self.wiring.sensors(sensors)).map_err(|error| self.gone(error))?;
        self.latency_ns.add(asked.elapsed().as_nanos() as u64);
        self.costs.add(self.ticks as u32, answer.cost);
        let board = self.wiring.actuators(answer.actuators);
        let record = TickRecord {
            tick: sensors.tick,
            desk: desk.step(sensors),
            desk_telemetry: fresh_telemetry(desk, sensors),
            board_telemetry: answer.telemetry,
            sensors: sensors.clone(),
            board,
        };
        self.write(&record)?;
        self.compare(record)
    }

    fn events(&mut self) -> Vec<Event> {
        let lines = self.board.log_lines();
        let new: Vec<LogEntry> = lines.into_iter().map(|line| line.at(self.steps_before)).collect();
        let event = |entry: &LogEntry| {
            Event::new(entry.time_s, EventKind::BoardLog, format!("{}: {}", entry.level, entry.text))
        };
        let events = new.iter().map(event).collect();
        self.log.extend(new);
        events
    }
}

impl Hands<'_> {
    fn gone(&mut self, error: BoardError) -> PilotGone {
        let text = error.to_string();
        self.failure = Some(LockstepError::Board { tick: self.ticks, error });
        PilotGone(text)
    }

    fn write(&mut self, record: &TickRecord) -> Result<(), PilotGone> {
        let Some(stream) = &mut self.stream else { return Ok(()) };
        let written = stream.tick(&record.sensors, &record.desk, record.desk_telemetry.as_ref());
        written.map_err(|error| {
            let text = error.to_string();
            self.failure = Some(error.into());
            PilotGone(text)
        })
    }

    /// Keeps the tick, and breaks off when enough has been flown after a difference.
    fn compare(&mut self, record: TickRecord) -> Result<Actuators, PilotGone> {
        if self.found.is_none() {
            let difference = first_difference("actuators", &record.desk, &record.board)
                .or_else(|| first_difference("telemetry", &record.desk_telemetry, &record.board_telemetry));
            if let Some(difference) = difference {
                self.found = Some(Found { tick: record.tick, difference });
                self.left = Some(self.around);
            } else if self.kept.len() >= self.around.max(1) {
                self.kept.pop_front();
            }
        }
        self.ticks += 1;
        (self.progress)(self.ticks, &self.board.counts);
        let next = record.board.clone();
        if self.around > 0 {
            self.kept.push_back(record);
        }
        match &mut self.left {
            Some(0) => Err(PilotGone("board and desk differ".into())),
            Some(left) => {
                *left -= 1;
                Ok(next)
            }
            None => Ok(next),
        }
    }

    fn finish(self, flown: Result<Flown, FlightError>, wall: Duration) -> Result<Outcome, LockstepError> {
        if let Some(stream) = self.stream {
            stream.finish()?;
        }
        if let Some(failure) = self.failure {
            return Err(failure);
        }
        let flown = match flown {
            Ok(flown) => Some(flown),
            Err(FlightError::Pilot(_)) if self.found.is_some() => None,
            Err(error) => return Err(error.into()),
        };
        let around = if self.found.is_some() { self.kept.into() } else { Vec::new() };
        Ok(Outcome {
            ticks: self.ticks,
            found: self.found,
            around,
            flown,
            log: self.log,
            costs: self.costs,
            latency_ns: self.latency_ns,
            wall,
        })
    }
}
