//! Bits turned over in the memory and registers of the emulated board while it flies.
//!
//! The flight code holds settings and load against copies once a second; a bit turned over anywhere else changes what it
//! asks for.
//! What is looked for here is that nothing worse happens: every answer stays inside its ranges, and a processor that
//! goes astray is reset with its outputs safe and says why.

use crate::{
    board::{Board, BoardError},
    compare::first_difference,
    debug_port::DebugPort,
    image,
    line::{
        Opened,
        emulator::{Emulator, Order, Shared},
    },
    lockstep::LockstepError,
};
use schemars::JsonSchema;
use serde::Serialize;
use std::{
    io,
    ops::Range,
    path::{Path, PathBuf},
    time::Duration,
};
use stillframe::{
    flight::{FlightError, build::build, closed_loop::ClosedLoop, link::Link},
    noise::NoiseSource,
    plant::faults::FaultSchedule,
    scenario::Loaded,
};
use stillframe_controller::{
    io::{Actuators, Sensors, TICK_US},
    settings::Settings,
};
use stillframe_wire::{PinImage, Refusal};

/// Ticks among which the upset's is drawn: level, pointed, film running, exposing.
const FIRST: Range<u32> = 10..1_800;
/// Ticks flown on after it.
const AFTER: u32 = 120;
/// Core registers: r0 to r12, stack pointer, link register, program counter.
const REGISTERS: usize = 16;
/// Shares of upsets that go into registers and into the stack; the others go into the data that is always in use.
const REGISTER_SHARE: f64 = 0.2;
const STACK_SHARE: f64 = 0.2;
/// Times that the emulator is started for one upset before the campaign is given up.
const STARTS: u32 = 3;
/// Time within which a board that has gone astray must have been reset by its watchdog.
const RESET_PATIENCE: Duration = Duration::from_secs(3);

/// How an upset ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub enum Outcome {
    /// Every answer was the desk's.
    NoEffect,
    /// Answers differed for a while and were the desk's again at the end.
    Recovered,
    /// Answers differ, and stay inside their ranges.
    OtherAnswers,
    /// A frame or a step was refused; the board said so.
    Refused,
    /// The board was reset, its outputs are safe, and it says why.
    ResetWithRecord,
    /// The board was reset, its outputs are safe, and it left no record.
    Reset,
    /// An answer was outside its ranges, or outputs were not safe after a reset.
    Unsafe,
    /// The board is never heard again.
    Hang,
}

/// One upset.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Upset {
    /// Tick before which the bit was turned over.
    pub tick: u32,
    /// Register, or address in memory.
    pub place: String,
    /// Bit.
    pub bit: u32,
    /// How it ended.
    pub outcome: Outcome,
    /// The first field that differed, or the post-mortem record.
    pub note: String,
}

/// What a campaign of upsets came to.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Upsets {
    /// Seed.
    pub seed: u64,
    /// All of them.
    pub upsets: Vec<Upset>,
}

impl Upsets {
    /// Number with an outcome.
    pub fn count(&self, outcome: Outcome) -> usize {
        self.upsets.iter().filter(|upset| upset.outcome == outcome).count()
    }

    /// No unsafe output and no hang.
    pub fn good(&self) -> bool {
        self.count(Outcome::Unsafe) == 0 && self.count(Outcome::Hang) == 0
    }
}

/// Makes `upsets` of them. `progress` gets their number.
///
/// # Errors
/// [`LockstepError`], if the emulator itself fails.
pub fn campaign(
    image: &Path,
    loaded: &Loaded,
    (seed, upsets): (u64, u64),
    progress: &mut dyn FnMut(u64),
) -> Result<Upsets, LockstepError> {
    let gone = |error: BoardError| LockstepError::Board { tick: 0, error };
    let flight = Flight::new(loaded)?;
    let ram = image::ram(image).map_err(|error| gone(error.into()))?;
    let stack_top = image::symbol(image, "_stack_start").map_err(|error| gone(error.into()))?;
    let noise = NoiseSource::new(seed, 0, "upsets", 0);
    let mut result = Upsets { seed, upsets: Vec::new() };
    for number in 0..upsets {
        let mut draw = (0..).map(|sample| noise.uniform(number * 16 + sample));
        let mut draw = || draw.next().unwrap_or(0.0);
        let tick = FIRST.start + (draw() * f64::from(FIRST.end - FIRST.start)) as u32;
        let mut rig = ready(image, &flight, tick).map_err(gone)?;
        // Below its deepest use the stack holds nothing.
        let stack = stack_top.map(|top| top.saturating_sub(rig.stack_used)..top);
        let place = Place::draw(&mut draw, &ram, stack);
        let (outcome, note) = rig.upset(&flight, tick, place).map_err(gone)?;
        result.upsets.push(Upset { tick, place: place.to_string(), bit: place.bit(), outcome, note });
        progress(number + 1);
    }
    Ok(result)
}

/// A fresh board in flight just before the tick: what an earlier upset has left behind must not be counted again. Until
/// the bit is turned over nothing can be the board's fault; on a machine too busy to keep up it is tried again.
fn ready(image: &Path, flight: &Flight, tick: u32) -> Result<Rig, BoardError> {
    let mut last = None;
    for _ in 0..STARTS {
        let mut rig = Rig::start(image)?;
        match rig.fly_to(flight, tick) {
            Ok(()) => return Ok(rig),
            Err(error) => last = Some(error),
        }
    }
    Err(last.unwrap_or(BoardError::Silent { question: "the start" }))
}

/// Where a bit is turned over.
#[derive(Clone, Copy, Debug)]
enum Place {
    Register(usize, u32),
    Memory(u32, u32),
}

impl Place {
    fn draw(draw: &mut impl FnMut() -> f64, data: &[Range<u32>], stack: Option<Range<u32>>) -> Self {
        let kind = draw();
        let stack = stack.filter(|_| kind < REGISTER_SHARE + STACK_SHARE);
        let places = stack.as_ref().map_or(data, std::slice::from_ref);
        if kind < REGISTER_SHARE {
            let register = (draw() * REGISTERS as f64) as usize % REGISTERS;
            return Self::Register(register, (draw() * 32.0) as u32 % 32);
        }
        let all: u32 = places.iter().map(|range| range.end - range.start).sum();
        let mut at = (draw() * f64::from(all)) as u32;
        let bit = (draw() * 8.0) as u32 % 8;
        for range in places {
            let length = range.end - range.start;
            if at < length {
                return Self::Memory(range.start + at, bit);
            }
            at -= length;
        }
        Self::Memory(places.first().map_or(0, |range| range.start), bit)
    }

    fn bit(self) -> u32 {
        let (Self::Register(_, bit) | Self::Memory(_, bit)) = self;
        bit
    }
}

impl std::fmt::Display for Place {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Register(register, _) => write!(f, "r{register}"),
            Self::Memory(address, _) => write!(f, "{address:#010x}"),
        }
    }
}

/// The desk's flight: every tick's sensors and answers.
struct Flight {
    settings: Settings,
    load: Vec<u8>,
    ticks: Vec<(Sensors, Actuators)>,
}

impl Flight {
    fn new(loaded: &Loaded) -> Result<Self, LockstepError> {
        let built = build(loaded, loaded.scenario.run.seed)?;
        let (settings, load) = (built.settings.clone(), built.load.encode().to_vec());
        let link = Link::new(&loaded.scenario, loaded.scenario.run.seed, &built.load);
        let mut flight = ClosedLoop::new(built.plant, built.controller, link, FaultSchedule::new(&loaded.scenario));
        let mut ticks = Vec::new();
        for _ in 0..FIRST.end + AFTER {
            let sensors = flight.sense();
            let actuators = flight.controller.step(&sensors);
            flight.act(&sensors, actuators.clone(), &[], &mut |_, _| ()).map_err(FlightError::Plant)?;
            ticks.push((sensors, actuators));
        }
        Ok(Self { settings, load, ticks })
    }
}

/// An emulated board with its debug port.
struct Rig {
    board: Board,
    emulator: Shared,
    port: DebugPort,
    stack_used: u32,
}

impl Rig {
    fn start(image: &Path) -> Result<Self, BoardError> {
        let order = Order { image: PathBuf::from(image), count_shift: None, debug: true, pipes: true };
        let emulator = Shared::new(Emulator::start(&order)?);
        let patience = Duration::from_millis(100);
        let opened = Opened { line: Box::new(emulator.clone()), patience, cost_unit: "", log: None };
        let mut board = Board::over(opened);
        board.greet()?;
        let mut port = DebugPort::connect(&emulator.get().debug_socket())?;
        port.go_on()?;
        let stack_used = board.stats()?.stack_used.max(2_048);
        Ok(Self { board, emulator, port, stack_used })
    }

    /// Flies to the tick over the debug channel, which is fast but holds up the debug port; from there on it is the
    /// serial line.
    fn fly_to(&mut self, flight: &Flight, tick: u32) -> Result<(), BoardError> {
        self.emulator.get().change_to_pipes()?;
        self.board.begin(&flight.settings, &flight.load)?;
        for (sensors, _) in flight.ticks.iter().take(tick as usize) {
            self.board.step(sensors)?;
        }
        self.stack_used = self.stack_used.max(self.board.stats()?.stack_used);
        self.emulator.get().leave_pipes();
        self.board.stats()?;
        Ok(())
    }

    fn upset(&mut self, flight: &Flight, tick: u32, place: Place) -> Result<(Outcome, String), BoardError> {
        self.flip(place)?;
        self.watch(&flight.ticks[tick as usize..(tick + AFTER) as usize])
    }

    fn watch(&mut self, ticks: &[(Sensors, Actuators)]) -> Result<(Outcome, String), BoardError> {
        let mut differing = String::new();
        let mut last_equal = true;
        for (sensors, desk) in ticks {
            match self.board.step(sensors) {
                Ok(answer) if !in_range(&answer.actuators) => {
                    return Ok((Outcome::Unsafe, format!("tick {}: {:?}", sensors.tick, answer.actuators)));
                }
                Ok(answer) => {
                    let difference = first_difference("actuators", desk, &answer.actuators);
                    last_equal = difference.is_none();
                    if let (Some(difference), true) = (difference, differing.is_empty()) {
                        differing = format!("tick {}: {}", sensors.tick, difference.field);
                    }
                }
                Err(BoardError::Refused { refusal: Refusal::NotBegun, .. }) => return self.after_reset(),
                Err(BoardError::Refused { refusal, .. }) => return Ok((Outcome::Refused, format!("{refusal:?}"))),
                Err(_) => return self.silent(),
            }
        }
        let outcome = match (differing.is_empty(), last_equal) {
            (true, _) => Outcome::NoEffect,
            (false, true) => Outcome::Recovered,
            (false, false) => Outcome::OtherAnswers,
        };
        Ok((outcome, differing))
    }

    fn flip(&mut self, place: Place) -> io::Result<()> {
        self.port.stop()?;
        match place {
            Place::Register(register, bit) => self.port.flip_register(register, bit)?,
            Place::Memory(address, bit) => {
                let byte = self.port.read(address)?;
                self.port.write(address, byte ^ (1 << bit))?;
            }
        }
        self.port.go_on()
    }

    /// Nothing was answered: has it been reset, or does it hang?
    fn silent(&mut self) -> Result<(Outcome, String), BoardError> {
        let began = std::time::Instant::now();
        while began.elapsed() < RESET_PATIENCE {
            if self.board.greet().is_ok() {
                return self.after_reset();
            }
        }
        Ok((Outcome::Hang, "no answer".into()))
    }

    fn after_reset(&mut self) -> Result<(Outcome, String), BoardError> {
        let pins = self.board.pins()?;
        if !safe(&pins) {
            return Ok((
                Outcome::Unsafe,
                format!("lines {:#010x}, duties {:?} after a reset", pins.levels, pins.duties),
            ));
        }
        Ok(match self.board.post_mortem()? {
            Some(record) => (Outcome::ResetWithRecord, format!("{record:?}")),
            None => (Outcome::Reset, String::new()),
        })
    }
}

/// All lines low and all motors off.
fn safe(pins: &PinImage) -> bool {
    pins.levels == 0 && pins.duties == [0; 4]
}

/// Whether every number is one that the vehicle's drivers can follow.
fn in_range(actuators: &Actuators) -> bool {
    let edges = actuators.jets.iter().chain([&actuators.shutter]);
    let within = |us: Option<u16>| us.is_none_or(|us| u32::from(us) < TICK_US);
    let film = &actuators.film;
    let duties = [film.roller_duty, film.supply_duty, film.take_up_duty];
    edges.into_iter().all(|edges| within(edges.open_us) && within(edges.close_us))
        && duties.iter().all(|duty| (-1.0..=1.0).contains(duty))
}
