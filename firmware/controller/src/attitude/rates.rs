//! Body rates and steady disturbance of one axis, from a gyro and the known jet impulses.

use crate::math;

/// Smoothed rate and the disturbance learned from it.
///
/// A two-state observer: the rate is carried forward by what the jets were told to do and by the
/// disturbance estimate, and corrected by the gyro. Because the jets' impulse is put in when it is
/// commanded, a pulse does not have to be waited for.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct RateObserver {
    /// Rate, rad/s.
    pub rate_rad_s: f32,
    /// Disturbance as angular acceleration, rad/s².
    pub disturbance_rad_s2: f32,
    /// Gyro minus prediction at the last step, rad/s.
    pub innovation_rad_s: f32,
}

impl RateObserver {
    /// One attitude step of `dt_s`.
    ///
    /// `gyro_rad_s`: none while the gyro tells nothing; the rate then goes on as foretold. `kick_rad_s`: rate change
    /// known to fall into this step, from jets and from the body's own turning. `learn`: whether the disturbance may
    /// be learned now (not while film starts or stops).
    pub fn step(&mut self, gyro_rad_s: Option<f32>, kick_rad_s: f32, learn: bool, gains: &RateGains, dt_s: f32) {
        let predicted = self.rate_rad_s + kick_rad_s + self.disturbance_rad_s2 * dt_s;
        let Some(gyro_rad_s) = gyro_rad_s else {
            (self.rate_rad_s, self.innovation_rad_s) = (predicted, 0.0);
            return;
        };
        self.innovation_rad_s = gyro_rad_s - predicted;
        self.rate_rad_s = predicted + gains.rate * self.innovation_rad_s;
        if learn {
            let next = self.disturbance_rad_s2 + gains.disturbance_per_s * self.innovation_rad_s;
            self.disturbance_rad_s2 = math::clamp(next, -gains.largest_rad_s2, gains.largest_rad_s2);
        }
    }

    /// Takes a correction of rate and disturbance from elsewhere: the horizon sensor in a gyro's stead.
    pub fn lean(&mut self, rate_rad_s: f32, disturbance_rad_s2: f32, gains: &RateGains) {
        self.rate_rad_s += rate_rad_s;
        let next = self.disturbance_rad_s2 + disturbance_rad_s2;
        self.disturbance_rad_s2 = math::clamp(next, -gains.largest_rad_s2, gains.largest_rad_s2);
    }

    /// Starts anew from a gyro reading.
    pub fn reset(&mut self, gyro_rad_s: f32) {
        *self = Self { rate_rad_s: gyro_rad_s, ..Self::default() };
    }
}

/// Gains of a [`RateObserver`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RateGains {
    /// Share of the innovation given to the rate in a step.
    pub rate: f32,
    /// Disturbance learned per step and unit of innovation, 1/s.
    pub disturbance_per_s: f32,
    /// Bound on the disturbance, rad/s²: a tenth of what the axis' jets can do.
    pub largest_rad_s2: f32,
}

impl RateGains {
    /// Poles at `rate_time_s` and `disturbance_time_s`.
    pub fn new(rate_time_s: f32, disturbance_time_s: f32, jet_acceleration_rad_s2: f32, dt_s: f32) -> Self {
        Self {
            rate: math::clamp(dt_s / rate_time_s, 0.0, 1.0),
            disturbance_per_s: dt_s / (rate_time_s * disturbance_time_s),
            largest_rad_s2: 0.1 * jet_acceleration_rad_s2,
        }
    }

    /// What the axis' jets give together, rad/s².
    pub fn jets_rad_s2(&self) -> f32 {
        10.0 * self.largest_rad_s2
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    #[test]
    fn a_steady_disturbance_is_learned_in_its_time() {
        let gains = RateGains::new(1.0, 100.0, 2e-3, 0.02);
        let mut observer = RateObserver::default();
        let truth = 3.2e-6;
        for step in 0..25_000 {
            observer.step(Some(truth * 0.02 * (step + 1) as f32), 0.0, true, &gains, 0.02);
        }
        // Five time constants: 0.7 % is left.
        assert!((observer.disturbance_rad_s2 / truth - 1.0).abs() < 0.01);
    }

    #[test]
    fn a_known_kick_leaves_no_innovation() {
        let gains = RateGains::new(1.0, 100.0, 2e-3, 0.02);
        let mut observer = RateObserver::default();
        observer.step(Some(1e-4), 1e-4, true, &gains, 0.02);
        assert_eq!(observer.innovation_rad_s, 0.0);
        assert_eq!(observer.disturbance_rad_s2, 0.0);
    }
}
