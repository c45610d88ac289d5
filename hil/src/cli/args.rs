//! The command line.

use super::exit::EXIT_CODES;
use crate::{
    line::{Address, How},
    scenario::BUILT_IN,
};
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
    /// Measure what the image needs: step cost by rate group, stack, flash, RAM; and compare with an earlier measure.
    Measures(MeasuresArgs),
    /// Keep the wall clock's pace: how late are answers, how many are missed?
    RealTime(RealTimeArgs),
    /// Flip bits in the emulated board's memory and registers, and see how each ends.
    Upsets(UpsetArgs),
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
    /// In the emulator, talk over its debug channel in place of the serial line: for long runs.
    #[arg(long)]
    pub(super) fast: bool,
    /// File into which something else writes the bytes of the board's second serial line; the emulator's log is found
    /// without.
    #[arg(long, value_name = "FILE")]
    pub(super) log: Option<PathBuf>,
    /// ELF of the image on the board, by which its log is read; left out: as last built by `firmware/build`.
    #[arg(long, value_name = "IMAGE", requires = "log")]
    pub(super) image: Option<PathBuf>,
}

impl BoardArgs {
    /// How the emulator is to be run.
    pub(super) fn how(&self) -> How {
        How { count: self.count, fast: self.fast }
    }
}

/// `lockstep`.
#[derive(Debug, Group)]
#[command(after_help = "\
Examples:
  stillframe-bench lockstep                                    7,200 ticks of the short flight
  stillframe-bench lockstep strip --ticks 360000               the demonstration's first hour
  stillframe-bench lockstep my.toml --board emulator --out hil a scenario of your own, in the emulator
  stillframe-bench lockstep --stream edge.stream               also write a stream for `replay`
  stillframe-bench lockstep strip --board emulator --fast      a whole day in the emulator

Beside the simulator's own results, the folder gets bench.json (`stillframe-bench schema`) and, if board and desk
differ, difference.json with the ticks around it; bench.html shows it all.")]
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
    /// Record every attitude step, not only every second.
    #[arg(long)]
    pub(super) full_record: bool,
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
    /// In the emulator, talk over its debug channel in place of the serial line: for long runs.
    #[arg(long)]
    pub(super) fast: bool,
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
  stillframe-bench phasing --every-fault               all exchanges and reversals: which are found?

Where the board has output lines, an emulated one too, what stands on them is judged, not what the board says.

Two jets that always open together (a couple) cannot be told apart, and film.current has no sign that matters.")]
pub(super) struct PhasingArgs {
    /// Scenario that exposes within its first seconds: a file, or the built-in `edge`.
    #[arg(default_value = "edge")]
    pub(super) scenario: PathBuf,
    #[command(flatten)]
    pub(super) board: BoardArgs,
    #[command(flatten)]
    pub(super) wiring: WiringArgs,
    /// Go round these wires alone, as `gyro.x`: on a real board, one lamp after the other. May be given again.
    #[arg(long, value_name = "WIRE", conflicts_with = "every_fault")]
    pub(super) only: Vec<String>,
    /// Try every exchange of two like wires and every reversal, and tell which are found.
    #[arg(long, conflicts_with_all = ["swap", "reverse"])]
    pub(super) every_fault: bool,
    /// File for the table as a page.
    #[arg(long, value_name = "FILE", conflicts_with = "every_fault")]
    pub(super) out: Option<PathBuf>,
    #[command(flatten)]
    pub(super) voice: VoiceArgs,
}

/// `measures`.
#[derive(Debug, Group)]
#[command(after_help = "\
Examples:
  stillframe-bench measures                                  of the image as last built
  stillframe-bench measures --out now.json                   also kept
  stillframe-bench measures --against before.json            what has grown since?

Step costs are exact counts of instructions in the emulator, the same in every run; on a real board use
`lockstep`, which reports processor cycles.")]
pub(super) struct MeasuresArgs {
    /// Image; left out: as last built by `firmware/build`.
    #[arg(long, value_name = "IMAGE")]
    pub(super) image: Option<PathBuf>,
    /// Ticks of the short flight to be measured.
    #[arg(long, value_name = "N", default_value_t = 3_000, value_parser = clap::value_parser!(u64).range(200..=7_200))]
    pub(super) ticks: u64,
    /// File for the result.
    #[arg(long, value_name = "FILE")]
    pub(super) out: Option<PathBuf>,
    /// Earlier result to compare with.
    #[arg(long, value_name = "FILE")]
    pub(super) against: Option<PathBuf>,
    /// Growth over the earlier result that is let pass, percent.
    #[arg(long, value_name = "PERCENT", default_value_t = 2.0)]
    pub(super) allow: f64,
    #[command(flatten)]
    pub(super) voice: VoiceArgs,
}

/// `real-time`.
#[derive(Debug, Group)]
#[command(after_help = "\
Examples:
  stillframe-bench real-time --board emulator --seconds 30
  stillframe-bench real-time --board serial:/dev/ttyUSB0
  stillframe-bench real-time --board emulator --board-paced             the board's timer makes the ticks
  stillframe-bench real-time --board emulator --board-paced --withhold 10  ten steps in a row get lost

Unless the board paces, the bench does: a step goes out every 10 ms, and its answer is used if it comes before the next. What a loaded desk
machine does to the pace is in the figures; they pass or fail nothing. An answer that is not the desk's to the bit does.")]
pub(super) struct RealTimeArgs {
    /// Scenario flown: a file, or a built-in one.
    #[arg(default_value = "edge")]
    pub(super) scenario: PathBuf,
    #[command(flatten)]
    pub(super) board: BoardArgs,
    /// The board's own timer makes the ticks, and the bench keeps up.
    #[arg(long)]
    pub(super) board_paced: bool,
    /// Withhold so many steps in a row, half way: the board bridges up to 20 with the last sensors, and goes safe beyond.
    #[arg(long, value_name = "N", default_value_t = 0, requires = "board_paced", value_parser = clap::value_parser!(u32).range(0..=1_000))]
    pub(super) withhold: u32,
    /// Seconds to fly.
    #[arg(long, value_name = "S", default_value_t = 30, value_parser = clap::value_parser!(u64).range(1..=86_400))]
    pub(super) seconds: u64,
    #[command(flatten)]
    pub(super) voice: VoiceArgs,
}

/// `upsets`.
#[derive(Debug, Group)]
#[command(after_help = "\
Examples:
  stillframe-bench upsets                        50 of them, in the image as last built
  stillframe-bench upsets --upsets 1000 --seed 7

Each upset: the short flight begins anew and flies to a random tick; one bit of RAM or of a register is turned over
while the processor stands still; the flight goes on and every answer is compared with the desk's.")]
pub(super) struct UpsetArgs {
    /// Image; left out: as last built by `firmware/build`.
    #[arg(long, value_name = "IMAGE")]
    pub(super) image: Option<PathBuf>,
    /// Upsets.
    #[arg(long, value_name = "N", default_value_t = 50)]
    pub(super) upsets: u64,
    /// Seed of the draws.
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(super) seed: u64,
    /// File for the outcomes, as JSON; a page of the same name goes beside it.
    #[arg(long, value_name = "FILE")]
    pub(super) out: Option<PathBuf>,
    #[command(flatten)]
    pub(super) voice: VoiceArgs,
}
