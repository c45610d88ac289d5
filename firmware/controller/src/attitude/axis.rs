//! One axis: its law, its estimates, its watcher.

use super::{
    banks::Banks,
    rates::{RateGains, RateObserver},
    response::Watcher,
    switching::AxisLaw,
};
use crate::{io::ATTITUDE_STEP_S, math, settings::Settings};

/// One axis of the attitude loop.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// Switching law.
    pub law: AxisLaw,
    /// Moment of inertia, kg·m².
    pub inertia_kg_m2: f32,
    /// Gains of `rates`.
    pub gains: RateGains,
    /// Rate and disturbance.
    pub rates: RateObserver,
    /// Do the jets obey?
    pub watcher: Watcher,
    /// Share of their nominal thrust that this axis' jets have been found to give.
    pub thrust_share: f32,
    /// Time for which this axis' valves have been found to stay open beyond what they were told, µs.
    pub late_us: u32,
    /// Rest until the next pulse, µs.
    pub rest_us: u32,
    /// Rate change commanded but not yet given, and the acceleration at which it comes.
    pending_rad_s: f32,
    pending_rad_s2: f32,
}

impl Axis {
    /// Axis `number` (0 roll, 1 pitch, 2 yaw).
    pub fn new(law: AxisLaw, inertia_kg_m2: f32, number: usize, banks: &Banks, settings: &Settings) -> Self {
        let gains = Self::gains(inertia_kg_m2, number, banks, settings);
        let least_rad_s = least_rad_s(&gains, &law);
        Self {
            law,
            inertia_kg_m2,
            gains,
            rates: RateObserver::default(),
            watcher: Watcher::new(least_rad_s, gains.rate, &settings.response, ATTITUDE_STEP_S),
            thrust_share: 1.0,
            late_us: 0,
            rest_us: 0,
            pending_rad_s: 0.0,
            pending_rad_s2: 0.0,
        }
    }

    fn gains(inertia_kg_m2: f32, number: usize, banks: &Banks, settings: &Settings) -> RateGains {
        let torque = banks.select(number, true).map_or(0.1, |s| s.axis_torque_nm);
        let o = &settings.observer;
        RateGains::new(o.rate_time_s, o.disturbance_time_s, torque / inertia_kg_m2, ATTITUDE_STEP_S)
    }

    /// Other jets from now on: what the old ones still owe is dropped. `gyro_rad_s`, if there is one, starts the rate
    /// anew: the smoothed one lags behind what the lost bank has left, and the lag would look like the next bank's
    /// runaway.
    pub fn change_jets(&mut self, number: usize, banks: &Banks, settings: &Settings, gyro_rad_s: Option<f32>) {
        self.law.minimum_us -= self.late_us;
        self.late_us = 0;
        self.gains = Self::gains(self.inertia_kg_m2, number, banks, settings);
        let least = least_rad_s(&self.gains, &self.law);
        self.watcher = Watcher::new(least, self.gains.rate, &settings.response, ATTITUDE_STEP_S);
        self.thrust_share = 1.0;
        if let Some(rate_rad_s) = gyro_rad_s {
            self.rates.reset(rate_rad_s);
        }
        self.cut_off();
    }

    /// Angular acceleration of the weakest single jet that may hang open on this axis, rad/s².
    pub fn one_jet_rad_s2(&self) -> f32 {
        // A couple's single jet gives half of what both do.
        0.5 * self.gains.jets_rad_s2()
    }

    /// Half the rate change of the least pulse, rad/s.
    pub fn half_least_rad_s(&self) -> f32 {
        0.5 * least_rad_s(&self.gains, &self.law)
    }

    /// Takes the thrust for `share` times what it was taken for.
    pub fn fit_thrust(&mut self, share: f32) {
        self.thrust_share = math::clamp(self.thrust_share * share, 0.3, 3.0);
    }

    /// Takes the valves to shut later by what gives `excess_rad_s`: the least pulse is longer then, and all are told
    /// shorter by as much.
    pub fn fit_late(&mut self, excess_rad_s: f32) {
        let told_us = self.law.minimum_us - self.late_us;
        let jets_rad_s2 = (self.gains.jets_rad_s2() * self.thrust_share).max(1e-9);
        let late_us = self.late_us as f32 + excess_rad_s / jets_rad_s2 * 1e6;
        self.late_us = math::clamp(late_us, 0.0, 3.0 * told_us as f32) as u32;
        self.law.minimum_us = told_us + self.late_us;
    }

    /// Whether its jets have been found to be other than they should, by more than `share`.
    pub fn fitted(&self, share: f32) -> bool {
        let told_us = (self.law.minimum_us - self.late_us) as f32;
        math::abs(self.thrust_share - 1.0) > share || self.late_us as f32 > share * told_us
    }

    /// Notes a torque of `torque_nm` about this axis for `length_s`, by its own jets or by another axis'.
    pub fn will_turn(&mut self, torque_nm: f32, length_s: f32, own: bool) -> f32 {
        let acceleration = self.thrust_share * torque_nm / self.inertia_kg_m2;
        self.pending_rad_s += acceleration * length_s;
        if own {
            self.pending_rad_s2 = math::abs(acceleration);
        }
        acceleration * length_s
    }

    /// The valves were shut on what is still owed: the rates are not told of it, and the pulse that was cut is not judged.
    /// What turns the vehicle without a pulse goes on being watched, so that one valve hanging open is found by a
    /// processor that is late again and again, too.
    pub fn cut_off(&mut self) {
        if self.pending_rad_s != 0.0 {
            self.watcher.pulse_was_cut();
        }
        (self.pending_rad_s, self.pending_rad_s2) = (0.0, 0.0);
    }

    /// Part of the commanded rate change that falls into the step just passed.
    pub fn coming_kick(&mut self) -> f32 {
        let most = if self.pending_rad_s2 > 0.0 { self.pending_rad_s2 * ATTITUDE_STEP_S } else { f32::MAX };
        let kick = math::clamp(self.pending_rad_s, -most, most);
        self.pending_rad_s -= kick;
        kick
    }
}

/// Rate change of the least pulse, rad/s.
fn least_rad_s(gains: &RateGains, law: &AxisLaw) -> f32 {
    gains.jets_rad_s2() * law.minimum_us as f32 * 1e-6
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        attitude::response::{ResponseSettings, Verdict},
        settings::tests::two_banks,
    };

    /// Pulses whose valves are shut at once, with or without the axis' being told; the worst that the watcher made of
    /// them, and the rate change that was still told to the estimate.
    fn cut_pulses(told: bool) -> (Verdict, f32) {
        let settings = two_banks();
        let response = ResponseSettings::default();
        let mut axis = Axis::new(settings.roll_law(), 300.0, 0, &Banks::new(&settings.jets), &settings);
        let (mut worst, mut kicks_rad_s) = (Verdict::Sound, 0.0);
        for _ in 0..4 {
            let change_rad_s = axis.will_turn(0.6, 0.5, true);
            axis.watcher.fired(change_rad_s, 0.5, &response);
            if told {
                axis.cut_off();
            }
            for _ in 0..150 {
                let kick_rad_s = axis.coming_kick();
                kicks_rad_s += kick_rad_s;
                // The gyro shows none of it and takes back what was told.
                let verdict = axis.watcher.step(-kick_rad_s, 0.0, 1.0, &response, ATTITUDE_STEP_S);
                worst = if verdict == Verdict::Sound { worst } else { verdict };
            }
        }
        (worst, kicks_rad_s)
    }

    #[test]
    fn pulses_that_were_cut_off_are_not_told_and_not_missed() {
        assert_eq!(cut_pulses(true), (Verdict::Sound, 0.0));
        let (verdict, kicks_rad_s) = cut_pulses(false);
        assert!(verdict == Verdict::Missing && kicks_rad_s > 1e-3, "{verdict:?} {kicks_rad_s}");
    }
}
