//! Margins by simulation: how far one thing may be wrong until the limit cycle grows or chatters.
//!
//! Each doubt is driven up by bisection on a logarithmic scale, every trial a flight of the real controller in the
//! real plant from tip-off through capture into hold. *Broken* means: fine hold lost or never reached, more than
//! three times the pulses (and ten an hour more), more than twice the gas, or three times the largest error of the
//! undisturbed flight.

use super::{
    limit_cycle::AxisJets,
    measure::{Goals, Measured, measure},
    trial::{Trial, TrialError},
};
use crate::scenario::{Loaded, Scenario};
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use stillframe_controller::settings::Settings;

/// Flight of one trial, s.
const FLIGHT_S: f64 = 5_400.0;
/// Time at which measuring begins, s: what follows fine hold has died out.
const MEASURED_FROM_S: f64 = 2_700.0;

/// One thing that may be wrong.
#[derive(Clone, Copy, Debug, Deserialize, Eq, JsonSchema, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Doubt {
    /// The vehicle is lighter to turn than the law believes.
    InertiaBelow,
    /// The vehicle is heavier to turn than the law believes.
    InertiaAbove,
    /// The jets push harder than the law believes.
    ThrustAbove,
    /// The jets push weaker than the law believes.
    ThrustBelow,
    /// Valves open and shut later.
    Delay,
    /// Gyros are noisier.
    GyroNoise,
    /// The horizon sensor is noisier.
    HorizonNoise,
}

/// Where a doubt breaks the loop.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
pub struct Limit {
    /// What was made wrong.
    pub doubt: Doubt,
    /// Largest amount that held: a factor, or seconds of further delay.
    pub holds: f64,
    /// Smallest amount that broke; none if even the largest tried held.
    pub breaks: Option<f64>,
    /// What broke.
    pub how: String,
    /// Unit: `×` or `s`.
    pub unit: String,
}

impl Doubt {
    /// All of them.
    pub const ALL: [Self; 7] = [
        Self::InertiaBelow,
        Self::InertiaAbove,
        Self::ThrustAbove,
        Self::ThrustBelow,
        Self::Delay,
        Self::GyroNoise,
        Self::HorizonNoise,
    ];

    /// Words for people.
    pub fn name(self) -> &'static str {
        match self {
            Self::InertiaBelow => "inertia smaller than believed by",
            Self::InertiaAbove => "inertia larger than believed by",
            Self::ThrustAbove => "thrust above what is believed by",
            Self::ThrustBelow => "thrust below what is believed by",
            Self::Delay => "valves later by",
            Self::GyroNoise => "gyro noise by",
            Self::HorizonNoise => "horizon noise by",
        }
    }

    /// Smallest and largest amount tried.
    fn range(self) -> (f64, f64) {
        match self {
            Self::InertiaBelow | Self::InertiaAbove | Self::ThrustAbove | Self::ThrustBelow => (1.05, 8.0),
            Self::Delay => (0.005, 0.19),
            Self::GyroNoise | Self::HorizonNoise => (1.25, 64.0),
        }
    }

    fn unit(self) -> &'static str {
        if self == Self::Delay { "s" } else { "×" }
    }

    /// Makes the scenario or the law's belief wrong by `amount`.
    fn apply(self, amount: f64, scenario: &mut Scenario, settings: &mut Settings) {
        let scale = |settings: &mut Settings, factor: f64| {
            let body = &mut settings.body;
            for inertia in [&mut body.inertia_roll_kg_m2, &mut body.inertia_pitch_kg_m2, &mut body.inertia_yaw_kg_m2] {
                *inertia = (f64::from(*inertia) * factor) as f32;
            }
        };
        match self {
            Self::InertiaBelow => scale(settings, amount),
            Self::InertiaAbove => scale(settings, 1.0 / amount),
            Self::ThrustAbove => scenario.jets.iter_mut().for_each(|jet| jet.thrust_n *= amount),
            Self::ThrustBelow => scenario.jets.iter_mut().for_each(|jet| jet.thrust_n /= amount),
            Self::Delay => scenario.jets.iter_mut().for_each(|jet| {
                jet.open_delay_s += amount;
                jet.close_delay_s += amount;
            }),
            Self::GyroNoise => {
                scenario.gyro.random_walk_rad_rt_s *= amount;
                scenario.gyro.bias_instability_rad_s *= amount;
            }
            Self::HorizonNoise => scenario.horizon.noise_rad *= amount,
        }
    }
}

/// Everything one search needs.
#[derive(Clone, Copy, Debug)]
pub struct Bench<'a> {
    /// Scenario.
    pub loaded: &'a Loaded,
    /// Settings under test.
    pub settings: &'a Settings,
    /// Seed.
    pub seed: u64,
    /// Levers behind the least gas.
    pub jets: &'a [AxisJets; 3],
}

impl Bench<'_> {
    fn fly(&self, wrong: Option<(Doubt, f64)>) -> Result<Measured, TrialError> {
        let mut settings = self.settings.clone();
        let mut loaded = self.loaded.clone();
        if let Some((doubt, amount)) = wrong {
            doubt.apply(amount, &mut loaded.scenario, &mut settings);
        }
        let trial = Trial::new(&loaded, &settings, self.seed).idle(FLIGHT_S);
        measure(&trial, self.jets, &Goals::default(), MEASURED_FROM_S, FLIGHT_S)
    }
}

/// Searches the limit of every doubt, on all cores. `step` is called whenever one is done.
///
/// # Errors
/// If the sound vehicle itself cannot be flown.
pub fn limits(bench: &Bench<'_>, rounds: u32, step: &(impl Fn() + Sync)) -> Result<Vec<Limit>, TrialError> {
    let sound = bench.fly(None)?;
    let found: Vec<Limit> = Doubt::ALL
        .par_iter()
        .map(|&doubt| {
            let limit = limit(bench, &sound, doubt, rounds);
            step();
            limit
        })
        .collect();
    Ok(found)
}

fn limit(bench: &Bench<'_>, sound: &Measured, doubt: Doubt, rounds: u32) -> Limit {
    let judged = |amount: f64| match bench.fly(Some((doubt, amount))) {
        Ok(flown) => broken(sound, &flown),
        Err(error) => Some(format!("refused: {error}")),
    };
    let (low, high) = doubt.range();
    let unit = doubt.unit().to_owned();
    let Some(mut how) = judged(high) else {
        return Limit { doubt, holds: high, breaks: None, how: String::new(), unit };
    };
    let (mut holds, mut breaks) = (low, high);
    if let Some(at_once) = judged(low) {
        let none = if doubt == Doubt::Delay { 0.0 } else { 1.0 };
        return Limit { doubt, holds: none, breaks: Some(low), how: at_once, unit };
    }
    for _ in 0..rounds {
        let middle = (holds * breaks).sqrt();
        match judged(middle) {
            Some(why) => (breaks, how) = (middle, why),
            None => holds = middle,
        }
    }
    Limit { doubt, holds, breaks: Some(breaks), how, unit }
}

/// What is broken about `flown`, measured against the sound flight.
fn broken(sound: &Measured, flown: &Measured) -> Option<String> {
    if flown.capture_s.is_none() || flown.time_s < 600.0 {
        return Some("fine hold was never reached".into());
    }
    if flown.fine_share < 0.99 {
        return Some("fine hold was lost".into());
    }
    let (was, is) = (sound.pulses_per_hour(), flown.pulses_per_hour());
    if is > 3.0 * was && is > was + 10.0 {
        return Some(format!("{is:.0} pulses an hour in place of {was:.0}: it chatters"));
    }
    let (was, is) = (sound.gas_kg_day(), flown.gas_kg_day());
    if is > 2.0 * was {
        return Some(format!("{:.0} g of gas a day in place of {:.0} g", is * 1e3, was * 1e3));
    }
    let worst = |measured: &Measured| measured.axes.iter().map(|axis| axis.error_max_deg).fold(0.0, f64::max);
    let (was, is) = (worst(sound), worst(flown));
    (is > 3.0 * was).then(|| format!("errors of {is:.2}° in place of {was:.2}°: the cycle grows"))
}
