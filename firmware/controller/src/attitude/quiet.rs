//! Quiet times: placing the state before a burst of exposures so that nothing need fire inside it.
//!
//! Under a steady disturbance the vehicle coasts along a parabola in the phase plane. Starting a burst of
//! length B with the rate −α·B/2 puts the parabola's apex, where the rate is zero, in the middle of it: the
//! rate is never above α·B/2 and the angle moves by only α·B²/8.

use super::{mode::Mode, settings::SteeringSettings};
use crate::io::TICKS_PER_S;

/// A burst of exposures.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub struct Burst {
    /// Tick at which the shutter may open.
    pub on_tick: u32,
    /// Tick at which it is shut again.
    pub off_tick: u32,
}

/// Where the loop stands around a burst.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Phase {
    /// No burst near.
    #[default]
    Free,
    /// A burst is coming: ordinary firing is held off, so that film may start undisturbed.
    Hold,
    /// The one moment at which rates are placed.
    Place,
    /// Exposures run: nothing fires unless the wide limit is reached.
    Quiet,
}

/// Phase at `tick`.
pub fn phase(tick: u32, burst: Option<Burst>, steering: &SteeringSettings, mode: Mode) -> Phase {
    let Some(burst) = burst else { return Phase::Free };
    if mode != Mode::Fine || tick >= burst.off_tick {
        return Phase::Free;
    }
    let lead = ticks(steering.quiet_lead_s);
    let place_at = burst.on_tick.saturating_sub(lead);
    if tick < place_at {
        let hold_from = place_at.saturating_sub(ticks(steering.quiet_hold_s));
        return if tick >= hold_from { Phase::Hold } else { Phase::Free };
    }
    // Long bursts are placed again at even intervals, each time for one step of the loop.
    let again = ticks(steering.quiet_longest_s).max(1);
    if (tick - place_at) % again < crate::io::ATTITUDE_TICKS { Phase::Place } else { Phase::Quiet }
}

/// Rate to start the coast with, rad/s, for the disturbance `acceleration_rad_s2`.
pub fn placement(acceleration_rad_s2: f32, tick: u32, burst: Option<Burst>, steering: &SteeringSettings) -> f32 {
    let Some(burst) = burst else { return 0.0 };
    let left_s = burst.off_tick.saturating_sub(tick) as f32 / TICKS_PER_S as f32;
    -0.5 * acceleration_rad_s2 * left_s.min(steering.quiet_longest_s)
}

fn ticks(seconds: f32) -> u32 {
    (seconds * TICKS_PER_S as f32) as u32
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    #[test]
    fn a_burst_is_held_off_placed_and_kept_quiet() {
        let steering =
            SteeringSettings { quiet_lead_s: 1.0, quiet_hold_s: 2.0, quiet_longest_s: 20.0, ..Default::default() };
        let burst = Some(Burst { on_tick: 1_000, off_tick: 4_000 });
        let at = |tick| phase(tick, burst, &steering, Mode::Fine);
        assert_eq!(at(699), Phase::Free);
        assert_eq!(at(700), Phase::Hold);
        assert_eq!(at(900), Phase::Place);
        assert_eq!(at(902), Phase::Quiet);
        assert_eq!(at(2_900), Phase::Place);
        assert_eq!(at(3_999), Phase::Quiet);
        assert_eq!(at(4_000), Phase::Free);
        assert_eq!(phase(2_000, burst, &steering, Mode::Coarse), Phase::Free);
    }

    #[test]
    fn the_coast_starts_against_the_disturbance() {
        let steering = SteeringSettings::default();
        let burst = Some(Burst { on_tick: 1_000, off_tick: 4_000 });
        let rate = placement(3e-6, 1_000, burst, &steering);
        assert!((rate + 3e-6 * 15.0).abs() < 1e-9);
    }
}
