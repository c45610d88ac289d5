//! Arguments of `tune`.

use std::path::PathBuf;

use clap::Args as Group;

use crate::design::attitude::sweep::Knob;

/// `tune`.
#[derive(Debug, Group)]
#[command(after_help = "\
Examples:
  stillframe tune                                   the built-in vehicle
  stillframe tune my.toml --quick                   a first look in a fraction of the time
  stillframe tune my.toml --vary pitch.deadband_deg=0.1:0.5 --points 128
  stillframe tune my.toml --compare other.toml      a second settings file beside the one in hand
  stillframe tune my.toml --take 17 --write         point 17 of the same sweep into its settings file
  stillframe tune my.toml --resume results/tune-my  go on with a study that was interrupted")]
pub struct TuneArgs {
    /// Scenario file; left out: the built-in demonstration.
    pub scenario: Option<PathBuf>,
    /// Fewer points, captures and rounds, and six hours of the programme.
    #[arg(long)]
    pub quick: bool,
    /// Sets of settings flown in the sweep; 0 leaves it out. Left out: 64, or 8 with --quick.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(..=100_000))]
    pub points: Option<u64>,
    /// A setting to vary in the sweep, with its range; `*.KEY` for all three axes; up to eight times.
    /// Left out: deadbands, fill, lead, and the times of rates and disturbance, from half to double.
    #[arg(long, value_name = "GROUP.KEY=LOW:HIGH", value_parser = knob)]
    pub vary: Vec<Knob>,
    /// End with this point of the sweep in place of the study's own choice; 0 is the proposal.
    #[arg(long, value_name = "N")]
    pub take: Option<u64>,
    /// A second settings file, flown and shown beside the one in hand.
    #[arg(long, value_name = "SETTINGS")]
    pub compare: Option<PathBuf>,
    /// Random captures flown; 0 leaves capture out. Left out: 200, or 20 with --quick.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(..=1_000_000))]
    pub captures: Option<u64>,
    /// Rounds of bisection for each limit found by simulation; 0 leaves limits out. Left out: 6, or 3 with --quick.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(..=20))]
    pub rounds: Option<u32>,
    /// Rates asked for in exposures, one sigma.
    #[arg(long, value_name = "ROLL,PITCH,YAW", value_parser = rates, default_value = "0.005,0.003,0.003")]
    pub rates_deg_s: Rates,
    /// Longest stretch of the programme flown. Left out: all of it, or 6 with --quick.
    #[arg(long, value_name = "H", value_parser = super::args::hours)]
    pub hours: Option<f64>,
    /// Seed of the random draws, in place of the scenario's.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(..=9_007_199_254_740_991))]
    pub seed: Option<u64>,
    /// Put the settings the study ends with into the scenario's settings file, comments kept; a scenario that names
    /// none is given one.
    #[arg(long)]
    pub write: bool,
    /// Folder for the results; one that holds anything is refused.
    /// Left out: results/tune-NAME, or results/tune-NAME-2 and so on if that is taken.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Go on with the interrupted study in this folder; the other arguments must be the same.
    #[arg(long, value_name = "DIR", conflicts_with = "out")]
    pub resume: Option<PathBuf>,
    /// Print the JSON Schema of study.json, and do nothing else.
    #[arg(long)]
    pub schema: bool,
    /// No progress and no summary; errors are still shown.
    #[arg(long, short)]
    pub quiet: bool,
    /// Print the study as JSON instead of text.
    #[arg(long)]
    pub json: bool,
}

/// Rates about roll, pitch, yaw, degrees a second.
#[derive(Clone, Copy, Debug)]
pub struct Rates(pub [f64; 3]);

fn rates(text: &str) -> Result<Rates, String> {
    let numbers: Option<Vec<f64>> = text.split(',').map(|part| part.trim().parse().ok()).collect();
    match numbers.as_deref() {
        Some(&[roll, pitch, yaw]) if [roll, pitch, yaw].iter().all(|rate| (1e-6..=1.0).contains(rate)) => {
            Ok(Rates([roll, pitch, yaw]))
        }
        Some([_, _, _]) => Err("allowed: 0.000001 to 1 °/s each".to_owned()),
        _ => Err("write three rates in °/s, e.g. 0.005,0.003,0.003".to_owned()),
    }
}

fn knob(text: &str) -> Result<Knob, String> {
    let parts = || {
        let (key, range) = text.split_once('=')?;
        let (low, high) = range.split_once(':')?;
        Some(Knob { key: key.trim().to_owned(), low: low.trim().parse().ok()?, high: high.trim().parse().ok()? })
    };
    parts().ok_or_else(|| "write GROUP.KEY=LOW:HIGH, e.g. pitch.deadband_deg=0.1:0.5".to_owned())
}
