//! One axis as a relay in a sampled loop with delay: loci, margins, and the cycles that harmonic balance finds.
//!
//! The linear part is exact for samples: a double integrator behind a zero-order hold, angle plus `lead` times
//! the smoothed rate, one tick of output delay and the valve's own. Rates are taken *blind*: smoothed by
//! `rate_time_s` with no knowledge of the jets' own impulses. The flight code knows them, so its loop is better
//! than this by as much as its inertia and thrust are true; margins found here are on the safe side, and
//! simulation ([`super::stress`]) finds the real ones.

use super::describing::{Relay, angle, size, turn};
use nalgebra::Complex;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

/// Linear part of one axis' loop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Linear {
    /// Angular acceleration of the jets, rad/s².
    pub acceleration_rad_s2: f64,
    /// Weight of rate against angle, s.
    pub lead_s: f64,
    /// Smoothing of the rate, s; 0 for none.
    pub rate_time_s: f64,
    /// Interval of the law, s.
    pub sample_s: f64,
    /// Delay from the sample to thrust, s.
    pub delay_s: f64,
}

impl Linear {
    /// Response of θ + τω to the jets' output (1: on), at `omega_rad_s`.
    pub fn response(&self, omega_rad_s: f64) -> Complex<f64> {
        let t = self.sample_s;
        let one = Complex::new(1.0, 0.0);
        let z = turn(omega_rad_s * t);
        let angle = (z + one) / ((z - one) * (z - one)) * (0.5 * t * t);
        let rate = one / (z - one) * t;
        let share = if self.rate_time_s > t { t / self.rate_time_s } else { 1.0 };
        let smooth = z * share / (z - one * (1.0 - share));
        let line = angle + smooth * rate * self.lead_s;
        line * turn(-omega_rad_s * self.delay_s) * self.acceleration_rad_s2
    }

    /// Highest frequency at which the samples mean anything, rad/s.
    pub fn fastest_rad_s(&self) -> f64 {
        0.95 * PI / self.sample_s
    }
}

/// A cycle that harmonic balance finds.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
pub struct Balance {
    /// Amplitude of θ + τω, rad.
    pub amplitude_rad: f64,
    /// Frequency, rad/s.
    pub omega_rad_s: f64,
    /// Whether a small change dies out.
    pub stable: bool,
}

/// Margins of one axis.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
pub struct Margins {
    /// Factor by which the jets could be stronger (or the inertia smaller) until the loci meet, dB.
    pub gain_db: Option<f64>,
    /// Frequency at which the phase reaches −180°, rad/s.
    pub phase_crossover_rad_s: Option<f64>,
    /// Distance in phase where the loop's gain at the relay's largest gain is one, degrees.
    pub phase_deg: f64,
    /// That frequency, rad/s.
    pub gain_crossover_rad_s: f64,
    /// Further delay that the phase margin would bear, s.
    pub delay_s: f64,
    /// Cycles found.
    pub cycles: Vec<Balance>,
}

/// Phase of the linear part, unwrapped from −180° at low frequency, rad.
fn phase(linear: &Linear, omega_rad_s: f64) -> f64 {
    let raw = angle(linear.response(omega_rad_s));
    // The loop's phase runs from −180° up by the lead and then down; it stays within (−360°, −0°] of interest.
    if raw > 0.0 { raw - 2.0 * PI } else { raw }
}

/// Root of a function that changes its sign between `low` and `high`, by bisection on the logarithm.
fn log_root(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let rising = f(low) < 0.0;
    for _ in 0..100 {
        let middle = (low * high).sqrt();
        if (f(middle) < 0.0) == rising { low = middle } else { high = middle }
    }
    (low * high).sqrt()
}

/// Points spread evenly in the logarithm.
pub fn log_points(low: f64, high: f64, count: usize) -> impl Iterator<Item = f64> {
    let ratio = (high / low).ln() / (count.max(2) - 1) as f64;
    (0..count).map(move |k| low * (ratio * k as f64).exp())
}

/// Frequency at which the linear part has the size `wanted`, rad/s.
fn frequency_of_size(linear: &Linear, wanted: f64) -> f64 {
    log_root(1e-7, linear.fastest_rad_s(), |w| size(linear.response(w)) - wanted)
}

/// Margins of the loop of `linear` and `relay` (level 1).
pub fn margins(linear: &Linear, relay: &Relay) -> Margins {
    let (at, largest) = relay.largest();
    let gain_crossover_rad_s = frequency_of_size(linear, 1.0 / largest);
    let lag = -angle(relay.gain(at));
    let phase_rad = PI + phase(linear, gain_crossover_rad_s) - lag;
    let crossover = phase_crossover(linear);
    Margins {
        gain_db: crossover.map(|w| -20.0 * (size(linear.response(w)) * largest).log10()),
        phase_crossover_rad_s: crossover,
        phase_deg: phase_rad.to_degrees(),
        gain_crossover_rad_s,
        delay_s: phase_rad / gain_crossover_rad_s,
        cycles: cycles(linear, relay),
    }
}

/// Where the phase, after its lead, falls through −180°, rad/s.
fn phase_crossover(linear: &Linear) -> Option<f64> {
    let above = |w: f64| phase(linear, w) + PI;
    let points: Vec<f64> = log_points(1e-3, linear.fastest_rad_s(), 400).collect();
    let pair = points.windows(2).find(|pair| above(pair[0]) > 0.0 && above(pair[1]) <= 0.0)?;
    Some(log_root(pair[0], pair[1], above))
}

/// Solutions of 1 + N(A)·L(jω) = 0.
fn cycles(linear: &Linear, relay: &Relay) -> Vec<Balance> {
    let omega = |a: f64| frequency_of_size(linear, 1.0 / size(relay.gain(a)));
    // Positive: the linear part turns back less than the relay may add; the oscillation at this amplitude dies.
    let spare = |a: f64| PI + phase(linear, omega(a)) + angle(relay.gain(a));
    let points: Vec<f64> = log_points(relay.on * (1.0 + 1e-9), relay.on * 1e3, 600).collect();
    let crossings = points.windows(2).filter(|pair| (spare(pair[0]) < 0.0) != (spare(pair[1]) < 0.0));
    crossings
        .map(|pair| {
            let amplitude_rad = log_root(pair[0], pair[1], spare);
            // Growing below and dying above: the amplitude comes back to it.
            let stable = spare(pair[0]) < 0.0;
            Balance { amplitude_rad, omega_rad_s: omega(amplitude_rad), stable }
        })
        .collect()
}
