//! Rates and attitude of one step, with and without gyros, and whether the jets obey.

use super::{
    Attitude, Input,
    mode::Mode,
    observer::{Circumstances, Heading, stand_in},
    orbit::Place,
    response::Verdict,
    rotation::{self, Vec3},
};
use crate::{
    io::{ATTITUDE_STEP_S, TICKS_PER_S},
    math::{self, DEG},
};

/// Longest time for which a roll or pitch gyro's rate is foretold without a horizon to check it, in base ticks.
const BLIND_TICKS: u32 = 120 * TICKS_PER_S;

impl Attitude {
    pub(super) fn estimate(&mut self, input: &Input, place: &Place) {
        self.missing = input.gyro_live.map(|live| !live);
        let learn =
            !input.film_kick && !matches!(self.mode, Mode::Drift | Mode::Damp | Mode::Search) && !self.turn.ramping();
        let turning = self.own_turning_rad_s2();
        let pitch_kg_m2 = {
            let [_, pitch, _] = &self.axes;
            pitch.inertia_kg_m2
        };
        let film_rad_s = self.kick.told(input.film_momentum_nms, input.film_kick, pitch_kg_m2, &self.settings.steering);
        let own_rad_s = turning * ATTITUDE_STEP_S + Vec3::new(0.0, film_rad_s, 0.0);
        let range_rad_s = self.settings.observer.gyro_range_deg_s * DEG;
        let mut felt = input.gyro_rad_s;
        let gyros = felt.iter_mut().zip(self.observer.drift_rad_s.iter()).zip(input.gyro_fresh);
        for ((axis, own), ((felt, &drift), fresh)) in self.axes.iter_mut().zip(own_rad_s.iter()).zip(gyros) {
            let at_end = math::abs(*felt) >= range_rad_s;
            let rate = *felt - drift;
            let kick_rad_s = axis.coming_kick() + own;
            let heard = (fresh || at_end).then_some(rate);
            axis.rates.step(heard, kick_rad_s, learn, &axis.gains, ATTITUDE_STEP_S);
            if at_end {
                // The true rate is somewhere beyond. Blending commanded kicks with a reading that cannot move
                // would leave a lag that looks like an open valve when the gyro comes back into its range.
                axis.rates.reset(rate);
            } else if !fresh {
                *felt = axis.rates.rate_rad_s + drift;
            }
        }
        let [_, pitch, _] = &self.axes;
        self.kick.answered(pitch.gains.rate * pitch.rates.innovation_rad_s, &self.settings.steering);
        self.observer.propagate(&felt, place);
        let turned_away =
            self.mode == Mode::Turned && rotation::to_b(&self.observer.q, &Vec3::z()).z < self.turn.sight_cos;
        let levelling = self.mode == Mode::Level;
        let now = Circumstances { tick: input.cycle, missing: self.missing, levelling, turned_away };
        self.observer.horizon(&input.horizon, place, &now);
        if self.missing != [false; 3] {
            self.stand_in(place);
        }
    }

    /// What a body that turns about two axes does to the third, rad/s²: Euler's equations for its moments of inertia.
    ///
    /// At tip-off this is as much as the jets give; left out, it looks like valves that hang open.
    fn own_turning_rad_s2(&self) -> Vec3 {
        let [x, y, z] = &self.axes;
        let (wx, wy, wz) = (x.rates.rate_rad_s, y.rates.rate_rad_s, z.rates.rate_rad_s);
        let (ix, iy, iz) = (x.inertia_kg_m2, y.inertia_kg_m2, z.inertia_kg_m2);
        Vec3::new((iy - iz) / ix * wy * wz, (iz - ix) / iy * wz * wx, (ix - iy) / iz * wx * wy)
    }

    /// The horizon sensor stands in for a roll or pitch gyro, the compass for the yaw gyro.
    fn stand_in(&mut self, place: &Place) {
        let Some(lean) = self.observer.take_lean() else { return };
        for (number, (axis, missing)) in self.axes.iter_mut().zip(self.missing).enumerate() {
            if missing {
                let (rate_rad_s, disturbance_rad_s2) = stand_in(number, &lean, place);
                axis.rates.lean(rate_rad_s, disturbance_rad_s2, &axis.gains);
            }
        }
    }

    /// Whether all rates are known: by gyros, or by a horizon sensor that stands in for them while the heading is known.
    pub(super) fn rates_known(&self, input: &Input) -> bool {
        if self.missing == [false; 3] {
            return true;
        }
        let held = matches!(self.observer.heading, Heading::Known(_));
        held && self.mode != Mode::Drift && self.observer.unlocked_ticks(input.cycle) < BLIND_TICKS
    }

    pub(super) fn watch_jets(&mut self, input: &Input) {
        let mut worst = (Verdict::Sound, 1.0);
        let response = &self.settings.response;
        for (axis, fresh) in self.axes.iter_mut().zip(input.gyro_fresh) {
            if !fresh {
                // What a gyro that stands still does not show is no fault of the jets.
                axis.watcher.look_away();
                continue;
            }
            let innovation = axis.rates.innovation_rad_s;
            let one_jet = axis.one_jet_rad_s2() * self.settings.observer.rate_time_s;
            let verdict =
                axis.watcher.step(axis.gains.rate * innovation, innovation, one_jet, response, ATTITUDE_STEP_S);
            if verdict != Verdict::Sound {
                worst = (verdict, axis.watcher.last_gave() * axis.thrust_share);
            } else if let Some(share) = axis.watcher.take_fit() {
                axis.fit_thrust(share);
            } else if let Some(excess) = axis.watcher.take_excess() {
                axis.fit_late(excess);
            }
        }
        let (verdict, thrust_share) = worst;
        if verdict != Verdict::Sound && self.mode != Mode::Drift {
            self.change_bank(verdict, thrust_share, input);
        }
    }

    /// The bank in use has failed: the other one, or, if both are weak, a thrust of `thrust_share` for all jets.
    fn change_bank(&mut self, why: Verdict, thrust_share: f32, input: &Input) {
        if self.banks.give_up(why) {
            self.weak_gas_share = thrust_share;
        }
        self.firing.stop();
        let gyro = input.gyro_rad_s - self.observer.drift_rad_s;
        let missing = self.missing;
        for (index, ((axis, &rate), missing)) in self.axes.iter_mut().zip(gyro.iter()).zip(missing).enumerate() {
            axis.change_jets(index, &self.banks, &self.settings, (!missing).then_some(rate));
            axis.fit_thrust(self.weak_gas_share);
        }
    }
}
