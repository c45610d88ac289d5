//! Arguments of `check`.

use std::path::PathBuf;

use clap::{Args as Group, ValueEnum};

/// `check`.
#[derive(Debug, Default, Group)]
#[command(after_help = "\
Examples:
  stillframe check                              the built-in day's own load
  stillframe check --example-wrong              what a refusal looks like
  stillframe check next.txt --scenario my.toml  a listing, or the bytes as on the wire
  stillframe check next.txt --scenario my.toml --on-board now.txt --from results/my-1
                                                in flight: difference, and what is left as last heard
  stillframe check --json | jq .contacts        for other programs (schema in the handbook)")]
pub struct CheckArgs {
    /// File of the load: a listing, or bytes as on the wire. Left out: the load made from the scenario's programme.
    pub load: Option<PathBuf>,
    /// Scenario file: vehicle, orbit, stations, areas; left out: the built-in demonstration.
    #[arg(long, value_name = "FILE")]
    pub scenario: Option<PathBuf>,
    /// File of the load in force on board, for the difference and its counter.
    #[arg(long, value_name = "FILE")]
    pub on_board: Option<PathBuf>,
    /// Take time, film and gas from the last telemetry heard in this results folder of `fly`.
    #[arg(long, value_name = "DIR")]
    pub from: Option<PathBuf>,
    /// Time of sending: seconds since the start, or UTC.
    #[arg(long, value_name = "TIME")]
    pub now: Option<String>,
    /// Film left.
    #[arg(long, value_name = "M", value_parser = amount)]
    pub film_m: Option<f64>,
    /// Gas left.
    #[arg(long, value_name = "KG", value_parser = amount)]
    pub gas_kg: Option<f64>,
    /// Energy left.
    #[arg(long, value_name = "WH", value_parser = amount)]
    pub energy_wh: Option<f64>,
    /// Counter of the load in force, where the load itself is not at hand.
    #[arg(long, value_name = "N", conflicts_with = "on_board")]
    pub counter: Option<u16>,
    /// Stage of the mission; left out: on the pad at time 0, in flight after.
    #[arg(long, value_enum, value_name = "STAGE")]
    pub stage: Option<StageWord>,
    /// Check the scenario's own load after mistakes of the kind that lose missions.
    #[arg(long, conflicts_with = "load")]
    pub example_wrong: bool,
    /// Folder for the results; one that holds anything is refused.
    /// Left out: results/check-NAME, numbered if that is taken.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// No summary; errors are still shown.
    #[arg(long, short)]
    pub quiet: bool,
    /// Print the check as JSON instead of text.
    #[arg(long)]
    pub json: bool,
}

/// Stage of the mission.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum StageWord {
    /// On the pad: the load goes in over the test connector.
    Pad,
    /// In flight.
    Flying,
    /// Film is cut and sealed.
    Secured,
}

fn amount(text: &str) -> Result<f64, String> {
    let value: f64 = text.parse().map_err(|_| "write a number".to_owned())?;
    if (0.0..=1e6).contains(&value) { Ok(value) } else { Err("allowed: 0 to 1000000".to_owned()) }
}
