//! A reel: a pack of film on a core, and what its size makes of its mass and inertia.

use std::f64::consts::PI;

use super::motor::Motor;

/// One reel with its motor and brake. All turning quantities are those of the reel's own shaft.
#[derive(Clone, Debug, PartialEq)]
pub struct ReelParameters {
    /// Radius of the bare core, m.
    pub core_radius_m: f64,
    /// Inertia of hub, flanges and everything geared to them, kg·m².
    pub hub_inertia_kg_m2: f64,
    /// Dry friction of bearings and gear, N·m.
    pub drag_nm: f64,
    /// Friction that grows with speed, N·m·s.
    pub viscous_nm_s: f64,
    /// Most torque the holding brake resists, N·m.
    pub brake_nm: f64,
    /// Motor, seen from the shaft.
    pub motor: Motor,
    /// Turning sense about body +y while film runs forward: +1 or −1.
    ///
    /// The supply reel gives its film off on the Earth side (+z), the take-up reel winds it on the far
    /// side (−z); real film at the platen runs to +x, so the supply turns about +y (+1) and the take-up
    /// about −y (−1). They cancel when both packs are equal.
    pub spin: f64,
}

/// Closed forms of a film pack on a core: an area and mass balance, no approximation but that of a spiral
/// by circles (relative error below film thickness over radius).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pack {
    /// Radius of the core, m.
    pub core_radius_m: f64,
    /// Film thickness, m.
    pub thickness_m: f64,
    /// Mass of a metre of film, kg/m.
    pub line_density_kg_m: f64,
}

/// Radius and inertia of a reel with its film.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Size {
    /// Outer radius of the film, m.
    pub radius_m: f64,
    /// Inertia of film, hub and drive, kg·m².
    pub inertia_kg_m2: f64,
}

impl Pack {
    /// Radius and inertia with `length_m` of film on a hub of this inertia.
    pub fn size(&self, length_m: f64, hub_inertia_kg_m2: f64) -> Size {
        let radius_m = self.radius_m(length_m);
        let square_m2 = radius_m * radius_m + self.core_radius_m * self.core_radius_m;
        Size { radius_m, inertia_kg_m2: hub_inertia_kg_m2 + 0.5 * self.mass_kg(length_m) * square_m2 }
    }

    /// Outer radius with `length_m` of film wound on, m: √(r0² + L·t/π). Nothing below zero length.
    pub fn radius_m(&self, length_m: f64) -> f64 {
        (self.core_radius_m * self.core_radius_m + length_m.max(0.0) * self.thickness_m / PI).sqrt()
    }

    /// Mass of `length_m` of film, kg.
    pub fn mass_kg(&self, length_m: f64) -> f64 {
        self.line_density_kg_m * length_m.max(0.0)
    }

    /// Turns in the pack: (R − r0)/t.
    pub fn turns(&self, length_m: f64) -> f64 {
        (self.radius_m(length_m) - self.core_radius_m) / self.thickness_m
    }

    /// Inertia of the pack about its axis, kg·m²: hollow cylinder, ½·m·(R² + r0²).
    pub fn inertia_kg_m2(&self, length_m: f64) -> f64 {
        let radius_m = self.radius_m(length_m);
        0.5 * self.mass_kg(length_m) * (radius_m * radius_m + self.core_radius_m * self.core_radius_m)
    }
}
