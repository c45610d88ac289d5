//! Whether film is good to expose on, and what the transport says of itself.

use super::reels::arm_tension_n;
use super::status::{Demand, State};
use super::transport::Transport;
use crate::io::TICK_S;
use crate::math;

impl Transport {
    /// Whether film is good to expose on.
    pub(super) fn judge(&mut self, demand: Demand) {
        if self.status.state != State::Readying {
            let asked_m_s = match demand {
                Demand::Run { speed_m_s } if self.status.state == State::Steady => Some(speed_m_s),
                Demand::Hold | Demand::Advance { .. } if self.status.state == State::Holding => Some(0.0),
                _ => None,
            };
            let speed_m_s = self.meter.speed_m_s(&self.settings, self.count_m);
            let right = asked_m_s.is_some_and(|asked_m_s| {
                let still_m_s = 4.0 * self.count_m / TICK_S / self.settings.speed_window_ticks.max(2) as f32;
                math::abs(speed_m_s - asked_m_s)
                    <= self.settings.valid_band * asked_m_s + if asked_m_s > 0.0 { 0.0 } else { still_m_s }
            });
            let tensioned = self.arms_m.iter().all(|arm_m| {
                let tension_n = arm_tension_n(&self.settings, *arm_m);
                tension_n >= self.settings.tension_min_n && tension_n <= self.settings.tension_max_n
            });
            self.good_ticks = if right && tensioned { self.good_ticks.saturating_add(1) } else { 0 };
        }
    }

    pub(super) fn report(&mut self) {
        let status = &mut self.status;
        status.metered_counts = self.meter.counts;
        status.speed_m_s = self.meter.speed_m_s(&self.settings, self.count_m);
        status.valid =
            matches!(status.state, State::Steady | State::Holding) && self.good_ticks >= self.settings.valid_ticks;
        status.tension_n = self.arms_m.map(|arm_m| arm_tension_n(&self.settings, arm_m));
        status.radius_m = [self.supply.radius_m, self.take_up.radius_m];
        status.residual = [self.supply.residual, self.take_up.residual];
        status.disagreement =
            status.residual.iter().flatten().any(|share| math::abs(*share) > self.settings.residual_limit);
        let speed_m_s = status.speed_m_s;
        status.momentum_nms = self.supply.momentum_nms(self.supply.speed_m_s(speed_m_s, &self.settings))
            + self.take_up.momentum_nms(self.take_up.speed_m_s(speed_m_s, &self.settings));
    }
}
