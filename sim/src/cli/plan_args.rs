//! Arguments of `plan`.

use std::path::PathBuf;

use clap::Args as Group;

/// `plan`.
#[derive(Debug, Default, Group)]
#[command(after_help = "\
Examples:
  stillframe plan                                the built-in day over its own areas
  stillframe plan my.toml                        another scenario, over its own areas
  stillframe plan my.toml --areas areas.geojson  over areas from a map
  stillframe plan my.toml --write && stillframe fly my.toml
                                                 put the plan into the scenario, and fly it
  stillframe plan --json | jq .bursts            for other programs (schema in the handbook)")]
pub struct PlanArgs {
    /// Scenario file; left out: the built-in demonstration.
    pub scenario: Option<PathBuf>,
    /// GeoJSON file of areas, in place of the scenario's: polygons or points with name, priority, Sun limits, cover.
    #[arg(long, value_name = "FILE")]
    pub areas: Option<PathBuf>,
    /// Put the plan's camera commands into the scenario, comments kept; with --areas the areas too.
    #[arg(long)]
    pub write: bool,
    /// Sigmas that camera-on and camera-off are padded by, in place of the scenario's.
    #[arg(long, value_name = "K", value_parser = sigmas)]
    pub sigmas: Option<f64>,
    /// Film that the plan may use, m, in place of the scenario's.
    #[arg(long, value_name = "M", value_parser = film)]
    pub film_m: Option<f64>,
    /// Print the JSON Schema of plan.json, and do nothing else.
    #[arg(long, conflicts_with_all = ["scenario", "areas", "write", "sigmas", "film_m", "out", "json"])]
    pub schema: bool,
    /// Folder for the results; one that holds anything is refused.
    /// Left out: results/plan-NAME, or results/plan-NAME-2 and so on if that is taken.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// No summary; errors are still shown.
    #[arg(long, short)]
    pub quiet: bool,
    /// Print the plan as JSON instead of text.
    #[arg(long)]
    pub json: bool,
}

fn within(text: &str, low: f64, high: f64) -> Result<f64, String> {
    let value: f64 = text.parse().map_err(|_| "write a number".to_owned())?;
    if (low..=high).contains(&value) { Ok(value) } else { Err(format!("allowed: {low} to {high}")) }
}

fn sigmas(text: &str) -> Result<f64, String> {
    within(text, 0.0, 6.0)
}

fn film(text: &str) -> Result<f64, String> {
    within(text, 0.0, 10_000.0)
}
