//! A recorded stream of sensors, fed again to the desk's controller or to a board: the same must come out.

use crate::{
    board::{Board, BoardError},
    compare::first_difference,
    cost::{Costs, Spread},
    lockstep::Found,
    stream::{Reader, StreamError, Tick},
};
use std::time::{Duration, Instant};
use stillframe_controller::{Controller, io::Actuators, settings::SettingsError, telemetry::Telemetry};
use stillframe_wire::server::fresh_telemetry;
use thiserror::Error;

/// Why a replay ended early.
#[derive(Debug, Error)]
pub enum ReplayError {
    /// The stream.
    #[error(transparent)]
    Stream(#[from] StreamError),
    /// The board.
    #[error(transparent)]
    Board(#[from] BoardError),
    /// The desk's controller refused the recorded settings.
    #[error(
        "the controller refused the recorded settings ({0:?}): the stream is of another version of the flight code"
    )]
    Settings(SettingsError),
    /// The desk's controller refused the recorded load.
    #[error("the controller refused the recorded load: the stream is of another version of the flight code")]
    Load,
}

/// What a replay came to.
#[derive(Debug)]
pub struct Outcome {
    /// Ticks compared.
    pub ticks: u64,
    /// The first difference, if there was one: it ends the replay.
    pub found: Option<Found>,
    /// Step costs on the board.
    pub costs: Costs,
    /// Time from a question to its answer, ns.
    pub latency_ns: Spread,
    /// Wall-clock time.
    pub wall: Duration,
}

/// Feeds the stream to `board`, or to the desk's controller if there is none. `progress` gets the ticks done.
///
/// # Errors
/// [`ReplayError`].
pub fn replay(
    mut stream: Reader,
    board: Option<&mut Board>,
    progress: &mut dyn FnMut(u64),
) -> Result<Outcome, ReplayError> {
    let mut player = match board {
        Some(board) => {
            board.begin(&stream.settings, &stream.load)?;
            Player::Board(board)
        }
        None => Player::Desk(Box::new(desk(&stream)?)),
    };
    let (mut costs, mut latency_ns) = (Costs::default(), Spread::default());
    let (mut ticks, mut found) = (0, None);
    let began = Instant::now();
    while let Some(tick) = stream.tick()? {
        let asked = Instant::now();
        let (actuators, telemetry) = player.step(&tick, ticks, &mut costs)?;
        latency_ns.add(asked.elapsed().as_nanos() as u64);
        ticks += 1;
        progress(ticks);
        let difference = first_difference("actuators", &tick.actuators, &actuators)
            .or_else(|| first_difference("telemetry", &tick.telemetry, &telemetry));
        if let Some(difference) = difference {
            found = Some(Found { tick: tick.sensors.tick, difference });
            break;
        }
    }
    Ok(Outcome { ticks, found, costs, latency_ns, wall: began.elapsed() })
}

fn desk(stream: &Reader) -> Result<Controller, ReplayError> {
    let mut desk = Controller::new(stream.settings.clone()).map_err(ReplayError::Settings)?;
    if !stream.load.is_empty() {
        desk.load(&stream.load, 0).map_err(|_| ReplayError::Load)?;
    }
    Ok(desk)
}

enum Player<'a> {
    Desk(Box<Controller>),
    Board(&'a mut Board),
}

impl Player<'_> {
    fn step(
        &mut self,
        tick: &Tick,
        number: u64,
        costs: &mut Costs,
    ) -> Result<(Actuators, Option<Telemetry>), BoardError> {
        match self {
            Self::Desk(desk) => {
                let actuators = desk.step(&tick.sensors);
                Ok((actuators, fresh_telemetry(desk, &tick.sensors)))
            }
            Self::Board(board) => {
                let answer = board.step(&tick.sensors)?;
                costs.add(number as u32, answer.cost);
                Ok((answer.actuators, answer.telemetry))
            }
        }
    }
}
