//! Free-molecular flow: the mean free path (240 m at 200 km) is far longer than the vehicle.
//!
//! Molecules stream in with the vehicle's speed and their own thermal spread, stay long enough to forget where
//! they came from, and leave evenly in all directions with an energy between their own and the wall's (L. H.
//! Sentman, *Free Molecule Flow Theory and Its Application to the Determination of Aerodynamic Forces*, 1961;
//! in the form of Moe & Moe, *Planetary and Space Science* 53, 2005, for the energy; both from memory, checked
//! against the closed form of a sphere in `tests/world/torques.rs`).

use super::surface::Facet;
use crate::world::ussa76::AirState;
use nalgebra::Vector3;
use std::f64::consts::PI;

/// Temperature of the outside walls, K. It enters by its root times a twentieth of the force.
pub const WALL_K: f64 = 300.0;

/// A stream of air that meets the vehicle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stream {
    /// Direction in which the air moves past the vehicle, body axes, length 1.
    pub direction: Vector3<f64>,
    /// ½ρv², Pa.
    pub pressure_pa: f64,
    /// Speed over the molecules' most probable thermal speed √(2RT/M).
    pub speed_ratio: f64,
    /// Speed of the leaving molecules over that of the arriving ones.
    pub leaving: f64,
}

impl Stream {
    /// Air of state `air` met at `velocity_m_s` (of the vehicle relative to the air, body axes);
    /// `accommodation` is the share of their energy that molecules leave to the wall, 0…1.
    ///
    /// `None` where there is no air or no speed.
    pub fn new(velocity_m_s: &Vector3<f64>, air: &AirState, accommodation: f64) -> Option<Self> {
        let speed_m_s = velocity_m_s.norm_squared().sqrt();
        if speed_m_s <= 0.0 || air.density_kg_m3 <= 0.0 {
            return None;
        }
        // RT/M of the mixture, by the gas law.
        let thermal_m2_s2 = air.pressure_pa / air.density_kg_m3;
        let wall_m2_s2 = thermal_m2_s2 * WALL_K / air.temperature_k;
        let kept = 1.0 + accommodation * (4.0 * wall_m2_s2 / (speed_m_s * speed_m_s) - 1.0);
        Some(Self {
            direction: -velocity_m_s / speed_m_s,
            pressure_pa: 0.5 * air.density_kg_m3 * speed_m_s * speed_m_s,
            speed_ratio: speed_m_s / (2.0 * thermal_m2_s2).sqrt(),
            leaving: (0.5 * kept).max(0.0).sqrt(),
        })
    }

    /// Force on the front of a facet, N, body axes.
    pub fn force_n(&self, facet: &Facet) -> Vector3<f64> {
        let s = self.speed_ratio;
        let facing = -self.direction.dot(&facet.normal);
        let x = facing * s;
        // The thermal part and the directed part of what arrives.
        let spread = (-x * x).exp() / s;
        let directed = 1.0 + libm::erf(x);
        let arriving = spread / PI.sqrt() + facing * directed;
        let pushing = directed / (2.0 * s * s) + 0.5 * self.leaving * (facing * PI.sqrt() * directed + spread);
        (self.direction * arriving - facet.normal * pushing) * (self.pressure_pa * facet.area_m2)
    }

    /// Force, N, and torque about `centre_m`, N·m, on all of `facets`.
    pub fn load(&self, facets: &[Facet], centre_m: &Vector3<f64>) -> (Vector3<f64>, Vector3<f64>) {
        let mut sum = (Vector3::zeros(), Vector3::zeros());
        for facet in facets {
            let force_n = self.force_n(facet);
            sum.0 += force_n;
            sum.1 += (facet.centre_m - centre_m).cross(&force_n);
        }
        sum
    }
}
