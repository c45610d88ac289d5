//! A direct-current motor behind its gear, and the dry friction that stops a shaft.

/// Direct-current motor seen from the shaft it turns. Winding inductance is left out: its time constant
/// (below 1 ms) is far inside the base tick at which the bridge is driven.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motor {
    /// Torque constant, N·m/A; the same number is the back-EMF constant in V·s.
    pub constant_nm_a: f64,
    /// Winding and bridge resistance, Ω.
    pub resistance_ohm: f64,
    /// Current at which the bridge limits, A; with the constant this is the torque limit.
    pub current_limit_a: f64,
}

impl Motor {
    /// Current, A, at `volts` across the bridge and the shaft turning at `rate_rad_s`.
    ///
    /// A bridge asked for exactly nothing is open: no current and no braking.
    #[inline]
    pub fn current_a(&self, volts: f64, rate_rad_s: f64) -> f64 {
        if volts == 0.0 {
            return 0.0;
        }
        ((volts - self.constant_nm_a * rate_rad_s) / self.resistance_ohm)
            .clamp(-self.current_limit_a, self.current_limit_a)
    }
}

/// A turning shaft.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Shaft {
    /// Angle turned since the start, rad; film forward is positive.
    pub angle_rad: f64,
    /// Rate relative to the body, rad/s.
    pub rate_rad_s: f64,
}

impl Shaft {
    /// One semi-implicit step of `step_s`: `torque_nm` drives, up to `friction_nm` of dry friction
    /// resists, and holds the shaft still if it can. Friction acts as an impulse bounded by the one that
    /// would stop the shaft, so it can neither reverse it nor ring at rest.
    #[inline]
    pub fn step(&mut self, step_s: f64, inertia_kg_m2: f64, torque_nm: f64, friction_nm: f64) {
        let per_inertia = step_s / inertia_kg_m2;
        let free = self.rate_rad_s + torque_nm * per_inertia;
        let stop = friction_nm * per_inertia;
        self.rate_rad_s = if free.abs() <= stop { 0.0 } else { free - stop.copysign(free) };
        self.angle_rad += self.rate_rad_s * step_s;
    }
}
