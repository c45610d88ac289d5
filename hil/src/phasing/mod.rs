//! Phasing: each simulated sensor is moved one way, alone, and the right valve, motor or shutter must answer with the
//! right sign, through every wire between plant and board.
//!
//! What is right follows from the drawing, not from the flight code: a rate is met by jets whose torque (place × push)
//! opposes it, a loop that fills makes its reel give less or take more, film that lags makes its roller pull harder.
//!
//! - [`attitude`]: gyros, horizon sensor, separation sense, tank; jets and latches;
//! - [`framing`]: a framing camera's clamp, brakes, platen and shutter;
//! - [`film`]: encoders, arms, current, shutter light; motors, brakes, shutter;
//! - [`pins`]: what stands on the board's output lines, where it has some;
//! - [`every`]: every exchange and reversal of wires, one after the other;
//! - this file: what they share, and the whole round.

pub mod attitude;
pub mod every;
pub mod film;
pub mod framing;
pub mod pins;

use crate::{
    board::{Board, BoardError},
    lockstep::LockstepError,
    wiring::Wiring,
};
use pins::{Pins, as_pins_have_it};
use schemars::JsonSchema;
use serde::Serialize;
use stillframe::{
    flight::{FlightError, build::build, closed_loop::ClosedLoop, link::Link},
    plant::faults::FaultSchedule,
    scenario::{Loaded, parts::camera::CameraKind},
};
use stillframe_controller::{
    io::{Actuators, MAX_JETS, Sensors},
    settings::Settings,
    telemetry::Telemetry,
};

/// One line of the table.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Row {
    /// Wire that was moved.
    pub wire: String,
    /// How.
    pub moved: String,
    /// What must answer.
    pub wanted: String,
    /// What answered.
    pub seen: String,
    /// Whether it was right.
    pub good: bool,
}

impl Row {
    fn new(wire: &str, moved: &str, wanted: &str, seen: String, good: bool) -> Self {
        Self { wire: wire.into(), moved: moved.into(), wanted: wanted.into(), seen, good }
    }
}

/// What a board asked for in a tick, as it arrives at the vehicle.
#[derive(Clone, Debug)]
pub struct Seen {
    /// Actuators.
    pub actuators: Actuators,
    /// Snapshot, if there was one.
    pub telemetry: Option<Telemetry>,
}

/// The board between its wires.
pub struct Rig<'a> {
    board: &'a mut Board,
    /// Where the board has output lines: what is on them counts, not what the board says.
    pins: Option<Pins>,
    wiring: &'a Wiring,
    settings: Settings,
    /// The same, with short pulses and rests that are longer than the watch over their effect: pulses that bring nothing
    /// are then seen one by one, and not taken for a valve that hangs open.
    resting: Settings,
    load: Vec<u8>,
    /// What the sensors say in an undisturbed flight, and what the desk makes of it.
    flight: Vec<(Sensors, Actuators, Option<Telemetry>)>,
    progress: &'a mut dyn FnMut(u64),
    played: u64,
    /// Wires to go round; empty: all.
    only: &'a [String],
}

impl Rig<'_> {
    /// Whether this wire is to be moved or looked at.
    fn wants(&self, wire: &str) -> bool {
        self.only.is_empty() || self.only.iter().any(|only| only == wire)
    }

    /// Plays sensors to a board that begins anew, for so many ticks; with the flight's load and settings, or with none
    /// and resting jets. Where lines are read back and the board has given up the link in between, because this machine
    /// did not keep up, they were safe for that, and it is played again.
    fn play(
        &mut self,
        ticks: u32,
        in_flight: bool,
        mut sensors: impl FnMut(u32) -> Sensors,
    ) -> Result<Vec<Seen>, BoardError> {
        for _ in 1..TRIES {
            let account = self.pins.clone();
            let losses = self.board.stats()?.link_losses;
            let seen = self.play_once(ticks, in_flight, &mut sensors)?;
            if self.pins.is_none() || self.board.stats()?.link_losses == losses {
                return Ok(seen);
            }
            self.pins = account;
        }
        self.play_once(ticks, in_flight, &mut sensors)
    }

    fn play_once(
        &mut self,
        ticks: u32,
        in_flight: bool,
        sensors: &mut impl FnMut(u32) -> Sensors,
    ) -> Result<Vec<Seen>, BoardError> {
        let (settings, load) =
            if in_flight { (&self.settings, self.load.as_slice()) } else { (&self.resting, [].as_slice()) };
        self.board.begin(settings, load)?;
        if let Some(pins) = &mut self.pins {
            pins.begin();
        }
        let mut seen = Vec::with_capacity(ticks as usize);
        for tick in 0..ticks {
            let mut now = sensors(tick);
            now.tick = tick;
            let answer = self.board.step(&self.wiring.sensors(&now))?;
            let put_out = match &mut self.pins {
                Some(pins) => pins.after(self.board, &answer.actuators)?,
                None => answer.actuators,
            };
            seen.push(Seen { actuators: self.wiring.actuators(put_out), telemetry: answer.telemetry });
            self.played += 1;
            (self.progress)(self.played);
        }
        Ok(seen)
    }

    /// What pins would show of an answer of the desk's.
    fn as_seen(&self, desk: &Actuators) -> Actuators {
        self.pins.as_ref().map_or_else(|| desk.clone(), |pins| as_pins_have_it(desk, pins.duty_most))
    }

    /// Torque of a jet about the centre of mass, N·m: place × push × thrust.
    fn torque_nm(&self, jet: usize) -> [f64; 3] {
        let Some(jet) = self.settings.jets.get(jet) else { return [0.0; 3] };
        let (r, f) = ([jet.x_m, jet.y_m, jet.z_m].map(f64::from), [jet.push_x, jet.push_y, jet.push_z].map(f64::from));
        let cross = |a: usize, b: usize| (r[a] * f[b] - r[b] * f[a]) * f64::from(jet.thrust_n);
        [cross(1, 2), cross(2, 0), cross(0, 1)]
    }

    /// Torque of all openings in a stretch, N·m, each opening counted once, and the jets that opened.
    fn openings(&self, seen: &[Seen]) -> ([f64; 3], Vec<usize>) {
        let mut torque_nm = [0.0; 3];
        let mut jets = Vec::new();
        for now in seen {
            for jet in (0..MAX_JETS).filter(|jet| now.actuators.jets[*jet].open_us.is_some()) {
                let mine = self.torque_nm(jet);
                torque_nm.iter_mut().zip(mine).for_each(|(sum, part)| *sum += part);
                if !jets.contains(&jet) {
                    jets.push(jet);
                }
            }
        }
        jets.sort_unstable();
        (torque_nm, jets)
    }
}

/// Times that a case is played on a machine that does not keep up.
const TRIES: u32 = 4;
/// Ticks of undisturbed flight that the round needs: film runs, and long enough for reel turns to be judged.
const FLIGHT_TICKS: u32 = 3_400;

/// Goes through every sensor. `loaded` must expose within its first seconds. `progress` gets the ticks played.
///
/// # Errors
/// [`LockstepError`].
pub fn round(
    board: &mut Board,
    loaded: &Loaded,
    wiring: &Wiring,
    progress: &mut dyn FnMut(u64),
) -> Result<Vec<Row>, LockstepError> {
    round_of(board, loaded, wiring, &[], progress)
}

/// [`round`], for the rows of some wires alone.
///
/// # Errors
/// [`LockstepError`].
pub fn round_of(
    board: &mut Board,
    loaded: &Loaded,
    wiring: &Wiring,
    only: &[String],
    progress: &mut dyn FnMut(u64),
) -> Result<Vec<Row>, LockstepError> {
    let built = build(loaded, loaded.scenario.run.seed)?;
    let (settings, load) = (built.settings.clone(), built.load.encode().to_vec());
    let link = Link::new(&loaded.scenario, loaded.scenario.run.seed, &built.load);
    let mut flight = ClosedLoop::new(built.plant, built.controller, link, FaultSchedule::new(&loaded.scenario));
    let mut undisturbed = Vec::with_capacity(FLIGHT_TICKS as usize);
    for _ in 0..FLIGHT_TICKS {
        let sensors = flight.sense();
        let actuators = flight.controller.step(&sensors);
        let telemetry = stillframe_wire::server::fresh_telemetry(&flight.controller, &sensors);
        flight.act(&sensors, actuators.clone(), &[], &mut |_, _| ()).map_err(FlightError::Plant)?;
        undisturbed.push((sensors, actuators, telemetry));
    }
    let mut resting = settings.clone();
    let (rest_ms, pulse_ms) = ((resting.response.watch_s * 1e3) as u32 + 500, 100);
    (resting.roll.lockout_ms, resting.pitch.lockout_ms, resting.yaw.lockout_ms) = (rest_ms, rest_ms, rest_ms);
    let (roll, pitch, yaw) = (&mut resting.roll, &mut resting.pitch, &mut resting.yaw);
    (roll.longest_pulse_ms, pitch.longest_pulse_ms, yaw.longest_pulse_ms) = (pulse_ms, pulse_ms, pulse_ms);
    let pins = Pins::of(board).map_err(|error| LockstepError::Board { tick: 0, error })?;
    let mut rig = Rig { board, pins, wiring, settings, resting, load, flight: undisturbed, progress, played: 0, only };
    let mut rows = Vec::new();
    let framing = matches!(loaded.scenario.camera.kind, CameraKind::Frame(_));
    let camera = if framing { framing::round } else { film::round };
    let played = attitude::round(&mut rig, &mut rows).and_then(|()| camera(&mut rig, &mut rows));
    played.map_err(|error| LockstepError::Board { tick: rig.played, error })?;
    if let Some(pins) = rig.pins.as_ref().filter(|_| !rows.is_empty()) {
        let seen = match pins.wrong {
            0 => format!("{} ticks with {} edges, all as asked", pins.ticks, pins.edges),
            wrong => format!("{wrong} of {} ticks not as asked", pins.ticks),
        };
        rows.push(Row::new(
            "output lines",
            "whenever asked",
            "levels, duties and edges as asked",
            seen,
            pins.wrong == 0,
        ));
    }
    Ok(rows)
}
