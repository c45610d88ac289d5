//! Mass properties as film and gas move.
//!
//! The dry vehicle (everything but film and gas) has its centre of mass at the origin of the drawing frame.
//! Film packs and gas are added at their places as points, the packs with their own spin inertia left out:
//! at most 0.16 kg·m² of some 300.

use nalgebra::{Matrix3, Vector3};

/// The parts.
#[derive(Clone, Debug, PartialEq)]
pub struct MassParameters {
    /// Mass without film and gas, kg.
    pub dry_kg: f64,
    /// Inertia without film and gas about the origin, kg·m².
    pub dry_inertia_kg_m2: Matrix3<f64>,
    /// Place of the supply reel, m.
    pub supply_m: Vector3<f64>,
    /// Place of the take-up reel, m.
    pub take_up_m: Vector3<f64>,
    /// Place of the gas tank, m.
    pub tank_m: Vector3<f64>,
    /// Film and gas shift the centre of mass and the inertia as they move; if not, they sit at the origin.
    pub moving: bool,
}

/// The sum.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MassProperties {
    /// Mass, kg.
    pub mass_kg: f64,
    /// Centre of mass in the drawing frame, m.
    pub centre_m: Vector3<f64>,
    /// Inertia about the centre of mass, kg·m².
    pub inertia_kg_m2: Matrix3<f64>,
}

impl MassParameters {
    /// Mass properties with so much film on each reel and gas in the tank, kg.
    pub fn with(&self, supply_kg: f64, take_up_kg: f64, gas_kg: f64) -> MassProperties {
        let place = |at: Vector3<f64>| if self.moving { at } else { Vector3::zeros() };
        let points =
            [(supply_kg, place(self.supply_m)), (take_up_kg, place(self.take_up_m)), (gas_kg, place(self.tank_m))];
        let mass_kg = self.dry_kg + points.iter().map(|(kg, _)| kg).sum::<f64>();
        let centre_m = points.iter().map(|(kg, at)| at * *kg).sum::<Vector3<f64>>() / mass_kg;
        let steiner = |kg: f64, at: &Vector3<f64>| (Matrix3::identity() * at.norm_squared() - at * at.transpose()) * kg;
        let mut inertia_kg_m2 = self.dry_inertia_kg_m2;
        for (kg, at) in &points {
            inertia_kg_m2 += steiner(*kg, at);
        }
        inertia_kg_m2 -= steiner(mass_kg, &centre_m);
        MassProperties { mass_kg, centre_m, inertia_kg_m2 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_points_on_an_axis_add_their_reduced_mass() {
        let parts = MassParameters {
            dry_kg: 400.0,
            dry_inertia_kg_m2: Matrix3::from_diagonal(&Vector3::new(75.0, 310.0, 310.0)),
            supply_m: Vector3::new(-0.8, 0.0, 0.0),
            take_up_m: Vector3::new(0.8, 0.0, 0.0),
            tank_m: Vector3::zeros(),
            moving: true,
        };
        let full = parts.with(12.0, 0.0, 4.0);
        assert!((full.centre_m.x + 0.8 * 12.0 / 416.0).abs() < 1e-12);
        // Reduced mass of 12 kg against 404 kg at 0.8 m.
        let expected = 310.0 + 12.0 * 404.0 / 416.0 * 0.64;
        assert!((full.inertia_kg_m2[(1, 1)] - expected).abs() < 1e-9);
        assert!((full.inertia_kg_m2[(0, 0)] - 75.0).abs() < 1e-12);
        // Twelve kilograms moved by 1.6 m shift the centre by 46 mm.
        let wound = parts.with(0.0, 12.0, 4.0);
        assert!((wound.centre_m.x - full.centre_m.x - 0.046_154).abs() < 1e-6);
    }
}
