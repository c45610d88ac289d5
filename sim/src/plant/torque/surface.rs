//! The outside of the vehicle.

use nalgebra::Vector3;
use std::f64::consts::{PI, TAU};

/// Strips that stand for the side of a cylinder. Air force and torque of so many agree with those of a
/// thousand to 1e-9, since both are smooth and periodic around the axis (`tests/world/torques.rs`).
const STRIPS: u32 = 24;

/// A flat piece of the outside: only its front meets air and light.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Facet {
    /// Middle, in the drawing frame, m.
    pub centre_m: Vector3<f64>,
    /// Outward normal, length 1.
    pub normal: Vector3<f64>,
    /// Area, m².
    pub area_m2: f64,
    /// Share of light that it mirrors.
    pub mirrored: f64,
    /// Share of light that it scatters evenly (Lambert); the rest is absorbed.
    pub scattered: f64,
}

/// A flat plate that faces along `normal` (any length but zero).
pub fn plate(centre_m: Vector3<f64>, normal: Vector3<f64>, area_m2: f64, [mirrored, scattered]: [f64; 2]) -> Facet {
    Facet { centre_m, normal: normal.normalize(), area_m2, mirrored, scattered }
}

/// A closed cylinder along `axis` (any length but zero): two ends and 24 strips.
pub fn cylinder(
    centre_m: Vector3<f64>,
    axis: Vector3<f64>,
    diameter_m: f64,
    length_m: f64,
    light: [f64; 2],
) -> Vec<Facet> {
    cylinder_of(STRIPS, centre_m, axis, diameter_m, length_m, light)
}

/// As [`cylinder`], of so many strips.
pub fn cylinder_of(
    strips: u32,
    centre_m: Vector3<f64>,
    axis: Vector3<f64>,
    diameter_m: f64,
    length_m: f64,
    light: [f64; 2],
) -> Vec<Facet> {
    let along = axis.normalize();
    // Any direction that is not along the axis gives a first one across it.
    let rough = if along.x.abs() < 0.6 { Vector3::x() } else { Vector3::y() };
    let across = along.cross(&rough).normalize();
    let third = along.cross(&across);
    let radius_m = 0.5 * diameter_m;
    let end =
        |side: f64| plate(centre_m + along * (0.5 * side * length_m), along * side, PI * radius_m * radius_m, light);
    let strip = |k: u32| {
        let (sine, cosine) = (TAU * (f64::from(k) + 0.5) / f64::from(strips)).sin_cos();
        let normal = across * cosine + third * sine;
        plate(centre_m + normal * radius_m, normal, PI * diameter_m * length_m / f64::from(strips), light)
    };
    [end(1.0), end(-1.0)].into_iter().chain((0..strips).map(strip)).collect()
}
