//! The metering roller's position loop.

use super::reels::sign;
use super::settings::FilmSettings;
use crate::io::TICK_S;
use crate::math;

/// What the loop remembers.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Roller {
    /// Speed that lasting lags have added up to, m/s.
    integral_m_s: f32,
}

impl Roller {
    /// Duty for the reference's motion, corrected by how far counted film is behind it: the voltage that
    /// the turning motor makes, and the current for inertia and friction.
    pub fn duty(&mut self, settings: &FilmSettings, lag_m: f32, speed_m_s: f32, acceleration_m_s2: f32) -> f32 {
        let most_m_s = settings.correction_limit_m_s;
        let gained_m_s = settings.integral_gain_1_s2 * TICK_S * lag_m;
        self.integral_m_s = math::clamp(self.integral_m_s + gained_m_s, -most_m_s, most_m_s);
        let asked_m_s = settings.position_gain_1_s * lag_m + self.integral_m_s;
        let correction_m_s = math::clamp(asked_m_s, -most_m_s, most_m_s);
        let rate_rad_s = (speed_m_s + correction_m_s) / settings.roller_radius_m;
        let torque_nm = settings.roller_inertia_kg_m2 * acceleration_m_s2 / settings.roller_radius_m
            + settings.roller_drag_nm * sign(speed_m_s);
        let volts = settings.roller_constant_nm_a * rate_rad_s
            + settings.roller_resistance_ohm / settings.roller_constant_nm_a * torque_nm;
        math::clamp(volts / settings.bus_v, -1.0, 1.0)
    }
}
