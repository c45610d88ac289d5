//! Limit cycles of one axis under on–off jets, in closed form.
//!
//! *Free*: nothing disturbs; every crossing of the deadband is answered by one pulse that turns the drift round.
//! *One-sided*: a steady torque pushes one way and only the jets against it fire. Formulae: *Space Propulsion*
//! lecture notes of TU Wien, pp. 76–83 (whose Example 8 charges two firings to one traverse; one is right);
//! Wertz (ed.), *Spacecraft Attitude Determination and Control*, §17–19.

use crate::plant::jets::G0_M_S2;

/// Jets and inertia of one axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AxisJets {
    /// Moment of inertia, kg·m².
    pub inertia_kg_m2: f64,
    /// Torque of the jets that turn one way, N·m.
    pub torque_nm: f64,
    /// Torque over summed thrust, m.
    pub lever_m: f64,
    /// Specific impulse delivered, s.
    pub specific_impulse_s: f64,
}

/// A limit cycle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LimitCycle {
    /// Angular impulse of one pulse, N·m·s.
    pub impulse_nms: f64,
    /// Largest rate, rad/s.
    pub rate_rad_s: f64,
    /// Time between two pulses, s.
    pub quiet_s: f64,
    /// Full period, s.
    pub period_s: f64,
    /// Travel of the angle from end to end, rad.
    pub excursion_rad: f64,
    /// Gas rate, kg/s.
    pub gas_kg_s: f64,
}

impl LimitCycle {
    /// Gas of this free cycle's pulses ΔH at a mean drift of `drift_rad_s`, kg/s: one pulse for each crossing of the
    /// deadband, ΔH·w/(2θ·L·Isp·g0).
    ///
    /// Free cycles are not unique: any two drifts that differ by ΔH/I repeat. What the period depends on is the mean of
    /// their size over time; the symmetric cycle's, ΔH/2I, is the largest there is.
    pub fn gas_at_drift_kg_s(&self, drift_rad_s: f64) -> f64 {
        self.gas_kg_s * drift_rad_s / self.rate_rad_s
    }
}

impl AxisJets {
    /// Gas for one newton-metre-second, kg.
    pub fn kg_per_nms(&self) -> f64 {
        1.0 / (self.lever_m * self.specific_impulse_s * G0_M_S2)
    }

    /// Angular acceleration of the jets, rad/s².
    pub fn acceleration_rad_s2(&self) -> f64 {
        self.torque_nm / self.inertia_kg_m2
    }

    /// The free symmetric cycle between ±`half_width_rad` with pulses of `on_s`: rate ΔH/2I, period 8Iθ/ΔH and
    /// the two pulses themselves, gas ΔH²/(4IθL·Isp·g0).
    ///
    /// Free cycles are not unique: any two drifts that differ by ΔH/I repeat. The symmetric one spends the most.
    pub fn free(&self, half_width_rad: f64, on_s: f64) -> LimitCycle {
        let impulse_nms = self.torque_nm * on_s;
        let rate_rad_s = impulse_nms / (2.0 * self.inertia_kg_m2);
        let quiet_s = 2.0 * half_width_rad / rate_rad_s;
        LimitCycle {
            impulse_nms,
            rate_rad_s,
            quiet_s,
            period_s: 2.0 * (quiet_s + on_s),
            excursion_rad: 2.0 * half_width_rad,
            gas_kg_s: impulse_nms / quiet_s * self.kg_per_nms(),
        }
    }

    /// The one-sided cycle under `disturbance_nm` with pulses of `impulse_nms`: period ΔH/T, excursion ΔH²/(8IT),
    /// gas at its floor T/(L·Isp·g0).
    pub fn one_sided(&self, disturbance_nm: f64, impulse_nms: f64) -> LimitCycle {
        let disturbance_nm = disturbance_nm.abs();
        let period_s = impulse_nms / disturbance_nm;
        LimitCycle {
            impulse_nms,
            rate_rad_s: impulse_nms / (2.0 * self.inertia_kg_m2),
            quiet_s: period_s,
            period_s,
            excursion_rad: impulse_nms * impulse_nms / (8.0 * self.inertia_kg_m2 * disturbance_nm),
            gas_kg_s: disturbance_nm * self.kg_per_nms(),
        }
    }

    /// Smallest steady torque that keeps pulses of `impulse_nms` to one side of ±`half_width_rad`, N·m:
    /// ΔH²/(16Iθ).
    pub fn least_one_sided_nm(&self, half_width_rad: f64, impulse_nms: f64) -> f64 {
        impulse_nms * impulse_nms / (16.0 * self.inertia_kg_m2 * half_width_rad)
    }

    /// Impulse of the pulse that makes a one-sided cycle travel `excursion_rad`, N·m·s.
    pub fn impulse_for(&self, disturbance_nm: f64, excursion_rad: f64) -> f64 {
        (8.0 * self.inertia_kg_m2 * disturbance_nm.abs() * excursion_rad).sqrt()
    }
}

/// Angle at which |θ + τω| = D is met at the rate ω, rad.
pub fn switching_angle_rad(deadband_rad: f64, lead_s: f64, rate_rad_s: f64) -> f64 {
    deadband_rad - lead_s * rate_rad_s
}
