//! The gas tank: what is in it, how warm it is, and where the rest has gone.

use crate::nitrogen;

/// A tank that is used up.
///
/// Gas that leaves cools what stays: with no heat from outside the rest expands isentropically, T'/T = g·m'/m with
/// g = (∂p/∂T)/(ρ·c_v) of the real gas, 0.4 for an ideal one. Heat comes back from tank wall and structure, which
/// keep the temperature of the start: T' = (T_wall − T)/τ. The gauge sees the gas.
#[derive(Clone, Debug)]
pub struct Tank {
    volume_m3: f64,
    temperature_k: f64,
    wall_k: f64,
    /// Time constant of the heat that comes back, s; 0: heaters hold the temperature.
    soak_s: f64,
    mass_kg: f64,
    loaded_kg: f64,
    used_kg: f64,
    leaked_kg: f64,
    /// Gas between the tank and the nozzles, kg.
    lines_kg: f64,
    /// Mass when the temperature was last brought up.
    cooled_at_kg: f64,
    /// g, and the mass and temperature it was worked out for.
    cooling: (f64, f64, f64),
    /// Pressure, and the mass and temperature it was worked out for.
    gauge: (f64, f64, f64),
}

impl Tank {
    /// A tank holding `mass_kg`, whose gas heaters hold at `temperature_k`.
    pub fn new(volume_m3: f64, mass_kg: f64, temperature_k: f64) -> Self {
        let mut tank = Self {
            volume_m3,
            temperature_k,
            wall_k: temperature_k,
            soak_s: 0.0,
            mass_kg,
            loaded_kg: mass_kg,
            used_kg: 0.0,
            leaked_kg: 0.0,
            lines_kg: 0.0,
            cooled_at_kg: mass_kg,
            cooling: (0.0, f64::NAN, f64::NAN),
            gauge: (0.0, f64::NAN, f64::NAN),
        };
        tank.read();
        tank
    }

    /// The same without heaters: heat comes back with a time constant of `soak_s`.
    pub fn cooling(mut self, soak_s: f64) -> Self {
        self.soak_s = soak_s;
        self
    }

    /// Takes gas towards the jets; what is not there cannot be taken. Gives what was, kg.
    pub fn draw(&mut self, wanted_kg: f64) -> f64 {
        let taken = wanted_kg.min(self.mass_kg);
        self.mass_kg -= taken;
        taken
    }

    /// Enters gas that has left the nozzles, and what is on its way there now, kg.
    pub fn pass(&mut self, out_kg: f64, lines_kg: f64) {
        self.used_kg += out_kg;
        self.lines_kg = lines_kg;
    }

    /// Loses gas through leaks; what is not there cannot be lost.
    pub fn leak(&mut self, flow_kg_s: f64, dt_s: f64) {
        let lost = (flow_kg_s * dt_s).min(self.mass_kg);
        self.mass_kg -= lost;
        self.leaked_kg += lost;
    }

    /// Brings temperature and gauge up to now, `dt_s` after the last time; once a second is often enough, for
    /// three jets take a thousandth of Whimbrel's gas in that time.
    pub fn breathe(&mut self, dt_s: f64) {
        if self.soak_s > 0.0 && self.mass_kg > 0.0 {
            if self.mass_kg != self.cooled_at_kg {
                self.temperature_k *= (self.mass_kg / self.cooled_at_kg).powf(self.cooling_power());
                self.cooled_at_kg = self.mass_kg;
            }
            self.temperature_k = self.wall_k + (self.temperature_k - self.wall_k) * (-dt_s / self.soak_s).exp();
        }
        self.read();
    }

    /// g, worked out anew whenever mass or temperature have changed by a five-hundredth.
    fn cooling_power(&mut self) -> f64 {
        let (_, mass_kg, temperature_k) = self.cooling;
        let near = |now: f64, then: f64| (now / then - 1.0).abs() < 2e-3;
        if !(near(self.mass_kg, mass_kg) && near(self.temperature_k, temperature_k)) {
            let power = nitrogen::heat(self.mass_kg / self.volume_m3, self.temperature_k).cooling();
            self.cooling = (power, self.mass_kg, self.temperature_k);
        }
        self.cooling.0
    }

    /// Reads the gauge, if mass or temperature have changed.
    pub fn read(&mut self) {
        let (_, mass_kg, temperature_k) = self.gauge;
        if mass_kg != self.mass_kg || temperature_k != self.temperature_k {
            let pressure_pa = nitrogen::pressure_pa(self.mass_kg / self.volume_m3, self.temperature_k);
            self.gauge = (pressure_pa, self.mass_kg, self.temperature_k);
        }
    }

    /// Gas left, kg.
    pub fn mass_kg(&self) -> f64 {
        self.mass_kg
    }

    /// Gas gone through the jets, kg.
    pub fn used_kg(&self) -> f64 {
        self.used_kg
    }

    /// Gas leaked, kg.
    pub fn leaked_kg(&self) -> f64 {
        self.leaked_kg
    }

    /// Gas between the tank and the nozzles, by its pressure there, kg.
    pub fn lines_kg(&self) -> f64 {
        self.lines_kg
    }

    /// Loaded less used less leaked less what stands in the lines less left, kg: zero but for rounding.
    pub fn imbalance_kg(&self) -> f64 {
        self.loaded_kg - self.used_kg - self.leaked_kg - self.lines_kg - self.mass_kg
    }

    /// Pressure when the gauge was last read, Pa.
    pub fn pressure_pa(&self) -> f64 {
        self.gauge.0
    }

    /// Temperature of the gas, K.
    pub fn temperature_k(&self) -> f64 {
        self.temperature_k
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 40 L at 20 °C and 20 MPa: 218.544 kg/m³ (CoolProp 8.0.0).
    fn full() -> Tank {
        Tank::new(0.04, 0.04 * 218.544_351_35, 293.15)
    }

    /// Draws down to `share` of the mass in steps of a thousandth, without time for heat.
    fn drawn_to(mut tank: Tank, share: f64) -> Tank {
        let end_kg = tank.mass_kg() * share;
        while tank.mass_kg() > end_kg {
            tank.draw((1e-3 * tank.mass_kg()).min(tank.mass_kg() - end_kg));
            tank.breathe(0.0);
        }
        tank
    }

    /// Real gas: CoolProp 8.0.0 along the isentrope from 20 MPa and 293.15 K, by density.
    #[test]
    fn a_tank_let_down_fast_cools_along_the_isentrope() {
        for (share, temperature_k, pressure_pa) in
            [(0.9, 276.562_927, 16_351_324.0), (0.5, 205.549_866, 5_997_157.0), (0.25, 150.260_808, 2_121_451.0)]
        {
            let tank = drawn_to(full().cooling(1e12), share);
            // g is held over a five-hundredth of the mass, and is off by its slope over half of that.
            assert!(
                (tank.temperature_k() / temperature_k - 1.0).abs() < 1e-3,
                "{} {temperature_k}",
                tank.temperature_k()
            );
            assert!((tank.pressure_pa() / pressure_pa - 1.0).abs() < 2e-3, "{} {pressure_pa}", tank.pressure_pa());
            assert_eq!(drawn_to(full(), share).temperature_k(), 293.15, "heaters hold it");
        }
    }

    /// Ideal gas, T ∝ p^(2/7): 151.8363 K at a tenth of the pressure, here from 0.1 MPa, where nitrogen is ideal to
    /// some 1e-4 (CoolProp: 151.8137 K).
    #[test]
    fn thin_gas_cools_by_the_ideal_law() {
        let tank = drawn_to(Tank::new(1.0, 1.149_646, 293.15).cooling(1e12), 0.1_f64.powf(1.0 / 1.4));
        assert!((tank.temperature_k() / 151.836_3 - 1.0).abs() < 5e-4, "{}", tank.temperature_k());
        assert!((tank.pressure_pa() / 1e4 - 1.0).abs() < 2e-3, "{}", tank.pressure_pa());
    }

    #[test]
    fn heat_comes_back_with_its_time_constant() {
        let mut tank = drawn_to(full().cooling(1800.0), 0.9);
        let cold_k = 293.15 - tank.temperature_k();
        assert!(cold_k > 15.0, "{cold_k}");
        for _ in 0..1800 {
            tank.breathe(1.0);
        }
        assert!(((293.15 - tank.temperature_k()) / cold_k - (-1.0_f64).exp()).abs() < 1e-9);
    }

    #[test]
    fn what_is_not_there_cannot_be_taken() {
        let mut tank = Tank::new(0.01, 1e-3, 293.15);
        assert_eq!((tank.draw(7e-4), tank.draw(7e-4)), (7e-4, 1e-3 - 7e-4));
        tank.pass(9e-4, 1e-4);
        tank.leak(1.0, 1.0);
        assert!(tank.mass_kg() == 0.0 && tank.leaked_kg() == 0.0 && tank.imbalance_kg().abs() < 1e-18);
    }
}
