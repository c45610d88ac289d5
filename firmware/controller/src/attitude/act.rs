//! From errors to pulses: the law of each axis in the present mode and phase.

use super::{
    Attitude, FAR_RAD, Input,
    mode::{self, Mode},
    observer::Heading,
    quiet::{self, Phase},
    rotation::Vec3,
    switching::{AxisLaw, AxisState, Pulse},
};
use crate::{
    io::{ATTITUDE_TICKS, TICK_US, TICKS_PER_S},
    math::{self, DEG},
};

/// Once seen, the Earth must be turned to within this time: its direction moves by 4° a minute, and the heading that
/// says which way is not known yet.
const SIGHT_S: f32 = 300.0;

impl Attitude {
    pub(super) fn act(&mut self, input: &Input) {
        if self.mode == Mode::Drift {
            return;
        }
        for number in 0..3 {
            if let Some(pulse) = self.decide(number, input) {
                self.fire(number, pulse);
            }
        }
    }

    fn decide(&mut self, number: usize, input: &Input) -> Option<Pulse> {
        let state = self.axis_state(number);
        let axis = self.axes.get_mut(number)?;
        axis.rest_us = axis.rest_us.saturating_sub(ATTITUDE_TICKS * TICK_US);
        if axis.rest_us > 0 {
            return None;
        }
        let axis = self.axes.get(number)?;
        let steering = &self.settings.steering;
        match self.mode {
            Mode::Drift => None,
            Mode::Damp if self.looking_out(input) => None,
            Mode::Damp => {
                let wanted = self.spin_to_keep(number, state.rate_rad_s);
                axis.law.place(&state, wanted, 0.8 * steering.damp_rate_deg_s * DEG)
            }
            Mode::Search => {
                let wanted = mode::search_rate(number, self.mode_since, input.cycle, steering);
                // The turn about roll goes on the way the vehicle happens to turn already.
                let wanted = if number == 0 && self.search_backward { -wanted } else { wanted };
                axis.law.place(&state, wanted, 0.1 * steering.search_rate_deg_s * DEG)
            }
            Mode::Level if number == 2 => axis.law.place(&state, 0.0, 0.3 * steering.damp_rate_deg_s * DEG),
            Mode::Level => self.slow(number).hold(&state, steering.coarse_factor),
            Mode::Coarse if !self.observer.settled(input.cycle) => {
                self.slow(number).hold(&state, steering.coarse_factor)
            }
            Mode::Coarse => axis.law.hold(&state, steering.coarse_factor),
            Mode::Fine => self.decide_fine(number, &state, input),
            // Speeding up and stopping: the rate alone, so that each axis is paid for once.
            Mode::Turned if self.turn.ramps(number, 4.0 * axis.half_least_rad_s()) => {
                axis.law.place(&state, 0.0, axis.half_least_rad_s())
            }
            Mode::Turned => axis.law.hold(&state, 1.0),
        }
    }

    /// Fine hold, around bursts and apart from them.
    fn decide_fine(&mut self, number: usize, state: &AxisState, input: &Input) -> Option<Pulse> {
        let axis = self.axes.get(number)?;
        let steering = &self.settings.steering;
        let noisy = if self.observer.trust.noisy { steering.noisy_factor } else { 1.0 };
        match self.phase {
            Phase::Free => axis.law.hold(state, noisy),
            Phase::Place => {
                let coast = quiet::placement(state.disturbance_rad_s2, input.tick, input.burst, steering);
                // Reels that are still to spin up will take their momentum from the body's pitch rate.
                let meet = number == 1 && steering.film_feed_forward == 1 && !self.kick.reversed;
                let to_come = if meet { input.film_kick_nms / axis.inertia_kg_m2 } else { 0.0 };
                axis.law.place(state, coast + to_come, axis.half_least_rad_s())
            }
            Phase::Hold | Phase::Quiet => {
                let pulse = axis.law.hold(state, steering.quiet_factor.max(noisy));
                if pulse.is_some() && self.phase == Phase::Quiet {
                    self.quiet_broken = self.quiet_broken.saturating_add(1);
                }
                pulse
            }
        }
    }

    /// Whether the vehicle had better go on tumbling for a while: it may see the Earth, and the search costs gas.
    fn looking_out(&self, input: &Input) -> bool {
        let steering = &self.settings.steering;
        let since_s = input.cycle.wrapping_sub(self.mode_since) as f32 / TICKS_PER_S as f32;
        let most_rad_s = 0.7 * self.settings.observer.gyro_range_deg_s * DEG;
        // A vehicle that hardly turns sees nothing new by waiting.
        let tumbling = (0..3).any(|number| math::abs(self.rate(number)) > 0.5 * steering.search_rate_deg_s * DEG);
        tumbling
            && since_s < steering.watch_s
            && self.observer.heading == Heading::Blind
            && (0..3).all(|number| math::abs(self.rate(number)) < most_rad_s)
    }

    /// Rate that damping leaves: none, but while the Earth has not been seen a slow roll is left, for the search needs it.
    fn spin_to_keep(&self, number: usize, rate_rad_s: f32) -> f32 {
        if number != 0 || self.observer.heading != Heading::Blind {
            return 0.0;
        }
        let most = self.settings.steering.search_rate_deg_s * DEG;
        math::clamp(rate_rad_s, -most, most)
    }

    /// The law for turns before the compass has settled: slow, and for roll and pitch straight toward the Earth, each
    /// with its share of the rate.
    fn slow(&self, number: usize) -> AxisLaw {
        let law = self.axes.get(number).map_or(AxisLaw::IDLE, |axis| axis.law);
        let rate_rad_s = self.settings.steering.capture_rate_deg_s * DEG;
        let tilt_rad = math::sqrt(self.error.x * self.error.x + self.error.y * self.error.y);
        if self.mode != Mode::Level || tilt_rad < FAR_RAD {
            return AxisLaw { rate_limit_rad_s: law.rate_limit_rad_s.min(rate_rad_s), ..law };
        }
        let mine = math::abs(self.error.get(number).copied().unwrap_or(0.0)) / tilt_rad;
        let rate_rad_s = rate_rad_s.max(tilt_rad / SIGHT_S);
        AxisLaw { rate_limit_rad_s: rate_rad_s * mine.max(0.1), ..law }
    }

    fn axis_state(&self, number: usize) -> AxisState {
        let pick = |v: &Vec3| v.get(number).copied().unwrap_or(0.0);
        let rate_only = matches!(self.mode, Mode::Damp | Mode::Search);
        let jet = |positive| self.axis_jet_rad_s2(number, positive);
        let disturbance = self.axes.get(number).map_or(0.0, |axis| axis.rates.disturbance_rad_s2);
        let doubt = self.settings.observer.disturbance_doubt_deg_s2 * DEG;
        AxisState {
            angle_rad: if rate_only { 0.0 } else { pick(&self.error) },
            rate_rad_s: if rate_only { self.rate(number) } else { pick(&self.rate_error) },
            disturbance_rad_s2: if math::abs(disturbance) > doubt { disturbance } else { 0.0 },
            jet_rad_s2: [jet(false), jet(true)],
        }
    }

    fn fire(&mut self, number: usize, pulse: Pulse) {
        let Some(selection) = self.banks.select(number, pulse.positive) else { return };
        let length_s = pulse.length_us as f32 * 1e-6;
        for (other, axis) in self.axes.iter_mut().enumerate() {
            let torque = selection.torque_nm.get(other).copied().unwrap_or(0.0);
            let change = axis.will_turn(torque, length_s, other == number);
            if other == number {
                axis.rest_us = pulse.length_us.saturating_add(axis.law.lockout_us);
                axis.watcher.fired(change, length_s, &self.settings.response);
            }
        }
        self.jets_nms += selection.torque_nm * length_s;
        let late_us = self.axes.get(number).map_or(0, |axis| axis.late_us);
        self.firing.fire(selection.jets, pulse.length_us.saturating_sub(late_us));
        self.pulses = self.pulses.saturating_add(1);
    }
}
