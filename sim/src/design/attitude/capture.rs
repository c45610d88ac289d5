//! Captures: from tip-off at some rate in some attitude to hold, and what it cost.

use super::{
    subject::Subject,
    trial::{Trial, TrialError, tick},
};
use crate::{
    flight::{closed_loop::ClosedLoop, rows::attitude_truth},
    noise::NoiseSource,
    scenario::Loaded,
};
use nalgebra::Vector3;
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use stillframe_controller::{attitude::mode::Mode, settings::Settings};

/// Longest capture flown, s: two revolutions.
pub const PATIENCE_S: f64 = 10_800.0;
/// Largest true error that counts as captured, rad (5°: coarse deadbands and a young heading).
const CAPTURED_RAD: f64 = 0.0873;
/// Ticks between looks at the truth.
const LOOK_TICKS: u64 = 100;
/// Gas allowed over the least: half as much again.
pub const GAS_FACTOR: f64 = 1.5;

/// Where a capture starts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TipOff {
    /// Roll, pitch, yaw, rad.
    pub attitude_rad: [f64; 3],
    /// Body rates, rad/s.
    pub rate_rad_s: [f64; 3],
}

/// One capture.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
pub struct Capture {
    /// Attitude at tip-off, degrees.
    pub attitude_deg: [f64; 3],
    /// Rates at tip-off, degrees a second.
    pub rate_deg_s: [f64; 3],
    /// Time until all axes were held and truly the right way round, s; none if that never came.
    pub captured_s: Option<f64>,
    /// Gas used until then, kg.
    pub gas_kg: f64,
    /// 1.5 × (momentum at tip-off and the disturbances' impulse undone, and one half-turn at the rate limit), kg.
    pub allowed_kg: f64,
    /// Largest true error about any axis at the end, degrees.
    pub error_deg: f64,
}

impl Capture {
    /// Held the right way up and round within the time.
    pub fn captured(&self) -> bool {
        self.captured_s.is_some()
    }

    /// For no more gas than allowed.
    pub fn within_gas(&self) -> bool {
        self.gas_kg <= self.allowed_kg
    }
}

/// Random tip-offs: any attitude, rates up to `most_rad_s` about each axis. Draw `number` is always the same.
pub fn drawn(seed: u64, number: u64, most_rad_s: f64) -> TipOff {
    let source = NoiseSource::new(seed, 0, "tip-offs", 0);
    let even = |first: u64| [0, 1, 2].map(|draw| source.uniform(6 * number + first + draw));
    let (rate, turn) = (even(0), even(3));
    let whole = std::f64::consts::TAU;
    TipOff {
        rate_rad_s: rate.map(|share| (2.0 * share - 1.0) * most_rad_s),
        // Even over the sphere: the sine of pitch is even.
        attitude_rad: [(turn[0] - 0.5) * whole, (2.0 * turn[1] - 1.0).asin(), (turn[2] - 0.5) * whole],
    }
}

/// A map: `side` × `side` pairs of roll and pitch rates up to ±`most_rad_s`, yaw rate half of pitch's, in the
/// scenario's own attitude.
pub fn grid(loaded: &Loaded, side: usize, most_rad_s: f64) -> Vec<TipOff> {
    let at = |k: usize| (2.0 * k as f64 / (side.max(2) - 1) as f64 - 1.0) * most_rad_s;
    let attitude_rad = loaded.scenario.vehicle.attitude_rad;
    let pairs = (0..side).flat_map(|pitch| (0..side).map(move |roll| (roll, pitch)));
    pairs.map(|(roll, pitch)| TipOff { attitude_rad, rate_rad_s: [at(roll), at(pitch), 0.5 * at(pitch)] }).collect()
}

/// Flies all captures on all cores, in order of the list. `step` is called after each.
///
/// # Errors
/// [`TrialError`] of the first that cannot be flown.
pub fn fly_all(
    loaded: &Loaded,
    settings: &Settings,
    subject: &Subject,
    seed: u64,
    list: &[TipOff],
    step: &(impl Fn() + Sync),
) -> Result<Vec<Capture>, TrialError> {
    list.par_iter()
        .map(|tip_off| {
            let flown = fly(loaded, settings, subject, seed, tip_off);
            step();
            flown
        })
        .collect()
}

/// A vehicle that has just left its carrier so, without faults and programme.
///
/// # Errors
/// [`TrialError`] if it cannot be built.
pub fn start(loaded: &Loaded, settings: &Settings, seed: u64, tip_off: &TipOff) -> Result<ClosedLoop, TrialError> {
    let trial = Trial::new(loaded, settings, seed).idle(PATIENCE_S + 120.0).with(|scenario| {
        scenario.vehicle.attitude_rad = tip_off.attitude_rad;
        scenario.vehicle.tip_off_rad_s = tip_off.rate_rad_s;
    });
    trial.start()
}

fn fly(
    loaded: &Loaded,
    settings: &Settings,
    subject: &Subject,
    seed: u64,
    tip_off: &TipOff,
) -> Result<Capture, TrialError> {
    let mut flight = start(loaded, settings, seed, tip_off)?;
    let mut captured_s = None;
    while captured_s.is_none() && flight.time_s() < PATIENCE_S - 1.0 {
        tick(&mut flight)?;
        let held = matches!(flight.controller.mode(), Mode::Coarse | Mode::Fine);
        if held && flight.plant.ticks().is_multiple_of(LOOK_TICKS) && error_rad(&mut flight) < CAPTURED_RAD {
            captured_s = Some(flight.time_s());
        }
    }
    let error_deg = error_rad(&mut flight).to_degrees();
    Ok(Capture {
        attitude_deg: tip_off.attitude_rad.map(f64::to_degrees),
        rate_deg_s: tip_off.rate_rad_s.map(f64::to_degrees),
        captured_s,
        gas_kg: flight.plant.tank().used_kg(),
        allowed_kg: GAS_FACTOR * least_kg(settings, subject, tip_off, &flight.plant.ledger().disturbance_body_nms),
        error_deg,
    })
}

/// Largest true error about any axis, rad.
fn error_rad(flight: &mut ClosedLoop) -> f64 {
    let truth = flight.plant.truth();
    let steering_rad = f64::from(flight.controller.attitude().steering_rad);
    attitude_truth(&truth, steering_rad, 0.0).error_rad.amax()
}

/// Least gas of a capture, kg: momentum at tip-off and the disturbances' impulse `brought_nms` undone axis by axis, and
/// a half-turn about the dearest axis at its rate limit.
pub fn least_kg(settings: &Settings, subject: &Subject, tip_off: &TipOff, brought_nms: &Vector3<f64>) -> f64 {
    let jets = subject.jets();
    let cost = |axis: usize, rate_rad_s: f64| jets[axis].inertia_kg_m2 * rate_rad_s.abs() * jets[axis].kg_per_nms();
    let momentum = |axis| cost(axis, tip_off.rate_rad_s[axis]) + brought_nms[axis] * jets[axis].kg_per_nms();
    let limit = |axis: usize| {
        let key = format!("{}.rate_limit_deg_s", super::keys::AXES[axis]);
        super::keys::get(settings, &key).unwrap_or(f64::NAN).to_radians()
    };
    // Up to the rate and down from it.
    let turn = (0..3).map(|axis| 2.0 * cost(axis, limit(axis))).fold(0.0, f64::max);
    (0..3).map(momentum).sum::<f64>() + turn
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{flight::settings::for_run, scenario::demo::Demo};

    fn flown(captured_s: Option<f64>, gas_kg: f64) -> Capture {
        let (attitude_deg, rate_deg_s) = ([0.0; 3], [0.0; 3]);
        Capture { attitude_deg, rate_deg_s, captured_s, gas_kg, allowed_kg: 0.020, error_deg: 0.3 }
    }

    #[test]
    fn captured_and_within_gas_are_two_things() {
        assert!(flown(Some(1_800.0), 0.030).captured() && !flown(Some(1_800.0), 0.030).within_gas());
        assert!(!flown(None, 0.010).captured() && flown(None, 0.020).within_gas());
        assert!(!flown(None, f64::NAN).within_gas());
    }

    #[test]
    fn the_least_gas_is_the_momentum_and_one_half_turn() {
        let loaded = Demo::Strip.load().expect("the demonstration is sound");
        let (settings, _) = for_run(&loaded).expect("its settings are sound");
        let built = Trial::new(&loaded, &settings, 1).built().expect("it builds");
        let subject = Subject::new(&loaded, &built, &settings);
        let least = |rate_deg_s: [f64; 3], brought_nms: Vector3<f64>| {
            let rate_rad_s = rate_deg_s.map(f64::to_radians);
            least_kg(&settings, &subject, &TipOff { attitude_rad: [0.0; 3], rate_rad_s }, &brought_nms)
        };
        // By hand, with 68 s and the drawing's levers: 2 × 318.1 kg·m² × 0.3 °/s / 1.2 m = 2.776 N·s.
        let turn_kg = least([0.0; 3], Vector3::zeros());
        assert!((turn_kg / (2.776 / (68.0 * 9.80665)) - 1.0).abs() < 2e-3, "{turn_kg}");
        // 1 °/s about roll: 75.4 kg·m² / 0.6 m = 2.193 N·s; and 0.5 N·m·s that the air brings about yaw, 0.417 N·s.
        let more_kg = least([-1.0, 0.0, 0.0], Vector3::new(0.0, 0.0, 0.5)) - turn_kg;
        assert!((more_kg / ((2.193 + 0.417) / (68.0 * 9.80665)) - 1.0).abs() < 5e-3, "{more_kg}");
    }

    #[test]
    fn tip_offs_are_drawn_evenly_over_rates_and_over_the_sphere() {
        let drawn: Vec<TipOff> = (0..4_000).map(|number| drawn(1, number, 0.05)).collect();
        let mean = |of: &dyn Fn(&TipOff) -> f64| drawn.iter().map(of).sum::<f64>() / drawn.len() as f64;
        for axis in 0..3 {
            // Even over ±a: mean 0, mean square a²/3; the standard errors are 0.9 % of a and 1.4 % of a²/3.
            assert!(mean(&|one| one.rate_rad_s[axis]).abs() < 0.03 * 0.05);
            let square = mean(&|one| one.rate_rad_s[axis].powi(2)) / (0.05 * 0.05 / 3.0);
            assert!((square - 1.0).abs() < 0.05, "{square}");
        }
        // Even over the sphere: half of all noses lie within 30° of level.
        let level = mean(&|one| f64::from(u8::from(one.attitude_rad[1].abs() < std::f64::consts::FRAC_PI_6)));
        assert!((level - 0.5).abs() < 0.03, "{level}");
    }
}
