//! The switching law of one axis in the phase plane of angle error and rate error.
//!
//! ```text
//!        rate
//!          │      ╲ θ + τω = +D: fire −
//!          │       ╲
//!  ────────┼────────╲──── angle      inside the two lines: coast
//!   ╲      │
//!    ╲ θ + τω = −D: fire +
//! ```
//!
//! When a line is crossed one pulse is fired, sized so that the state arrives at a wanted rate:
//! far out, at the rate of an approach; inside, at the rate with which the estimated disturbance will carry
//! the state across the chosen share of the deadband and back, so that a one-sided limit cycle uses the
//! deadband and every pulse only gives back what the disturbance brought.

use crate::math;

/// What the law needs to know of an axis, in SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AxisLaw {
    /// Half-width of the deadband, rad.
    pub deadband_rad: f32,
    /// Weight of rate against angle, s.
    pub lead_s: f32,
    /// Turning rate in large corrections, rad/s.
    pub rate_limit_rad_s: f32,
    /// Share of the deadband a one-sided limit cycle may use.
    pub fill: f32,
    /// Shortest pulse, µs.
    pub minimum_us: u32,
    /// Longest pulse, µs.
    pub longest_us: u32,
    /// Rest after a pulse, µs.
    pub lockout_us: u32,
}

/// State of an axis as the law sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AxisState {
    /// Angle error, rad.
    pub angle_rad: f32,
    /// Rate error, rad/s.
    pub rate_rad_s: f32,
    /// Disturbance, rad/s².
    pub disturbance_rad_s2: f32,
    /// Angular acceleration that the jets give for a negative and for a positive turn, rad/s².
    pub jet_rad_s2: [f32; 2],
}

/// A pulse asked for.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub struct Pulse {
    /// Turn about the positive axis.
    pub positive: bool,
    /// Length, µs.
    pub length_us: u32,
}

impl AxisLaw {
    /// A law that asks for nothing.
    pub const IDLE: Self = Self {
        deadband_rad: f32::MAX,
        lead_s: 0.0,
        rate_limit_rad_s: 0.0,
        fill: 0.0,
        minimum_us: 0,
        longest_us: 0,
        lockout_us: 0,
    };

    /// Pulse for holding the angle, if one is due. `widen` multiplies the deadband.
    pub fn hold(&self, state: &AxisState, widen: f32) -> Option<Pulse> {
        let band = self.deadband_rad * widen;
        let reach = band + self.rate_limit_rad_s * self.lead_s;
        let line = math::clamp(state.angle_rad, -reach, reach) + self.lead_s * state.rate_rad_s;
        if math::abs(line) <= band {
            return None;
        }
        // Work on the side of the crossed line: outward is positive.
        let side = if line > 0.0 { 1.0 } else { -1.0 };
        let outside = math::abs(state.angle_rad) - band;
        let approach = math::clamp(outside / (2.0 * self.lead_s.max(0.02)), 0.0, self.rate_limit_rad_s);
        let on_this_side = state.angle_rad * side > 0.0;
        let wanted =
            if on_this_side { -approach.max(self.cycle_rate(side * state.disturbance_rad_s2, band)) } else { approach };
        let change_rad_s = side * state.rate_rad_s - wanted;
        // With nothing known to push outward the axis cycles freely, and the least pulse is the right one. What noise
        // adds to the rate at the moment of crossing would make it longer, and the next crossing faster.
        let [negative_jets, positive_jets] = state.jet_rad_s2;
        let jets_rad_s2 = if side < 0.0 { positive_jets } else { negative_jets };
        let least_rad_s = jets_rad_s2 * self.minimum_us as f32 * 1e-6;
        let free = wanted == 0.0 && change_rad_s < 2.0 * least_rad_s;
        self.pulse(state, side, if free { change_rad_s.min(least_rad_s) } else { change_rad_s })
    }

    /// Pulse that brings the rate to `wanted_rad_s` whatever the angle, if it is off by more than half the
    /// least pulse, or by more than `tolerance_rad_s` where that is more.
    pub fn place(&self, state: &AxisState, wanted_rad_s: f32, tolerance_rad_s: f32) -> Option<Pulse> {
        let off = state.rate_rad_s - wanted_rad_s;
        if math::abs(off) <= tolerance_rad_s {
            return None;
        }
        let side = if off > 0.0 { 1.0 } else { -1.0 };
        self.pulse(state, side, math::abs(off))
    }

    /// Rate at which a one-sided cycle leaves the edge: ω = √(2·α·span), so that the parabola's apex lies
    /// `span` further in.
    fn cycle_rate(&self, outward_rad_s2: f32, band_rad: f32) -> f32 {
        if outward_rad_s2 <= 0.0 {
            return 0.0;
        }
        math::rough_sqrt(2.0 * outward_rad_s2 * 2.0 * self.fill * band_rad).min(0.5 * self.rate_limit_rad_s)
    }

    fn pulse(&self, state: &AxisState, side: f32, change_rad_s: f32) -> Option<Pulse> {
        let positive = side < 0.0;
        let [negative_jets, positive_jets] = state.jet_rad_s2;
        let acceleration = if positive { positive_jets } else { negative_jets };
        if !(acceleration > 0.0 && change_rad_s > 0.0) {
            return None;
        }
        let length_us = change_rad_s / acceleration * 1e6;
        if length_us < 0.5 * self.minimum_us as f32 {
            return None;
        }
        let length_us = (length_us as u32).clamp_to(self.minimum_us, self.longest_us);
        Some(Pulse { positive, length_us })
    }
}

/// `Ord::clamp` without its panic when the bounds are crossed.
trait ClampTo {
    fn clamp_to(self, low: Self, high: Self) -> Self;
}

impl ClampTo for u32 {
    fn clamp_to(self, low: Self, high: Self) -> Self {
        self.min(high).max(low)
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    const LAW: AxisLaw = AxisLaw {
        deadband_rad: 5e-3,
        lead_s: 5.0,
        rate_limit_rad_s: 5e-3,
        fill: 0.7,
        minimum_us: 20_000,
        longest_us: 1_000_000,
        lockout_us: 150_000,
    };

    fn state(angle_rad: f32, rate_rad_s: f32, disturbance_rad_s2: f32) -> AxisState {
        AxisState { angle_rad, rate_rad_s, disturbance_rad_s2, jet_rad_s2: [2e-3, 2e-3] }
    }

    #[test]
    fn nothing_fires_inside_the_lines() {
        assert_eq!(LAW.hold(&state(4.9e-3, 0.0, 0.0), 1.0), None);
        assert_eq!(LAW.hold(&state(6e-3, -4e-4, 0.0), 1.0), None);
    }

    #[test]
    fn without_disturbance_the_least_pulse_is_fired_inward() {
        let pulse = LAW.hold(&state(5.1e-3, 1.5e-5, 0.0), 1.0).unwrap();
        assert_eq!(pulse, Pulse { positive: false, length_us: 20_000 });
        let pulse = LAW.hold(&state(-5.1e-3, -1.5e-5, 0.0), 1.0).unwrap();
        assert!(pulse.positive);
    }

    #[test]
    fn in_a_free_cycle_noise_does_not_lengthen_the_least_pulse() {
        // One and a half of the least pulse's 4e-5 rad/s, as far as the rate estimate knows.
        let pulse = LAW.hold(&state(4.9e-3, 6e-5, 0.0), 1.0).unwrap();
        assert_eq!(pulse, Pulse { positive: false, length_us: 20_000 });
        // Beyond twice that it is no noise.
        let pulse = LAW.hold(&state(4.9e-3, 1e-4, 0.0), 1.0).unwrap();
        assert!((pulse.length_us as i64 - 50_000).abs() < 10, "{pulse:?}");
        // A disturbance that pushes outward keeps its sizing.
        assert!(LAW.hold(&state(4.9e-3, 6e-5, 3.2e-6), 1.0).unwrap().length_us > 100_000);
    }

    #[test]
    fn a_disturbance_lengthens_the_pulse_to_fill_the_deadband() {
        let pulse = LAW.hold(&state(5.0e-3, 2e-4, 3.2e-6), 1.0).unwrap();
        // ω = √(2·3.2e-6·2·0.7·5e-3) = 2.12e-4 rad/s within the rough root's 6 %.
        let reached = 2e-4 - 2e-3 * pulse.length_us as f32 * 1e-6;
        assert!((reached / -2.12e-4 - 1.0).abs() < 0.07, "{reached}");
    }

    #[test]
    fn a_fast_approach_is_braked_on_the_far_line() {
        // Coming in from +20 mrad at the rate limit: the lower line is crossed and the pulse is positive.
        let law = AxisLaw { longest_us: 2_000_000, ..LAW };
        let pulse = law.hold(&state(1.9e-2, -5e-3, 0.0), 1.0).unwrap();
        assert!(pulse.positive);
        let reached = -5e-3 + 2e-3 * pulse.length_us as f32 * 1e-6;
        assert!((reached + 1.4e-3).abs() < 2e-5, "{reached}");
    }

    #[test]
    fn numbers_that_are_not_fire_nothing() {
        assert_eq!(LAW.hold(&state(f32::NAN, 0.0, 0.0), 1.0), None);
        assert_eq!(LAW.place(&state(0.0, f32::NAN, 0.0), 0.0, 0.0), None);
    }
}
