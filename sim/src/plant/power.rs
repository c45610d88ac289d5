//! The bus: a battery with an inner resistance under a load that takes power.
//!
//! A source of open voltage E and resistance R that gives the power P settles at V = (E + √(E² − 4RP))/2, the stable
//! root of V = E − R·P/V; beyond E²/4R (matched load) it collapses.

/// Battery and bus.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bus {
    /// Voltage without load, V.
    pub open_v: f64,
    /// Inner resistance of battery and harness, Ω.
    pub resistance_ohm: f64,
    /// Voltage below which the processor is held in reset, V.
    pub least_v: f64,
}

impl Bus {
    /// Voltage under a load, V; nothing where the battery cannot give so much.
    pub fn voltage(&self, power_w: f64) -> f64 {
        let inner = self.open_v * self.open_v - 4.0 * self.resistance_ohm * power_w;
        if inner < 0.0 { 0.0 } else { 0.5 * (self.open_v + inner.sqrt()) }
    }

    /// Whether the processor still runs under a load.
    pub fn holds(&self, power_w: f64) -> bool {
        self.voltage(power_w) >= self.least_v
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 28 V behind 1 Ω: 160 W take 8 A at 20 V (28 − 8 = 20, 8 · 20 = 160); 196 W is the most there is (14 A at 14 V).
    #[test]
    fn voltage_sags_as_ohm_and_joule_say() {
        let bus = Bus { open_v: 28.0, resistance_ohm: 1.0, least_v: 20.5 };
        assert!((bus.voltage(160.0) - 20.0).abs() < 1e-12);
        assert!((bus.voltage(196.0) - 14.0).abs() < 1e-6);
        assert_eq!((bus.voltage(196.1), bus.voltage(0.0)), (0.0, 28.0));
        assert!(bus.holds(140.0) && !bus.holds(160.0));
    }
}
