//! The gas tank.

use crate::nitrogen;

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
        nitrogen::pressure_pa(self.mass_kg / self.volume_m3, self.temperature_k)
    }

    /// Temperature, K. Heaters hold it: a model of the tank cooling as it empties is not part of this plant.
    pub fn temperature_k(&self) -> f64 {
        self.temperature_k
    }
}
