//! The gas tank: nitrogen as a real gas.

/// Molar gas constant, J/(mol·K) (CODATA 2018, exact).
const GAS_CONSTANT: f64 = 8.314_462_618;
/// Molar mass of nitrogen, kg/mol (IUPAC).
const MOLAR_MASS_KG: f64 = 0.028_013_4;

/// Compressibility factor of nitrogen at molar density `rho` (mol/m³) and `temperature_k`.
///
/// A virial form fitted to CoolProp 8.0.0 over 253–333 K and up to 30 MPa; largest error of the fit 0.13 %.
/// (The reference equation behind it: Span et al., J. Phys. Chem. Ref. Data 29, 1361, 2000.)
pub fn compressibility(rho: f64, temperature_k: f64) -> f64 {
    let t = 300.0 / temperature_k - 1.0;
    1.0 + rho * ((-4.026_573e-6 - 5.676_399e-5 * t) + rho * ((1.101_295e-9 + 3.112_309e-10 * t) + rho * 5.404_986e-14))
}

/// Pressure of `mass_kg` of nitrogen in `volume_m3`, Pa.
pub fn pressure_pa(mass_kg: f64, volume_m3: f64, temperature_k: f64) -> f64 {
    let rho = mass_kg / (MOLAR_MASS_KG * volume_m3);
    compressibility(rho, temperature_k) * rho * GAS_CONSTANT * temperature_k
}

/// Mass of nitrogen that brings `volume_m3` to `pressure`, kg; found by bisection, so it is the inverse of
/// [`pressure_pa`] to rounding.
pub fn mass_at_pressure_kg(pressure: f64, volume_m3: f64, temperature_k: f64) -> f64 {
    let ideal = pressure * volume_m3 * MOLAR_MASS_KG / (GAS_CONSTANT * temperature_k);
    let (mut low, mut high) = (0.0, 2.0 * ideal);
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if pressure_pa(middle, volume_m3, temperature_k) < pressure {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// A tank that is used up.
#[derive(Clone, Debug)]
pub struct Tank {
    volume_m3: f64,
    temperature_k: f64,
    mass_kg: f64,
    loaded_kg: f64,
    used_kg: f64,
    leaked_kg: f64,
}

impl Tank {
    /// A tank holding `mass_kg`.
    pub fn new(volume_m3: f64, mass_kg: f64, temperature_k: f64) -> Self {
        Self { volume_m3, temperature_k, mass_kg, loaded_kg: mass_kg, used_kg: 0.0, leaked_kg: 0.0 }
    }

    /// Takes gas through the jets; what is not there cannot be taken. Returns the share that was delivered.
    pub fn draw(&mut self, wanted_kg: f64) -> f64 {
        let taken = wanted_kg.min(self.mass_kg);
        self.mass_kg -= taken;
        self.used_kg += taken;
        if wanted_kg > 0.0 { taken / wanted_kg } else { 1.0 }
    }

    /// Loses gas through leaks; what is not there cannot be lost.
    pub fn leak(&mut self, flow_kg_s: f64, dt_s: f64) {
        let lost = (flow_kg_s * dt_s).min(self.mass_kg);
        self.mass_kg -= lost;
        self.leaked_kg += lost;
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

    /// Loaded less used less leaked less left, kg: zero but for rounding.
    pub fn imbalance_kg(&self) -> f64 {
        self.loaded_kg - self.used_kg - self.leaked_kg - self.mass_kg
    }

    /// Pressure, Pa.
    pub fn pressure_pa(&self) -> f64 {
        pressure_pa(self.mass_kg, self.volume_m3, self.temperature_k)
    }

    /// Temperature, K. Heaters hold it: a model of the tank cooling as it empties is not part of this plant.
    pub fn temperature_k(&self) -> f64 {
        self.temperature_k
    }
}
