//! Allan deviation of the simulated gyros gives back the coefficients they were built from.
//!
//! IEEE Std 952, annex C: σ²(τ) = 3Q²/τ² + N²/τ + (2 ln 2/π)B² + K²τ/3 for quantisation, angle random walk, bias
//! instability and rate random walk.

use crate::{assert_near, assert_relative};
use nalgebra::{Matrix4, Vector3, Vector4};
use stillframe::plant::sensors::{GyroNoise, GyroParameters, Gyros};

/// Degree per hour, rad/s.
const DEG_H: f64 = std::f64::consts::PI / 180.0 / 3600.0;

/// Sums of `angle` turned (one more than there are readings) at every `stride`th start: Allan variance over `m`
/// intervals of `step_s`. A stride of 1 overlaps, one of `m` does not.
fn allan_variance(angle: &[f64], step_s: f64, m: usize, stride: usize) -> f64 {
    let terms = (0..angle.len() - 2 * m).step_by(stride);
    let count = terms.len() as f64;
    let sum: f64 = terms.map(|k| (angle[k + 2 * m] - 2.0 * angle[k + m] + angle[k]).powi(2)).sum();
    sum / (2.0 * count * (m as f64 * step_s).powi(2))
}

/// Running sum of rates.
fn angles(rates: impl Iterator<Item = f64>, step_s: f64) -> Vec<f64> {
    let mut angle = 0.0;
    std::iter::once(0.0)
        .chain(rates.map(|rate| {
            angle += rate * step_s;
            angle
        }))
        .collect()
}

/// The nine points of NIST SP 1065, table 30, and their deviations of table 31.
#[test]
fn the_estimator_has_its_published_values() {
    let points = [892.0, 809.0, 823.0, 798.0, 671.0, 644.0, 883.0, 903.0, 677.0];
    let angle = angles(points.into_iter(), 1.0);
    let deviation = |m, stride| allan_variance(&angle, 1.0, m, stride).sqrt();
    assert_near(deviation(1, 1), 91.22945, 5e-6);
    assert_near(deviation(2, 2), 115.8082, 5e-5);
    assert_near(deviation(2, 1), 85.95287, 5e-6);
}

const QUIET: GyroParameters = GyroParameters {
    drift_rad_s: Vector3::new(0.0, 0.0, 0.0),
    random_walk_rad_rts: 0.0,
    instability_rad_s: 0.0,
    rate_walk_rad_s_rts: 0.0,
    scale_error: Vector3::new(0.0, 0.0, 0.0),
    misalignment_rad: Vector3::new(0.0, 0.0, 0.0),
    range_rad_s: 0.2,
    quantum_rad_s: 0.0,
};

/// Angles shown by three gyros at a constant rate over `length_s`.
fn shown(parameters: &GyroParameters, seed: u64, step_s: f64, length_s: f64) -> [Vec<f64>; 3] {
    let mut gyros = Gyros::new(parameters.clone(), GyroNoise::new(seed, 0), step_s);
    let rate = Vector3::new(0.0, -243.0, 10.0) * DEG_H;
    let readings: Vec<[f32; 3]> = (0..(length_s / step_s) as u64).map(|sample| gyros.read(sample, &rate)).collect();
    [0, 1, 2].map(|axis| angles(readings.iter().map(|reading| f64::from(reading[axis])), step_s))
}

/// Mean Allan variance of the three.
fn variance(shown: &[Vec<f64>; 3], step_s: f64, m: usize) -> f64 {
    shown.iter().map(|angle| allan_variance(angle, step_s, m, 1)).sum::<f64>() / 3.0
}

/// A day of readings at the vehicle's own rate with all four at once, the sizes chosen so that each of them rules
/// somewhere; found by weighted least squares. An estimate over N intervals of τ has at least N degrees of freedom
/// (NIST SP 1065, section 5.4), so its relative variance is at most 2/N; neighbouring octaves are not quite
/// independent, for which the bound is three and a half deviations.
#[test]
fn a_day_of_readings_gives_back_all_four_coefficients() {
    const STEP_S: f64 = 0.02;
    const LENGTH_S: f64 = 86_400.0;
    let walk = 1.2 * DEG_H; // °/h·√s: 0.02 °/√h
    let quantum = 2.0 * walk / STEP_S.sqrt();
    let truth = [quantum * STEP_S / 12_f64.sqrt(), walk, 0.33 * DEG_H, 0.42 * DEG_H / 60.0];
    let built = GyroParameters {
        random_walk_rad_rts: truth[1],
        instability_rad_s: truth[2],
        rate_walk_rad_s_rts: truth[3],
        quantum_rad_s: quantum,
        ..QUIET
    };
    let found = shown(&built, 7, STEP_S, LENGTH_S);
    let (mut normal, mut right) = (Matrix4::zeros(), Vector4::zeros());
    let scale = truth.map(|coefficient| coefficient * coefficient);
    for octave in 0..20 {
        let m = 1_usize << octave;
        let tau_s = m as f64 * STEP_S;
        // Bias instability is made of processes from 2 s up: nothing of it is at the shortest τ, all of it from 10 s.
        if tau_s > 0.2 && tau_s < 10.0 {
            continue;
        }
        let floor = if tau_s < 10.0 { 0.0 } else { 2.0 * 2_f64.ln() / std::f64::consts::PI };
        let model =
            Vector4::new(3.0 * scale[0] / (tau_s * tau_s), scale[1] / tau_s, floor * scale[2], scale[3] * tau_s / 3.0);
        let weight = 1.5 * LENGTH_S / tau_s / model.sum().powi(2);
        normal += model * model.transpose() * weight;
        right += model * (variance(&found, STEP_S, m) * weight);
    }
    let covariance = normal.try_inverse().expect("all four show");
    let share = covariance * right;
    // How well a day can tell each of them: part of the coefficient, 1σ. A wider one would test nothing.
    let sharp = [0.005, 0.005, 0.05, 0.15];
    // The rest of a count is white only to exp(−π²/2) = 0.7 % where the angle walks by half a count a reading; the floor
    // of bias instability lies up to 3 % low, which the walk of the rate makes up for.
    let model_error = [0.007, 0.0, 0.03, 0.05];
    let found = [0, 1, 2, 3].map(|axis| (share[axis].max(0.0).sqrt(), 0.5 * covariance[(axis, axis)].sqrt()));
    println!("Q, N, B, K over the true ones, and their deviations: {found:.4?}");
    for (axis, (coefficient, sigma)) in found.iter().enumerate() {
        assert!(*sigma < sharp[axis], "{axis} ± {sigma}");
        let allowed = 3.5 * sigma + model_error[axis];
        assert!((coefficient - 1.0).abs() < allowed, "{axis}: {coefficient} ± {sigma}");
    }
}

/// Bias instability alone: a floor of 0.664·B, within the 3 % of its making and what 24 series of two days leave open
/// (2,000 degrees of freedom at the longest τ: 1.6 % of a deviation).
#[test]
fn bias_instability_has_a_flat_floor() {
    let built = GyroParameters { instability_rad_s: DEG_H, ..QUIET };
    let runs: Vec<_> = (0..8).map(|seed| shown(&built, seed, 1.0, 172_800.0)).collect();
    for m in [64, 256, 1024, 2048] {
        let mean = runs.iter().map(|run| variance(run, 1.0, m)).sum::<f64>() / runs.len() as f64;
        println!("{m} s: {:.4}", mean.sqrt() / DEG_H);
        assert_relative(mean.sqrt() / DEG_H, 0.664_282_470, 0.06);
    }
}

/// A count that keeps its rest falls with 1/τ; one that is cut off anew each time would fall with 1/√τ at best, and on
/// a steady rate not at all: the angle would run away.
#[test]
fn quantisation_is_that_of_the_angle() {
    let quantum = 40.0 * DEG_H;
    let built = GyroParameters { quantum_rad_s: quantum, random_walk_rad_rts: 4.0 * DEG_H, ..QUIET };
    let found = shown(&built, 3, 0.02, 3_600.0);
    let coarse = shown(&GyroParameters { quantum_rad_s: 0.0, ..built }, 3, 0.02, 3_600.0);
    for axis in 0..3 {
        let last = found[axis].len() - 1;
        // The same noise with and without counting: never more than half a count apart, and single precision.
        assert!((found[axis][last] - coarse[axis][last]).abs() < 0.5 * quantum * 0.02 + 2e-9 * 3_600.0);
    }
    // What counting adds is 3Q²/τ²: a quarter from one τ to twice of it.
    let added = |m| variance(&found, 0.02, m) - variance(&coarse, 0.02, m);
    let q2 = (quantum * 0.02).powi(2) / 12.0;
    assert_relative(added(1), 3.0 * q2 / 0.02_f64.powi(2), 0.05);
    assert_relative(added(2), 3.0 * q2 / 0.04_f64.powi(2), 0.1);
}
