//! What turns the vehicle from outside, other than its jets: air, sunlight, the Earth's magnetic field.
//!
//! - [`surface`]: the outside of the vehicle, as flat facets;
//! - [`air`]: free-molecular flow on a facet;
//! - [`sunlight`]: radiation pressure on a facet.
//!
//! The gravity gradient acts inside the body's own step ([`super::body`]) and stands here for the record only; a
//! jet that leaks is part of the jets. The body is taken as convex: no facet shades another.

pub mod air;
pub mod sunlight;
pub mod surface;

use nalgebra::Vector3;

/// Torques about the centre of mass, body axes, N·m. Each is zero when switched off.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Torques {
    /// Of the air.
    pub air_nm: Vector3<f64>,
    /// Of sunlight.
    pub sunlight_nm: Vector3<f64>,
    /// Of the vehicle's magnetic dipole in the Earth's field.
    pub magnetic_nm: Vector3<f64>,
    /// Of the gravity gradient.
    pub gravity_nm: Vector3<f64>,
    /// Of gas that leaks past the jets' seats.
    pub leak_nm: Vector3<f64>,
}

impl Torques {
    /// All together, N·m.
    pub fn sum_nm(&self) -> Vector3<f64> {
        self.air_nm + self.sunlight_nm + self.magnetic_nm + self.gravity_nm + self.leak_nm
    }
}
