//! Lens, film and motion as transfer functions on the light that falls on film.
//!
//! - Lens: a perfect lens of the camera's f-number at 550 nm, times a Gaussian for its faults, such that the whole falls
//!   to [`LIMIT_TRANSFER`] at the lens's stated resolution.
//! - Film: light scatters in the emulsion with an exponential spread, `1/(1 + (ν/ν₀)²)` (the form is Frieser's, from
//!   memory), with ν₀ such that film behind a perfect lens just reads its stated resolution through its own grain
//!   ([`film_transfer_at_limit`]).
//! - Vibration: a blur of its one-sigma length on either axis, whatever the path: the smear that budgets count it as,
//!   joining the path's by the sum of variances.
//! - Motion: the mean of `exp(−2πi ν·d(t))` over the exposure, with d(t) the quartic through the path's five nodes. For
//!   a straight, even path this is the sinc; for one that turns back it is not.

use nalgebra::Vector2;
use rustfft::{FftPlanner, num_complex::Complex};
use std::f64::consts::TAU;

use super::super::camera::Camera;
use super::super::mtf;
use super::super::sample::NODES;
use super::film::film_transfer_at_limit;
use super::target::Light;

/// Transfer at a lens's stated resolution: `exp(−π²/6)`.
///
/// The reciprocal-square rule counts a smear of length s as a limit of 1/s, and is exact for Gaussian blurs. A smear s
/// has the variance s²/12, which as a Gaussian passes exp(−π²/6) = 0.193 of the contrast at the frequency 1/s: that is
/// what "a limit of R" means to the rule.
pub const LIMIT_TRANSFER: f64 = 0.193_025;
/// Middle of the visible band, m.
pub const WAVELENGTH_M: f64 = 550e-9;

/// Transfer of the lens at a spatial frequency on film, cycles/m.
pub fn lens(camera: &Camera, frequency_per_m: f64) -> f64 {
    let perfect = |frequency| mtf::diffraction(frequency, WAVELENGTH_M, camera.f_number);
    let limit = 1e3 * camera.lens_resolution_lp_mm;
    // What the lens's faults leave at its limit; a lens as good as light allows has none.
    let faults = (LIMIT_TRANSFER / perfect(limit).max(LIMIT_TRANSFER)).min(1.0);
    let ratio = frequency_per_m / limit;
    perfect(frequency_per_m) * (faults.ln() * ratio * ratio).exp()
}

/// Transfer of the film, cycles/m.
pub fn film(camera: &Camera, frequency_per_m: f64) -> f64 {
    let ratio = frequency_per_m / (1e3 * camera.film_resolution_lp_mm);
    let at_limit = film_transfer_at_limit(camera);
    1.0 / (1.0 + (1.0 / at_limit - 1.0) * ratio * ratio)
}

/// The path at evenly spread moments of the exposure (the middle of each of `count` parts), m.
fn moments(path_m: &[Vector2<f64>; NODES], count: usize) -> Vec<Vector2<f64>> {
    let basis = |t: f64, node: usize| {
        let at = |index: usize| index as f64 / (NODES - 1) as f64;
        let others = (0..NODES).filter(|&other| other != node);
        others.map(|other| (t - at(other)) / (at(node) - at(other))).product::<f64>()
    };
    let moment = |part: usize| {
        let t = (part as f64 + 0.5) / count as f64;
        path_m.iter().enumerate().map(|(node, at_m)| at_m * basis(t, node)).sum()
    };
    (0..count).map(moment).collect()
}

/// Transfer of the motion at a frequency (along, across), cycles/m.
pub fn motion(path_m: &[Vector2<f64>; NODES], frequency_per_m: &Vector2<f64>) -> Complex<f64> {
    let count = parts(path_m, frequency_per_m.norm());
    let sum: Complex<f64> =
        moments(path_m, count).iter().map(|at_m| Complex::cis(-TAU * frequency_per_m.dot(at_m))).sum();
    sum / count as f64
}

/// Parts of the exposure that show every cycle which the path runs through several times.
fn parts(path_m: &[Vector2<f64>; NODES], highest_per_m: f64) -> usize {
    let steps = path_m.windows(2).map(|pair| match pair {
        [a, b] => (b - a).norm(),
        _ => 0.0,
    });
    let cycles = steps.sum::<f64>() * highest_per_m;
    (8.0 * cycles).clamp(16.0, 400.0).ceil() as usize
}

/// Lays lens, film and motion over the light, in place.
///
/// The picture is taken as two halves, left and right, in the real and the imaginary part of one transform: every
/// transfer here belongs to a real spread, so that the two do not mix. Light runs round the edges of each half.
pub fn expose(light: &mut Light, camera: &Camera, path_m: &[Vector2<f64>; NODES], pixel_m: f64) {
    let (width, height) = (light.width / 2, light.height);
    let mut field: Vec<Complex<f64>> = Vec::with_capacity(width * height);
    for row in light.share.chunks_exact(light.width) {
        let (left, right) = row.split_at(width);
        field.extend(left.iter().zip(right).map(|(&re, &im)| Complex { re, im }));
    }
    let mut planner = FftPlanner::new();
    let mut turned = vec![Complex::default(); field.len()];
    planner.plan_fft_forward(width).process(&mut field);
    transpose(&field, &mut turned, width);
    planner.plan_fft_forward(height).process(&mut turned);
    filter(&mut turned, (width, height), camera, path_m, pixel_m);
    planner.plan_fft_inverse(height).process(&mut turned);
    transpose(&turned, &mut field, height);
    planner.plan_fft_inverse(width).process(&mut field);
    let scale = 1.0 / (width * height) as f64;
    for (row, lit) in light.share.chunks_exact_mut(light.width).zip(field.chunks_exact(width)) {
        let (left, right) = row.split_at_mut(width);
        for ((left, right), value) in left.iter_mut().zip(right).zip(lit) {
            (*left, *right) = (value.re * scale, value.im * scale);
        }
    }
}

fn transpose(from: &[Complex<f64>], to: &mut [Complex<f64>], width: usize) {
    let height = from.len() / width;
    for (row, values) in from.chunks_exact(width).enumerate() {
        for (column, value) in values.iter().enumerate() {
            to[column * height + row] = *value;
        }
    }
}

/// Frequency of each line of a transform, cycles/m.
fn frequencies(count: usize, pixel_m: f64) -> Vec<f64> {
    let signed = |k: usize| if 2 * k > count { k as f64 - count as f64 } else { k as f64 };
    (0..count).map(|k| signed(k) / (count as f64 * pixel_m)).collect()
}

/// Multiplies a transform that is stored column by column.
fn filter(
    field: &mut [Complex<f64>],
    (width, height): (usize, usize),
    camera: &Camera,
    path_m: &[Vector2<f64>; NODES],
    pixel_m: f64,
) {
    let still = Radial::new(camera, pixel_m);
    let (across, down) = (frequencies(width, pixel_m), frequencies(height, pixel_m));
    let moments = moments(path_m, parts(path_m, still.highest_per_m));
    let weight = 1.0 / moments.len() as f64;
    // Rows of the picture run down, against the track.
    let turn = |frequencies: &[f64], at: &dyn Fn(&Vector2<f64>) -> f64| -> Vec<Vec<Complex<f64>>> {
        frequencies.iter().map(|f| moments.iter().map(|moment| Complex::cis(-TAU * f * at(moment))).collect()).collect()
    };
    let (by_column, by_row) = (turn(&across, &|moment| moment.y), turn(&down, &|moment| -moment.x));
    for ((column, &u), values) in by_column.iter().zip(&across).zip(field.chunks_exact_mut(height)) {
        for ((row, &v), value) in by_row.iter().zip(&down).zip(values) {
            let still = still.at(u.hypot(v));
            if still == 0.0 {
                *value = Complex::default();
                continue;
            }
            let motion: Complex<f64> = column.iter().zip(row).map(|(a, b)| a * b).sum();
            let both = |length_m: f64| mtf::linear_smear(u, length_m) * mtf::linear_smear(v, length_m);
            // Bars were drawn as shares of whole pixels; what that averaging took is given back.
            *value *= motion * (still * weight * both(camera.vibration_m) / both(pixel_m));
        }
    }
}

/// Lens times film as a table over the frequency.
struct Radial {
    highest_per_m: f64,
    table: Vec<f64>,
}

impl Radial {
    const STEPS: usize = 4096;
    /// Transfer that no longer counts: a 1.6:1 target keeps less than a thousandth of a grey level of it.
    const NOTHING: f64 = 1e-5;

    fn new(camera: &Camera, pixel_m: f64) -> Self {
        let nyquist_per_m = 0.5 / pixel_m;
        let transfer = |frequency: f64| lens(camera, frequency) * film(camera, frequency);
        let steps = 0..Self::STEPS;
        let highest = steps.map(|k| nyquist_per_m * (k + 1) as f64 / Self::STEPS as f64);
        let highest_per_m = highest.take_while(|f| transfer(*f) > Self::NOTHING).last().unwrap_or(nyquist_per_m);
        let at = |k: usize| transfer(highest_per_m * k as f64 / Self::STEPS as f64);
        Self { highest_per_m, table: (0..=Self::STEPS).map(at).collect() }
    }

    fn at(&self, frequency_per_m: f64) -> f64 {
        let place = frequency_per_m / self.highest_per_m * Self::STEPS as f64;
        let low = place as usize;
        match self.table.get(low..low + 2) {
            Some([a, b]) => a + (b - a) * (place - low as f64),
            _ => 0.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    #[test]
    fn the_limit_is_the_rules_own() {
        assert!((LIMIT_TRANSFER - (-PI * PI / 6.0).exp()).abs() < 1e-6);
    }

    #[test]
    fn a_table_of_the_lens_and_film_is_as_good_as_they_are() {
        let camera = Camera::default();
        let table = Radial::new(&camera, 1.2e-6);
        for frequency in [0.0, 1e3, 55_555.0, 101e3, 250e3] {
            let exact = lens(&camera, frequency) * film(&camera, frequency);
            assert!((table.at(frequency) - exact).abs() < 1e-6, "{frequency}: {} {exact}", table.at(frequency));
        }
    }
}
