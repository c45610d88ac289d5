//! The lens: diffraction, aberration and focus as transfer functions, and the resolution they leave.
//!
//! Aberration is a Gaussian blur. Its size comes from one number that lens makers give, the low-contrast resolution
//! of one lens of known length and aperture ([`Aberration::of`]), and is carried to other lenses by a stated law.

use std::f64::consts::PI;

use super::wants::{Correction, LensWants};
use crate::imaging::mtf;
use crate::world::roots::crossing;

/// Target modulation of the contrast at which low-contrast resolution is quoted, 1.6:1.
pub fn quoted_modulation() -> f64 {
    mtf::target_modulation(1.6)
}

/// Resolution is looked for from here up, cycles/m: below 0.1 lp/mm nothing counts as resolved.
const COARSEST_PER_M: f64 = 100.0;
/// Beyond this, cycles/m, nothing limits.
const FINEST_PER_M: f64 = 1e8;
/// Resolutions are found to this share of themselves.
const TOLERANCE: f64 = 1e-7;

/// The aberration blur of a family of lenses, as the standard deviation of a Gaussian on film.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aberration {
    reference_sigma_m: f64,
    reference_focal_length_m: f64,
    reference_f_number: f64,
    correction: Correction,
}

impl Aberration {
    /// From the reference lens's resolution. `None` if diffraction alone leaves less than that.
    pub fn of(lens: &LensWants) -> Option<Self> {
        let perfect = mtf::diffraction(lens.resolution_lp_m, lens.wavelength_m, lens.reference_f_number);
        // contrast × diffraction × exp(−2π²σ²ν²) = threshold at the quoted resolution.
        let exponent = (quoted_modulation() * perfect / lens.threshold).ln();
        if exponent.is_nan() || exponent < 0.0 {
            return None;
        }
        Some(Self {
            reference_sigma_m: (0.5 * exponent).sqrt() / (PI * lens.resolution_lp_m),
            reference_focal_length_m: lens.reference_focal_length_m,
            reference_f_number: lens.reference_f_number,
            correction: lens.correction,
        })
    }

    /// Standard deviation of the blur of one lens, m.
    pub fn sigma_m(&self, focal_length_m: f64, f_number: f64) -> f64 {
        match self.correction {
            Correction::Renewed => self.reference_sigma_m,
            Correction::Scaled => {
                let length = focal_length_m / self.reference_focal_length_m;
                self.reference_sigma_m * length * (self.reference_f_number / f_number).powi(3)
            }
        }
    }
}

/// One lens, focused as well as the budget allows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lens {
    /// Wavelength, m.
    pub wavelength_m: f64,
    /// Focal length over aperture.
    pub f_number: f64,
    /// Whether diffraction counts.
    pub diffraction: bool,
    /// Standard deviation of the aberration blur, m.
    pub sigma_m: f64,
    /// Distance of the film from best focus, m.
    pub defocus_m: f64,
}

impl Lens {
    /// Share of contrast that the lens passes at a frequency, cycles/m.
    pub fn mtf(&self, frequency_per_m: f64) -> f64 {
        let perfect =
            if self.diffraction { mtf::diffraction(frequency_per_m, self.wavelength_m, self.f_number) } else { 1.0 };
        perfect * self.aberration_mtf(frequency_per_m) * self.focus_mtf(frequency_per_m)
    }

    /// The part of aberration.
    pub fn aberration_mtf(&self, frequency_per_m: f64) -> f64 {
        mtf::jitter(frequency_per_m, self.sigma_m)
    }

    /// The part of focus.
    pub fn focus_mtf(&self, frequency_per_m: f64) -> f64 {
        mtf::defocus(frequency_per_m, self.defocus_m, self.wavelength_m, self.f_number)
    }

    /// Where the lens alone stops resolving a target of the given modulation, cycles/m: its image's modulation falls
    /// to `threshold`, what an eye at a microscope needs. Infinite if nothing limits it.
    pub fn resolution_per_m(&self, modulation: f64, threshold: f64) -> f64 {
        let excess = |frequency| modulation * self.mtf(frequency) - threshold;
        first_crossing_per_m(excess, 1e5, self.first_zero_per_m())
    }

    /// Frequency at which focus first takes all contrast, cycles/m; beyond it contrast comes back reversed, which is
    /// no resolution. Infinite if that does not happen.
    pub fn first_zero_per_m(&self) -> f64 {
        // J1's first zero, 3.8317, is reached where ν/cut-off × (1 − ν/cut-off) equals this.
        let product = 1.219_67 * self.wavelength_m * self.f_number * self.f_number / self.defocus_m;
        if product >= 0.25 {
            return f64::INFINITY;
        }
        let share = 0.5 * (1.0 - (1.0 - 4.0 * product).sqrt());
        share * mtf::diffraction_cutoff_per_m(self.wavelength_m, self.f_number)
    }
}

/// Where `excess` (image modulation less what is needed, falling with frequency) ceases to be positive, cycles/m.
/// Zero if it never is, infinite if it always is. Nothing beyond `limit`, where contrast is gone, is looked at;
/// `guess` only saves time.
pub fn first_crossing_per_m(excess: impl Fn(f64) -> f64, guess: f64, limit: f64) -> f64 {
    let coarsest = excess(COARSEST_PER_M);
    if coarsest.is_nan() || coarsest <= 0.0 {
        return 0.0;
    }
    let limit = limit.min(FINEST_PER_M);
    let (mut low, mut high) = (COARSEST_PER_M, guess.clamp(2.0 * COARSEST_PER_M, FINEST_PER_M).min(limit));
    while excess(high) > 0.0 {
        if high >= limit {
            return if limit < FINEST_PER_M { limit } else { f64::INFINITY };
        }
        low = high;
        high = (1.2 * high).min(limit);
    }
    crossing(excess, low, high, TOLERANCE * high)
}
