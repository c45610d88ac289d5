//! Radiation pressure of sunlight.
//!
//! On a facet lit at angle θ: F = −pA cos θ·[(1 − m)·ŝ + 2(m cos θ + d/3)·n̂], with ŝ towards the Sun, m the
//! mirrored and d the scattered share (Wertz (ed.), *Spacecraft Attitude Determination and Control*, 1978, ch.
//! 17; from memory, checked in `tests/world/torques.rs` by momentum). The Earth's own light is left out.

use super::surface::Facet;
use crate::world::sun::AU_M;
use nalgebra::Vector3;

/// Solar irradiance at one astronomical unit, W/m² (total solar irradiance, Kopp & Lean, *Geophys. Res. Lett.*
/// 38, 2011).
const IRRADIANCE_W_M2: f64 = 1361.0;
const LIGHT_M_S: f64 = 299_792_458.0;

/// Pressure of full sunlight on a black surface across it, Pa, at `distance_m` from the Sun.
pub fn pressure_pa(distance_m: f64) -> f64 {
    IRRADIANCE_W_M2 / LIGHT_M_S * (AU_M / distance_m).powi(2)
}

/// Force on the front of a facet, N, body axes; `to_sun` has length 1.
pub fn force_n(facet: &Facet, to_sun: &Vector3<f64>, pressure_pa: f64) -> Vector3<f64> {
    let facing = facet.normal.dot(to_sun).max(0.0);
    let along_normal = 2.0 * (facet.mirrored * facing + facet.scattered / 3.0);
    (to_sun * (1.0 - facet.mirrored) + facet.normal * along_normal) * (-pressure_pa * facet.area_m2 * facing)
}

/// Torque about `centre_m`, N·m, on all of `facets`.
pub fn torque_nm(facets: &[Facet], to_sun: &Vector3<f64>, pressure_pa: f64, centre_m: &Vector3<f64>) -> Vector3<f64> {
    facets.iter().map(|facet| (facet.centre_m - centre_m).cross(&force_n(facet, to_sun, pressure_pa))).sum()
}
