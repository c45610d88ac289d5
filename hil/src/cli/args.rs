//! The command line.

use super::exit::EXIT_CODES;
use crate::{line::Address, scenario::BUILT_IN};
use clap::{Args as Group, Parser, Subcommand};
use std::path::PathBuf;

const EXAMPLES: &str = "\
Examples:
  stillframe-bench lockstep                             the short flight, a stand-in for the board
  stillframe-bench lockstep --board emulator            the same on the image, in the emulator
  stillframe-bench lockstep --board serial:/dev/ttyUSB0 the same on a board
";

/// Flies the flight code on a board, real, emulated or stood in for, in the loop with the plant.
///
/// The plant runs here; each base tick's sensors go to the board and its actuators come back. The same flight code
/// runs here beside it on the same sensors, and must ask for the same to the last bit. Ordnance outputs are numbers on
/// the screen, never a pin.
#[derive(Debug, Parser)]
#[command(name = "stillframe-bench", version, after_help = EXAMPLES)]
#[command(after_long_help = format!("{EXAMPLES}\n{}\n{EXIT_CODES}", super::show::CAUTIONS))]
#[command(max_term_width = 100)]
pub(super) struct Args {
    /// What to do.
    #[command(subcommand)]
    pub(super) verb: Verb,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub(super) enum Verb {
    /// Fly a scenario with the board in the loop, and compare every answer with the desk's.
    Lockstep(LockstepArgs),
    /// Move each sensor one way, alone, and see that the right valve, motor or shutter answers with the right sign.
    Phasing(PhasingArgs),
    /// Feed a recorded stream of sensors to the desk's controller or a board again; the same must come out.
    Replay(ReplayArgs),
    /// Fly over a line that drops, repeats, swaps, flips and cuts; the board must act on sound frames only.
    WireFaults(WireFaultArgs),
    /// Be a board: serve a stand-in on a socket, for trying lines and tools.
    StandIn(StandInArgs),
    /// Print the JSON Schema of bench.json.
    Schema,
    /// Print the cautions for work with real hardware.
    Cautions,
}

/// Which board.
#[derive(Clone, Debug, Group)]
pub(super) struct BoardArgs {
    /// Where the board is: `stand-in` (in this process), `emulator` (started here on the built image),
    /// `emulator:IMAGE`, `serial:DEVICE`, `serial:DEVICE@BAUD`, `unix:PATH` or `tcp:HOST:PORT`.
    #[arg(long, value_name = "BOARD", default_value = "stand-in")]
    pub(super) board: Address,
    /// In the emulator, count instructions: exact step costs, at a slower pace.
    #[arg(long)]
    pub(super) count: bool,
}

/// `lockstep`.
#[derive(Debug, Group)]
#[command(after_help = "\
Examples:
  stillframe-bench lockstep                                    7,200 ticks of the short flight
  stillframe-bench lockstep strip --ticks 360000               the demonstration's first hour
  stillframe-bench lockstep my.toml --board emulator --out hil a scenario of your own, in the emulator
  stillframe-bench lockstep --stream edge.stream               also write a stream for `replay`

Beside the simulator's own results, the folder gets bench.json (`stillframe-bench schema`) and, if board and desk
differ, difference.json with the ticks around it.")]
pub(super) struct LockstepArgs {
    /// Scenario file, or a built-in one.
    #[arg(default_value = "edge", long_help = format!("Scenario file, or a built-in one: {BUILT_IN}."))]
    pub(super) scenario: PathBuf,
    #[command(flatten)]
    pub(super) board: BoardArgs,
    /// Fly only so many base ticks (100 in a second).
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..))]
    pub(super) ticks: Option<u64>,
    /// Seed of the random draws, in place of the scenario's.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(..=9_007_199_254_740_991))]
    pub(super) seed: Option<u64>,
    /// Folder for the results; one that holds anything is refused. Left out: results/bench-NAME-SEED, numbered.
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    /// Ticks kept before a first difference, and flown on after it.
    #[arg(long, value_name = "N", default_value_t = 20)]
    pub(super) around: usize,
    /// File for the run's stream of sensors and answers, to be replayed later.
    #[arg(long, value_name = "FILE")]
    pub(super) stream: Option<PathBuf>,
    #[command(flatten)]
    pub(super) wiring: WiringArgs,
    #[command(flatten)]
    pub(super) voice: VoiceArgs,
}

/// Wires that are not as drawn.
#[derive(Clone, Debug, Group)]
pub(super) struct WiringArgs {
    /// Exchange two wires between plant and board, as `gyro.x:gyro.y` or `jet.1:jet.5`. May be given again.
    #[arg(long, value_name = "A:B")]
    pub(super) swap: Vec<crate::wiring::Swap>,
    /// Reverse a wire, as `horizon.roll` or `motor.supply`. May be given again.
    #[arg(long, value_name = "WIRE")]
    pub(super) reverse: Vec<crate::wiring::Reverse>,
}

impl WiringArgs {
    /// Both together.
    pub(super) fn wiring(&self) -> crate::wiring::Wiring {
        crate::wiring::Wiring { swaps: self.swap.clone(), reverses: self.reverse.clone() }
    }
}

/// How much is said.
#[derive(Clone, Copy, Debug, Group)]
pub(super) struct VoiceArgs {
    /// No progress, no cautions and no summary; errors are still shown.
    #[arg(long, short)]
    pub(super) quiet: bool,
    /// Print the result as JSON instead of text.
    #[arg(long)]
    pub(super) json: bool,
}

/// `stand-in`.
#[derive(Debug, Group)]
#[command(after_help = "\
Examples:
  stillframe-bench stand-in unix:/tmp/board &
  stillframe-bench lockstep --board unix:/tmp/board")]
pub(super) struct StandInArgs {
    /// Where to listen: `unix:PATH` or `tcp:HOST:PORT`. Serves one caller after another until it is stopped.
    pub(super) place: Address,
}

/// `replay`.
#[derive(Debug, Group)]
#[command(after_help = "\
Examples:
  stillframe-bench lockstep --stream edge.stream
  stillframe-bench replay edge.stream                  into the desk's own controller
  stillframe-bench replay edge.stream --board emulator into the image")]
pub(super) struct ReplayArgs {
    /// Stream that `lockstep --stream` wrote.
    pub(super) stream: PathBuf,
    /// Board to feed; left out: the desk's own controller. Written as for `lockstep`.
    #[arg(long, value_name = "BOARD")]
    pub(super) board: Option<Address>,
    /// In the emulator, count instructions: exact step costs, at a slower pace.
    #[arg(long)]
    pub(super) count: bool,
    #[command(flatten)]
    pub(super) voice: VoiceArgs,
}

/// `wire-faults`.
#[derive(Debug, Group)]
#[command(after_help = "\
Examples:
  stillframe-bench wire-faults                              500 faults, a stand-in for the board
  stillframe-bench wire-faults --faults 10000 --seed 7      more of them
  stillframe-bench wire-faults --board emulator             between here and the image")]
pub(super) struct WireFaultArgs {
    /// Scenario flown, again and again: a file, or a built-in one.
    #[arg(default_value = "edge", long_help = format!("Scenario flown, again and again: a file, or a built-in one: {BUILT_IN}."))]
    pub(super) scenario: PathBuf,
    #[command(flatten)]
    pub(super) board: BoardArgs,
    /// Faults to inject.
    #[arg(long, value_name = "N", default_value_t = 500)]
    pub(super) faults: u64,
    /// Seed of the faults.
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(super) seed: u64,
    /// Folder for the results. Left out: results/wire-faults-SEED, numbered.
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    #[command(flatten)]
    pub(super) voice: VoiceArgs,
}

/// `phasing`.
#[derive(Debug, Group)]
#[command(after_help = "\
Examples:
  stillframe-bench phasing                             every wire, a stand-in for the board
  stillframe-bench phasing --board emulator            through the image
  stillframe-bench phasing --swap gyro.x:gyro.y        does it find two exchanged wires?
  stillframe-bench phasing --reverse horizon.roll      and a reversed one?

Two jets that always open together (a couple) cannot be told apart, and film.current has no sign that matters.")]
pub(super) struct PhasingArgs {
    /// Scenario that exposes within its first seconds: a file, or the built-in `edge`.
    #[arg(default_value = "edge")]
    pub(super) scenario: PathBuf,
    #[command(flatten)]
    pub(super) board: BoardArgs,
    #[command(flatten)]
    pub(super) wiring: WiringArgs,
    #[command(flatten)]
    pub(super) voice: VoiceArgs,
}
