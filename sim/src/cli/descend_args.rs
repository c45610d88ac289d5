//! Arguments of `descend`.

use std::path::PathBuf;

use clap::Args as Group;

/// `descend`.
#[derive(Debug, Default, Group)]
#[command(after_help = "\
Examples:
  stillframe descend                              the built-in return
  stillframe descend my.toml --pass 2             the second pass that reaches the zone
  stillframe descend --fault low-impulse=10       what a tenth less impulse does
  stillframe descend --fault drogue-failed --fault retro-pitch=-3
  stillframe descend --retro-not-heard            where it may be when no burn was heard
  stillframe descend --retro-heard 2026-06-11T08:23:05Z --orbit-drift-m 12000
  stillframe descend --json | jq .footprint       for other programs (schema in the handbook)

Faults: retro-pitch=DEG (positive is further back), retro-yaw=DEG, low-impulse=PERCENT, spin-failed or
spin-failed=RPM, early-drogue=S, g-switch-dead, drogue-failed, main-failed.
Nothing here is a release or a licence: range safety and the authorities of the launching state decide.")]
pub struct DescendArgs {
    /// Scenario file; left out: the built-in demonstration.
    pub scenario: Option<PathBuf>,
    /// Pass to use, counted from 1 as listed; left out: the one that misses the zone's centre least.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=1000))]
    pub pass: Option<u64>,
    /// Retro angle from the velocity, towards the ground, in place of the scenario's; 180 is straight back.
    #[arg(long, value_name = "DEG", value_parser = angle)]
    pub angle_deg: Option<f64>,
    /// Descents flown for the footprint.
    #[arg(long, value_name = "N", default_value_t = 2000, value_parser = clap::value_parser!(u32).range(10..=1_000_000))]
    pub runs: u32,
    /// Seed of the random draws, in place of the scenario's.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(..=9_007_199_254_740_991))]
    pub seed: Option<u64>,
    /// Suffer a failure; may be given several times.
    #[arg(long, value_name = "KIND[=AMOUNT]", value_parser = fault)]
    pub fault: Vec<Fault>,
    /// Late news: a burn was heard to begin at this time, UTC.
    #[arg(long, value_name = "UTC", conflicts_with = "retro_not_heard", value_parser = utc)]
    pub retro_heard: Option<jiff::Timestamp>,
    /// One sigma of that time.
    #[arg(long, value_name = "S", default_value_t = 1.0, requires = "retro_heard", value_parser = seconds)]
    pub heard_sigma_s: f64,
    /// Late news: a station listened through the time of the burn and heard none.
    #[arg(long)]
    pub retro_not_heard: bool,
    /// Late news: the vehicle was so far ahead of its prediction; negative is behind.
    #[arg(long, value_name = "M", allow_negative_numbers = true, value_parser = drift)]
    pub orbit_drift_m: Option<f64>,
    /// One sigma of that drift. Left out: a tenth of it, 500 m at least.
    #[arg(long, value_name = "M", requires = "orbit_drift_m", value_parser = drift_sigma)]
    pub drift_sigma_m: Option<f64>,
    /// Folder for the results; one that holds anything is refused.
    /// Left out: results/NAME-descent-SEED, numbered if that is taken.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// No progress and no summary; errors are still shown.
    #[arg(long, short)]
    pub quiet: bool,
    /// Print the study as JSON instead of text.
    #[arg(long)]
    pub json: bool,
}

/// A failure to suffer, in the units of the command line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// Retro attitude off in the plane, degrees.
    RetroPitch(f64),
    /// Retro attitude off out of the plane, degrees.
    RetroYaw(f64),
    /// Impulse missing, per cent.
    LowImpulse(f64),
    /// Spin, rev/min.
    SpinFailed(f64),
    /// Drogue early, s.
    EarlyDrogue(f64),
    /// The g-switch never closes.
    GSwitchDead,
    /// The drogue does not come out.
    DrogueFailed,
    /// The main does not come out.
    MainFailed,
}

/// Word of a failure that needs an amount, its range, and what it makes.
type WithAmount = (&'static str, f64, f64, fn(f64) -> Fault);

const WITH_AMOUNT: [WithAmount; 5] = [
    ("retro-pitch", -60.0, 60.0, Fault::RetroPitch),
    ("retro-yaw", -60.0, 60.0, Fault::RetroYaw),
    ("low-impulse", -20.0, 100.0, Fault::LowImpulse),
    ("spin-failed", 0.0, 300.0, Fault::SpinFailed),
    ("early-drogue", 0.0, 3600.0, Fault::EarlyDrogue),
];
const BARE: [(&str, Fault); 4] = [
    ("spin-failed", Fault::SpinFailed(0.0)),
    ("g-switch-dead", Fault::GSwitchDead),
    ("drogue-failed", Fault::DrogueFailed),
    ("main-failed", Fault::MainFailed),
];

fn fault(text: &str) -> Result<Fault, String> {
    let Some((word, amount)) = text.split_once('=') else {
        let found = BARE.iter().find(|(word, _)| *word == text);
        return found.map(|(_, fault)| *fault).ok_or_else(|| unknown(text));
    };
    let (_, low, high, make) = WITH_AMOUNT.iter().find(|entry| entry.0 == word).ok_or_else(|| unknown(word))?;
    let amount = amount.parse::<f64>().ok().filter(|amount| (*low..=*high).contains(amount));
    amount.map(make).ok_or_else(|| format!("{word}: write a number from {low} to {high}"))
}

fn unknown(word: &str) -> String {
    if WITH_AMOUNT.iter().any(|entry| entry.0 == word) {
        return format!("{word} needs an amount: {word}=NUMBER");
    }
    if BARE.iter().any(|entry| entry.0 == word) {
        return format!("{word} takes no amount");
    }
    let words: Vec<&str> = WITH_AMOUNT.iter().map(|e| e.0).chain(BARE.iter().skip(1).map(|e| e.0)).collect();
    format!("not a failure this knows; allowed: {}", words.join(", "))
}

fn angle(text: &str) -> Result<f64, String> {
    let value: f64 = text.parse().map_err(|_| "write a number of degrees".to_owned())?;
    if (91.0..=180.0).contains(&value) { Ok(value) } else { Err("allowed: 91 to 180 degrees".to_owned()) }
}

fn seconds(text: &str) -> Result<f64, String> {
    let value: f64 = text.parse().map_err(|_| "write a number of seconds".to_owned())?;
    if (0.0..=3600.0).contains(&value) { Ok(value) } else { Err("allowed: 0 to 3600 s".to_owned()) }
}

fn drift(text: &str) -> Result<f64, String> {
    let value: f64 = text.parse().map_err(|_| "write a number of metres".to_owned())?;
    if value.abs() <= 5e6 { Ok(value) } else { Err("allowed: -5000000 to 5000000 m".to_owned()) }
}

fn drift_sigma(text: &str) -> Result<f64, String> {
    drift(text).and_then(|value| if value >= 0.0 { Ok(value) } else { Err("a sigma is not negative".to_owned()) })
}

fn utc(text: &str) -> Result<jiff::Timestamp, String> {
    text.parse().map_err(|_| "write UTC like 2026-06-11T16:00:05Z".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faults_are_read_and_bad_ones_told_apart() {
        assert_eq!(fault("retro-pitch=-3"), Ok(Fault::RetroPitch(-3.0)));
        assert_eq!(fault("spin-failed"), Ok(Fault::SpinFailed(0.0)));
        assert_eq!(fault("spin-failed=5"), Ok(Fault::SpinFailed(5.0)));
        assert!(fault("low-impulse=200").expect_err("too much").contains("-20 to 100"));
        assert!(fault("low-impulse").expect_err("no amount").contains("needs an amount"));
        assert!(fault("main-failed=1").expect_err("an amount").contains("takes no amount"));
        assert!(fault("rain").expect_err("unknown").contains("drogue-failed"));
    }
}
