//! Where the centre of mass has gone, and what that makes of inertia, as film winds over and gas is used.
//!
//! Settings hold for half the film on either reel and the tank as loaded. From there a mass m of film carried by t and
//! a mass g of gas gone from the place r move the centre of mass by (m·t − g·r)/(M − g); the parallel-axis theorem takes
//! the shift's share off the moments of inertia. The reels are taken to stand alike on both sides of the centre.

use super::{rotation::Vec3, settings::BodySettings};

/// Mass properties against those of the settings.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Shift {
    /// Shift of the centre of mass, m, body axes.
    pub centre_m: Vec3,
    /// Change of the moments of inertia, kg·m².
    pub inertia_kg_m2: Vec3,
}

impl Shift {
    /// For `film_kg` wound over since the reels were alike (negative before), and `gas_kg` gone.
    pub fn of(body: &BodySettings, film_kg: f32, gas_kg: f32) -> Self {
        let travel_m = Vec3::new(body.film_travel_x_m, body.film_travel_y_m, body.film_travel_z_m);
        let tank_m = Vec3::new(body.tank_x_m, body.tank_y_m, body.tank_z_m);
        let left_kg = (body.mass_kg - gas_kg).max(1.0);
        let centre_m = (travel_m * film_kg - tank_m * gas_kg) / left_kg;
        let inertia_kg_m2 = about(&tank_m) * -gas_kg - about(&centre_m) * left_kg;
        Self { centre_m, inertia_kg_m2 }
    }
}

/// Moments of inertia of a unit mass at `place`, m².
fn about(place: &Vec3) -> Vec3 {
    let square = place.component_mul(place);
    Vec3::new(square.y + square.z, square.z + square.x, square.x + square.y)
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    #[test]
    fn a_whole_load_of_film_moves_the_centre_from_end_to_end_by_46_millimetres() {
        // 12 kg over 1.6 m in 420 kg.
        let body = BodySettings::default();
        let (from, to) = (Shift::of(&body, -6.0, 0.0), Shift::of(&body, 6.0, 0.0));
        let moved = to.centre_m.x - from.centre_m.x;
        assert!((moved - 0.0457).abs() < 1e-4, "{moved}");
        // 420 kg × (23 mm)² about y and z, nothing about x.
        assert!((to.inertia_kg_m2.y + 0.219).abs() < 1e-3 && to.inertia_kg_m2.x == 0.0, "{}", to.inertia_kg_m2);
    }

    #[test]
    fn gas_gone_from_above_lets_the_centre_sink() {
        let body = BodySettings { tank_z_m: -0.3, ..BodySettings::default() };
        let shift = Shift::of(&body, 0.0, 4.0);
        assert!((shift.centre_m.z - 4.0 * 0.3 / 416.0).abs() < 1e-6, "{}", shift.centre_m);
        assert!((shift.inertia_kg_m2.x + 4.0 * 0.09).abs() < 0.01, "{}", shift.inertia_kg_m2);
    }
}
