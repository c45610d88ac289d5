//! Three rate-integrating gyros: each counts small angles, and its reading is the count of one interval.
//!
//! Error terms are those of IEEE Std 952 (annex C): angle random walk N, bias instability B, rate random walk K and
//! quantisation Q, beside scale factor, misalignment, drift and the end of the range. Quantisation is that of the
//! counted angle: what does not fill a count is kept for the next reading, so that readings add up to the angle
//! turned, and Q is a count over √12.

use crate::noise::NoiseSource;
use nalgebra::Vector3;
use std::f64::consts::PI;

/// Rate gyros.
#[derive(Clone, Debug, PartialEq)]
pub struct GyroParameters {
    /// Constant drift, rad/s.
    pub drift_rad_s: Vector3<f64>,
    /// Angle random walk, rad/√s (coefficient N).
    pub random_walk_rad_rts: f64,
    /// Bias instability, rad/s (coefficient B): Allan deviation at its floor is √(2 ln 2/π)·B = 0.664·B.
    pub instability_rad_s: f64,
    /// Rate random walk, rad/s/√s (coefficient K).
    pub rate_walk_rad_s_rts: f64,
    /// Scale factor error of each gyro, –.
    pub scale_error: Vector3<f64>,
    /// Small rotation of the gyro block against the body, rad.
    pub misalignment_rad: Vector3<f64>,
    /// End of range, rad/s.
    pub range_rad_s: f64,
    /// Least step of the reading, rad/s: one count of angle over one interval. Zero for none.
    pub quantum_rad_s: f64,
}

/// What is wrong with the gyros.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct GyroFaults {
    /// Added to each reading, rad/s.
    pub bias_rad_s: Vector3<f64>,
    /// Added to the scale factor error.
    pub scale_error: Vector3<f64>,
    /// Reads zero.
    pub dead: [bool; 3],
}

/// Where the gyros' noise comes from.
#[derive(Clone, Debug)]
pub struct GyroNoise {
    /// Angle random walk.
    walk: NoiseSource,
    /// Bias instability, one source for each of its processes.
    flicker: [NoiseSource; FLICKER_TIMES_S.len()],
    /// Rate random walk.
    rate_walk: NoiseSource,
}

impl GyroNoise {
    /// The sources of a run.
    pub fn new(seed: u64, run: u32) -> Self {
        Self {
            walk: NoiseSource::new(seed, run, "gyro random walk", 0),
            flicker: [0, 1, 2, 3, 4, 5].map(|process| NoiseSource::new(seed, run, "gyro slow drift", process)),
            rate_walk: NoiseSource::new(seed, run, "gyro rate walk", 0),
        }
    }
}

/// Interval at which drifts move, s.
const SLOW_STEP_S: f64 = 1.0;

/// Correlation times of the processes that make up bias instability, s.
///
/// Flicker noise of spectral density B²/(2πf) is a sum of first-order Gauss–Markov processes of equal variance whose
/// times go up by equal ratios r; that variance is B²·ln r/π (the sum over ln T as an integral). With r = 8 the Allan
/// deviation is at its floor to 4 % from 16 s to nine hours, and falls off below (closed form of each process).
const FLICKER_TIMES_S: [f64; 6] = [8_192.0, 65_536.0, 1_024.0, 128.0, 16.0, 2.0];
const FLICKER_RATIO: f64 = 8.0;

/// The three rate gyros.
#[derive(Clone, Debug)]
pub struct Gyros {
    parameters: GyroParameters,
    /// Faults in force.
    pub faults: GyroFaults,
    noise: GyroNoise,
    flicker_rad_s: [Vector3<f64>; FLICKER_TIMES_S.len()],
    rate_walk_rad_s: Vector3<f64>,
    /// Sum of all that moves slowly, rad/s.
    slow_drift_rad_s: Vector3<f64>,
    slow_sample: u64,
    sample_s: f64,
    /// Angle turned that has not filled a count, in counts.
    left_over: Vector3<f64>,
}

impl Gyros {
    /// Gyros read every `sample_s`.
    pub fn new(parameters: GyroParameters, noise: GyroNoise, sample_s: f64) -> Self {
        let each_rad_s = flicker_rad_s(parameters.instability_rad_s);
        let flicker_rad_s = noise.flicker.map(|source| Vector3::from(source.gaussian3(0)) * each_rad_s);
        Self {
            slow_drift_rad_s: flicker_rad_s.iter().sum(),
            parameters,
            faults: GyroFaults::default(),
            noise,
            flicker_rad_s,
            rate_walk_rad_s: Vector3::zeros(),
            slow_sample: 0,
            sample_s,
            left_over: Vector3::zeros(),
        }
    }

    /// Reading number `sample` for the true body rate.
    pub fn read(&mut self, sample: u64, rate_rad_s: &Vector3<f64>) -> [f32; 3] {
        self.move_slow_drift(sample);
        let p = &self.parameters;
        let noise = Vector3::from(self.noise.walk.gaussian3(sample)) * (p.random_walk_rad_rts / self.sample_s.sqrt());
        let aligned = rate_rad_s + rate_rad_s.cross(&p.misalignment_rad);
        let scale = Vector3::repeat(1.0) + p.scale_error + self.faults.scale_error;
        let slow = p.drift_rad_s + self.slow_drift_rad_s + self.faults.bias_rad_s;
        let raw = aligned.component_mul(&scale) + slow + noise;
        let mut out = [0.0; 3];
        for axis in 0..3 {
            let cut = raw[axis].clamp(-p.range_rad_s, p.range_rad_s);
            let counted = count(cut, p.quantum_rad_s, &mut self.left_over[axis]);
            out[axis] = if self.faults.dead[axis] { 0.0 } else { counted as f32 };
        }
        out
    }

    /// Gauss–Markov processes in exact discrete form, and the walk of the rate.
    fn move_slow_drift(&mut self, sample: u64) {
        // A little more than the product, lest rounding put a whole second a sample late.
        let wanted = (sample as f64 * self.sample_s / SLOW_STEP_S + 1e-6) as u64;
        while self.slow_sample < wanted {
            self.slow_sample += 1;
            let each_rad_s = flicker_rad_s(self.parameters.instability_rad_s);
            let processes = self.flicker_rad_s.iter_mut().zip(&self.noise.flicker).zip(FLICKER_TIMES_S);
            for ((drift_rad_s, source), time_s) in processes {
                let keep = (-SLOW_STEP_S / time_s).exp();
                let fresh_rad_s = each_rad_s * (1.0 - keep * keep).sqrt();
                *drift_rad_s = *drift_rad_s * keep + Vector3::from(source.gaussian3(self.slow_sample)) * fresh_rad_s;
            }
            let step_rad_s = self.parameters.rate_walk_rad_s_rts * SLOW_STEP_S.sqrt();
            if step_rad_s > 0.0 {
                self.rate_walk_rad_s += Vector3::from(self.noise.rate_walk.gaussian3(self.slow_sample)) * step_rad_s;
            }
            self.slow_drift_rad_s = self.flicker_rad_s.iter().sum::<Vector3<f64>>() + self.rate_walk_rad_s;
        }
    }
}

/// Standard deviation of each process of a bias instability, rad/s.
fn flicker_rad_s(instability_rad_s: f64) -> f64 {
    instability_rad_s * (FLICKER_RATIO.ln() / PI).sqrt()
}

/// Whole counts of an interval, as a rate; the rest stays in `left_over`.
fn count(rate_rad_s: f64, quantum_rad_s: f64, left_over: &mut f64) -> f64 {
    if quantum_rad_s <= 0.0 {
        return rate_rad_s;
    }
    let turned = *left_over + rate_rad_s / quantum_rad_s;
    let whole = turned.round();
    *left_over = turned - whole;
    whole * quantum_rad_s
}

#[cfg(test)]
mod tests {
    use super::*;

    fn quiet() -> GyroParameters {
        GyroParameters {
            drift_rad_s: Vector3::zeros(),
            random_walk_rad_rts: 0.0,
            instability_rad_s: 0.0,
            rate_walk_rad_s_rts: 0.0,
            scale_error: Vector3::zeros(),
            misalignment_rad: Vector3::zeros(),
            range_rad_s: 0.1,
            quantum_rad_s: 1e-3,
        }
    }

    fn gyros(parameters: GyroParameters) -> Gyros {
        Gyros::new(parameters, GyroNoise::new(1, 0), 0.02)
    }

    #[test]
    fn readings_add_up_to_the_angle_turned() {
        let mut gyros = gyros(quiet());
        let rate = Vector3::new(0.3e-3, -7.77e-3, 0.0);
        let mut turned = Vector3::zeros();
        for sample in 0..10_000 {
            turned += Vector3::from(gyros.read(sample, &rate).map(f64::from)) * 0.02;
        }
        // Half a count of 20 µrad at most, and the readings' single precision.
        assert!((turned - rate * 200.0).amax() < 1.01e-5, "{turned}");
    }

    #[test]
    fn scale_misalignment_and_the_end_of_the_range_show() {
        let mut errors = quiet();
        errors.quantum_rad_s = 0.0;
        errors.scale_error = Vector3::new(0.01, 0.0, 0.0);
        errors.misalignment_rad = Vector3::new(0.0, 0.0, 0.002);
        let read = gyros(errors.clone()).read(0, &Vector3::new(0.05, 0.0, 0.0));
        // A block turned about +z by 2 mrad feels a rate about x as a little about −y.
        assert!((f64::from(read[0]) - 0.0505).abs() < 1e-8 && (f64::from(read[1]) + 1e-4).abs() < 1e-8, "{read:?}");
        let read = gyros(errors).read(0, &Vector3::new(0.0, 0.7, -0.7));
        assert_eq!(read.map(|rate| (rate * 1e4).round()), [14.0, 1000.0, -1000.0]);
    }

    #[test]
    fn without_coefficients_there_is_no_noise() {
        let mut gyros = gyros(quiet());
        assert!((0..500).all(|sample| gyros.read(sample, &Vector3::zeros()) == [0.0; 3]));
    }
}
