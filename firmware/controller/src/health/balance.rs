//! The momentum balance as the vehicle itself can close it.
//!
//! Over a window, the change of each axis' angular momentum by the gyros should equal what the jets were
//! told to give plus what the disturbance estimate at the window's start foretold. It never vanishes: gyros
//! are noisy, thrust is off by percents, disturbances change. It grows when something is wrong.

use crate::attitude::rotation::Vec3;

/// Length of a window, s.
pub const WINDOW_S: u32 = 600;

/// Momentum balance over consecutive windows; call [`MomentumBalance::second`] once a second.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MomentumBalance {
    seconds: u32,
    start_nms: Vec3,
    jets_nms: Vec3,
    foretold_nm: Vec3,
    throughput_nms: Vec3,
    /// Residual of the last whole window, N·m·s.
    pub residual_nms: [f32; 3],
    /// What went through in it (jets and disturbance, magnitudes summed), N·m·s.
    pub through_nms: [f32; 3],
}

impl MomentumBalance {
    /// Adds impulse commanded from the jets.
    pub fn jets(&mut self, impulse_nms: &Vec3) {
        self.jets_nms += impulse_nms;
        self.throughput_nms += impulse_nms.abs();
    }

    /// One second: momentum by the gyros, and the disturbance estimate.
    pub fn second(&mut self, momentum_nms: &Vec3, disturbance_nm: &Vec3) {
        if self.seconds == 0 {
            self.start_nms = *momentum_nms;
            self.foretold_nm = *disturbance_nm;
            self.jets_nms = Vec3::zeros();
            self.throughput_nms = Vec3::zeros();
        }
        self.seconds += 1;
        if self.seconds <= WINDOW_S {
            return;
        }
        let foretold = self.foretold_nm * WINDOW_S as f32;
        self.residual_nms = (momentum_nms - self.start_nms - self.jets_nms - foretold).into();
        self.through_nms = (self.throughput_nms + foretold.abs()).into();
        self.seconds = 0;
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    #[test]
    fn a_leak_shows_as_a_residual_of_its_own_size() {
        let mut balance = MomentumBalance::default();
        let leak = Vec3::new(0.0, 3e-4, 0.0);
        for second in 0..=WINDOW_S {
            balance.second(&(leak * second as f32), &Vec3::zeros());
        }
        assert!((balance.residual_nms[1] - 0.18).abs() < 1e-3);
        assert_eq!(balance.residual_nms[0], 0.0);
    }
}
