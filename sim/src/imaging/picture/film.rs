//! Exposure to density, with grain.
//!
//! Density on the straight part of the characteristic curve is γ·log₁₀ of the exposure. Grain follows Selwyn's law:
//! the density of a patch of area A scatters by G/√A, so that the granularity through one aperture (by custom a round
//! one of 48 µm) tells it for all. Over the small contrast of the target G is taken as constant.

use std::f64::consts::PI;

use super::super::camera::Camera;
use super::Picture;
use super::reading::{CONTRAST_SCATTER, READ_LENGTH_WIDTHS, SCATTERS_TO_READ};
use super::target::{Light, Target};
use crate::noise::NoiseSource;

/// Diameter of the aperture through which granularity is measured, m.
const APERTURE_M: f64 = 48e-6;
/// Grey levels for one unit of density: the default film's grain stays within the scale to four scatters.
const LEVELS_PER_DENSITY: f64 = 150.0;

/// Selwyn's G: scatter of density times the root of the area, m.
pub fn selwyn_m(camera: &Camera) -> f64 {
    camera.film_granularity * (0.25 * PI).sqrt() * APERTURE_M
}

/// Density between bars and ground of a large target.
pub fn density_step(camera: &Camera, contrast: f64) -> f64 {
    camera.film_gamma * contrast.log10()
}

/// Scatter that grain gives the contrast of one set of bars whose bars are so wide on film, as density.
pub fn contrast_scatter(camera: &Camera, bar_m: f64) -> f64 {
    CONTRAST_SCATTER * selwyn_m(camera) / (READ_LENGTH_WIDTHS.sqrt() * bar_m)
}

/// Transfer that film must have at its stated low-contrast resolution to be just read there behind a perfect lens.
///
/// The set's contrast is that of its fundamental, 8/π² of the transfer; it is read at [`SCATTERS_TO_READ`] times what
/// grain makes of a set of that size. Held between 5 and 90 %: beyond, granularity and resolution contradict each other.
pub fn film_transfer_at_limit(camera: &Camera) -> f64 {
    let bar_m = 0.5e-3 / camera.film_resolution_lp_mm;
    let needed = SCATTERS_TO_READ * contrast_scatter(camera, bar_m);
    (needed / (8.0 / (PI * PI) * density_step(camera, Target::LOW_CONTRAST))).clamp(0.05, 0.9)
}

/// Develops light into a picture of `width` pixels, the light repeated as often as it goes, each time with other grain.
pub(super) fn develop(
    light: &Light,
    width: usize,
    camera: &Camera,
    contrast: f64,
    pixel_m: f64,
    grain: &NoiseSource,
) -> Picture {
    let scatter = selwyn_m(camera) / pixel_m;
    let middle = 0.5 * density_step(camera, contrast);
    // Scattered light cannot make the ground darker than dark, but the transform's rounding can.
    let exposure = |share: &f64| (1.0 + (contrast - 1.0) * share).max(0.1);
    let clean: Vec<f64> =
        light.share.iter().map(|share| camera.film_gamma * exposure(share).log10() - middle).collect();
    let pixels = clean.chunks_exact(light.width).flat_map(|row| row.iter().cycle().take(width));
    let draws = (0_u64..).flat_map(|block| grain.gaussian3(block));
    let level = |(density, draw): (&f64, f64)| 127.5 + LEVELS_PER_DENSITY * (density + scatter * draw);
    let grey = pixels.zip(draws).map(|pair| level(pair).round().clamp(0.0, 255.0) as u8).collect();
    Picture { width, height: light.height, grey }
}
