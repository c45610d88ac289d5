//! The command line.

use std::path::PathBuf;

use clap::{Args as Group, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;

use super::check_args::CheckArgs;
use super::descend_args::DescendArgs;
use super::exit::EXIT_CODES;
use super::plan_args::PlanArgs;
use super::tune_args::TuneArgs;
use crate::design::camera::terms::Term;

const EXAMPLES: &str = "\
Examples:
  stillframe                            fly the built-in day with the strip camera
  stillframe new strip my.toml          write a scenario to start from
  stillframe validate my.toml           say everything that is wrong with it
  stillframe fly my.toml --hours 2      fly its first two hours
  stillframe size                       the smallest camera for the demonstration's wants
  stillframe plan my.toml               which areas on which pass
  stillframe tune my.toml               settings for its attitude loop
  stillframe descend                    when and where the film comes down
";

/// Flies a film-return survey satellite on paper: from a scenario file to frames, and why each is sharp or not.
///
/// A scenario file describes vehicle, orbit, camera, programme and faults; the flight code that would fly on
/// board steers it. Without a verb, the built-in demonstration is flown.
#[derive(Debug, Parser)]
#[command(name = "stillframe", version, after_help = EXAMPLES, after_long_help = format!("{EXAMPLES}\n{EXIT_CODES}"))]
#[command(max_term_width = 100)]
pub struct Args {
    /// What to do; `fly` if left out.
    #[command(subcommand)]
    pub verb: Option<Verb>,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Verb {
    /// Fly a scenario and write the results to a folder.
    Fly(FlyArgs),
    /// Show what frames of a finished run saw: three-bar targets through lens, motion, film and grain.
    Picture(PictureArgs),
    /// Size the smallest camera that does the work, from a file of wants.
    Size(SizeArgs),
    /// Verify film rates: required, commanded and reached, over the whole mission or in a record.
    ///
    /// Follows the scenario's orbit over its whole life, fits the best stored rate programme for each load, runs the
    /// flight code's film transport on the simulated drive all over the mission, and holds what film did against
    /// what the image needed. With --record, a flight's or a bench run's results folder takes the drive's place.
    Film(FilmArgs),
    /// Plan a day's photography: from areas to camera-on and camera-off, and the command load.
    ///
    /// Works out every pass over every area, pads its times by what orbit and clock may be off, chooses the passes that
    /// are worth most within film, gas, energy and the load's store, and makes timeline, maps, tables and the load.
    Plan(PlanArgs),
    /// Tune the attitude loop: propose settings, predict, measure, sweep, find limits, compare.
    ///
    /// Works out settings from vehicle, sensors and jets with a reason for each, flies them and those in hand with
    /// the flight code in the simulated vehicle, sweeps around them for the front of gas against rate in exposures,
    /// and finds how wrong inertia, thrust, delay and noise may be. About a minute on two cores.
    Tune(TuneArgs),
    /// Check a command load before it is sent: refuse it with every line and reason, or print it for signatures.
    ///
    /// Flies the load against predicted contacts, ledgers of film, gas and energy, image speed, the Sun and the
    /// flight code's own acceptance. Without a file, the built-in day's own load.
    Check(CheckArgs),
    /// Bring the capsule home on paper: when to fire the retro, how it comes down, where, and how surely.
    ///
    /// Finds the passes that reach the recovery zone and the instant of ignition for each, flies burn, entry and
    /// canopies, and thousands of descents that are each a little off, for the footprint and what makes it. With late
    /// news, tells where the capsule may be: a region, not a point. A few seconds.
    Descend(DescendArgs),
    /// Write a demonstration scenario and its settings file, to start from.
    New(NewArgs),
    /// Print the JSON Schema of scenario files.
    ///
    /// Editors that know TOML use it to complete and explain keys:
    /// `stillframe schema > scenario.schema.json`, then put `#:schema ./scenario.schema.json` on the first line
    /// of a scenario.
    Schema,
    /// Check scenario files, and their settings files, without flying them.
    Validate(ValidateArgs),
    /// Print the controller's default settings, with unit, range and meaning beside each.
    Settings,
    /// Print the digests of the flight code on its fixed row of inputs, and whether they are this version's.
    #[command(hide = true)]
    Digest,
    /// Print a completion script for a shell.
    Completions {
        /// The shell.
        shell: Shell,
    },
}

impl Default for Verb {
    fn default() -> Self {
        Self::Fly(FlyArgs::default())
    }
}

/// `fly`.
#[derive(Debug, Default, Group)]
#[command(after_help = "\
Examples:
  stillframe fly                        the built-in day
  stillframe fly my.toml --seed 7       another draw of the noise
  stillframe fly my.toml --out run-a    results to a folder of your choice
  stillframe fly my.toml --json | jq .  the summary for other programs")]
pub struct FlyArgs {
    /// Scenario file; left out: the built-in demonstration.
    pub scenario: Option<PathBuf>,
    /// Fly only so many hours; commands and faults beyond them are left out, and counted.
    #[arg(long, value_name = "H", value_parser = hours)]
    pub hours: Option<f64>,
    /// Seed of the random draws, in place of the scenario's.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(..=9_007_199_254_740_991))]
    pub seed: Option<u64>,
    /// Folder for the results; one that holds anything is refused.
    /// Left out: results/NAME-SEED, or results/NAME-SEED-2 and so on if that is taken.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Record every attitude step, not only events and a thinned series.
    #[arg(long)]
    pub full_record: bool,
    /// No progress and no summary; errors are still shown.
    #[arg(long, short)]
    pub quiet: bool,
    /// Print the summary as JSON instead of text.
    #[arg(long)]
    pub json: bool,
}

/// `film`.
#[derive(Debug, Group)]
#[command(after_help = "\
Examples:
  stillframe film                           the built-in strip camera over six days
  stillframe film my.toml --days 3          another scenario, three days
  stillframe film --blunder orbital-rate    what forgetting the camera's own turning does
  stillframe film --record results/whimbrel-strip-1
                                            a flight, or a board's run, by the same ruler
  stillframe film --json | jq .drive        for other programs (schema in the handbook)")]
pub struct FilmArgs {
    /// Scenario file; left out: the built-in demonstration.
    pub scenario: Option<PathBuf>,
    /// Take the built-in framing camera where no scenario is named.
    #[arg(long, conflicts_with = "scenario")]
    pub frame: bool,
    /// Length of the mission.
    #[arg(long, value_name = "D", default_value_t = 6.0, value_parser = between::<1, 6000>)]
    pub days: f64,
    /// Time from one command load to the next.
    #[arg(long, value_name = "H", default_value_t = 4.0, value_parser = between::<10, 2400>)]
    pub load_every_hours: f64,
    /// Store rates only where the Sun stands 5° or higher, not all round the orbit.
    #[arg(long)]
    pub lit: bool,
    /// Roll of the line of sight from straight down.
    #[arg(long, value_name = "DEG", default_value_t = 0.0, allow_negative_numbers = true, value_parser = tilt)]
    pub roll_deg: f64,
    /// Pitch of the line of sight from straight down.
    #[arg(long, value_name = "DEG", default_value_t = 0.0, allow_negative_numbers = true, value_parser = tilt)]
    pub pitch_deg: f64,
    /// Band of terrain about the height programmed for, ±; reported apart.
    #[arg(long, value_name = "M", default_value_t = 1500.0, value_parser = between::<0, 90_000>)]
    pub relief_m: f64,
    /// Camera-ons of the simulated drive in each revolution.
    #[arg(long, value_name = "N", default_value_t = 24, value_parser = clap::value_parser!(u32).range(1..=400))]
    pub runs: u32,
    /// Leave something out on purpose, to see what it costs.
    #[arg(long, value_enum, value_name = "WHAT")]
    pub blunder: Option<BlunderKind>,
    /// Judge this results folder of `fly` or of the bench instead of the simulated drive.
    #[arg(long, value_name = "DIR", conflicts_with_all = ["days", "load_every_hours", "lit", "runs", "blunder", "relief_m"])]
    pub record: Option<PathBuf>,
    /// Folder for the results; one that holds anything is refused.
    /// Left out: results/NAME-film-SEED, numbered if that is taken.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// No progress and no summary; errors are still shown.
    #[arg(long, short)]
    pub quiet: bool,
    /// Print the study as JSON instead of text.
    #[arg(long)]
    pub json: bool,
}

/// A blunder of `film`.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum BlunderKind {
    /// Inertial speed over height: the camera's own turning forgotten.
    OrbitalRate,
    /// No yaw into the track of the ground.
    Crab,
    /// Film against the image.
    Direction,
}

/// A number between bounds given in tenths.
fn between<const LOW: u32, const HIGH: u32>(text: &str) -> Result<f64, String> {
    let (low, high) = (f64::from(LOW) / 10.0, f64::from(HIGH) / 10.0);
    let value: f64 = text.parse().map_err(|_| "write a number".to_owned())?;
    if (low..=high).contains(&value) { Ok(value) } else { Err(format!("allowed: {low} to {high}")) }
}

fn tilt(text: &str) -> Result<f64, String> {
    let value: f64 = text.parse().map_err(|_| "write a number of degrees".to_owned())?;
    if (-60.0..=60.0).contains(&value) { Ok(value) } else { Err("allowed: -60 to 60 degrees".to_owned()) }
}

pub(super) fn hours(text: &str) -> Result<f64, String> {
    let hours: f64 = text.parse().map_err(|_| "write a number of hours, e.g. 1.5".to_owned())?;
    if (0.01..=240.0).contains(&hours) { Ok(hours) } else { Err("allowed: 0.01 to 240 hours".to_owned()) }
}

/// `size`.
#[derive(Debug, Default, Group)]
#[command(after_help = "\
Examples:
  stillframe size                                  the built-in wants
  stillframe size --write-wants my-camera.toml     wants to start from
  stillframe size my-camera.toml                   search, choose, report
  stillframe size --at 1000,5                      one camera's account, chosen or not
  stillframe size --without film --without yaw     what those two cost
  stillframe size my-camera.toml --scenario my.toml   heights of that scenario's orbit")]
pub struct SizeArgs {
    /// File of wants; left out: the built-in one.
    pub wants: Option<PathBuf>,
    /// Look at one camera only: focal length in mm and f-number.
    #[arg(long, value_name = "F_MM,N", value_parser = point)]
    pub at: Option<(f64, f64)>,
    /// Leave a term out of the budget, to see its worth; may be given several times.
    #[arg(long, value_name = "TERM", value_parser = term)]
    pub without: Vec<Term>,
    /// Take lowest and highest altitude from the start of this scenario's orbit.
    #[arg(long, value_name = "SCENARIO")]
    pub scenario: Option<PathBuf>,
    /// Write the built-in wants to a new file, and do nothing else.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["wants", "at", "without", "scenario", "out", "json"])]
    pub write_wants: Option<PathBuf>,
    /// Print the JSON Schema of wants files, and do nothing else.
    #[arg(long, conflicts_with_all = ["wants", "at", "without", "scenario", "out", "json", "write_wants"])]
    pub schema: bool,
    /// Folder for the results; one that holds anything is refused.
    /// Left out: results/size-NAME, or results/size-NAME-2 and so on if that is taken.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// No summary; errors are still shown.
    #[arg(long, short)]
    pub quiet: bool,
    /// Print the summary as JSON instead of text.
    #[arg(long)]
    pub json: bool,
}

fn point(text: &str) -> Result<(f64, f64), String> {
    let numbers = text.split_once(',').and_then(|(f, n)| Some((f.trim().parse().ok()?, n.trim().parse().ok()?)));
    match numbers {
        Some((f, n)) if (10.0..=10_000.0).contains(&f) && (0.7..=64.0).contains(&n) => Ok((f, n)),
        Some(_) => Err("allowed: 10 to 10000 mm and f-numbers 0.7 to 64".to_owned()),
        None => Err("write focal length in mm and f-number, e.g. 1000,5".to_owned()),
    }
}

fn term(text: &str) -> Result<Term, String> {
    let known = || Term::ALL.map(Term::word).join(", ");
    Term::find(text).ok_or_else(|| format!("not a term of the budget; allowed: {}", known()))
}

/// `new`.
#[derive(Debug, Group)]
#[command(
    override_usage = "stillframe new [strip|frame|sweep] <FILE>",
    after_help = "\
Examples:
  stillframe new my.toml                strip camera
  stillframe new frame my.toml          framing camera
  stillframe new sweep my.toml          panoramic camera
The settings go to my-settings.toml beside it. Files that exist are never written over."
)]
pub struct NewArgs {
    /// `strip`, `frame` or `sweep`, then the file to write; or only the file.
    #[arg(num_args = 1..=2, required = true, value_names = ["KIND", "FILE"])]
    pub kind_and_file: Vec<PathBuf>,
}

/// `picture`.
#[derive(Debug, Group)]
#[command(after_help = "\
Examples:
  stillframe picture results/whimbrel-strip-1         every frame: computed beside read
  stillframe picture results/whimbrel-strip-1 12      frame 12 over its format, to frame-0012.png in the folder")]
pub struct PictureArgs {
    /// Folder of the finished run.
    pub results: PathBuf,
    /// Number of the frame to draw; left out: every frame is read at its middle, and none is drawn.
    pub frame: Option<u32>,
    /// File for the picture (PNG); one that exists is refused. Left out: frame-NUMBER.png in the run's folder.
    #[arg(long, value_name = "FILE", requires = "frame")]
    pub out: Option<PathBuf>,
}

/// `validate`.
#[derive(Debug, Group)]
pub struct ValidateArgs {
    /// Scenario files.
    #[arg(required = true, value_name = "SCENARIO")]
    pub scenarios: Vec<PathBuf>,
}

/// Kind of the demonstration's camera.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum Kind {
    /// Strip camera.
    Strip,
    /// Framing camera.
    Frame,
    /// Panoramic camera.
    Sweep,
}
