//! Modulation transfer functions: what share of contrast survives at a spatial frequency.
//!
//! Frequencies in cycles/m in the image plane, lengths in m. Standard forms; each is 1 at zero frequency.

use std::f64::consts::PI;

/// Cut-off frequency of a perfect lens, `1/(λN)`, cycles/m.
pub fn diffraction_cutoff_per_m(wavelength_m: f64, f_number: f64) -> f64 {
    1.0 / (wavelength_m * f_number)
}

/// Perfect lens with a round aperture; zero beyond the cut-off.
pub fn diffraction(frequency_per_m: f64, wavelength_m: f64, f_number: f64) -> f64 {
    let s = frequency_per_m.abs() / diffraction_cutoff_per_m(wavelength_m, f_number);
    if s >= 1.0 {
        return 0.0;
    }
    2.0 / PI * (s.acos() - s * (1.0 - s * s).sqrt())
}

/// What an image plane out of focus by `defocus_m` leaves of a perfect lens's contrast: `|2·J1(x)/x|`, with
/// `x = π·ν·(defocus/N)·(1 − ν/cut-off)`.
///
/// The disc of light that a cone of f-number `N` makes out of focus, with the factor `1 − ν/cut-off` that is exact
/// for a square aperture (Goodman, *Introduction to Fourier Optics*, § 6.4, from memory) put into the round one's
/// form. Within 0.06 of the round aperture's autocorrelation up to `defocus = 2λN²`. Multiplies [`diffraction`].
pub fn defocus(frequency_per_m: f64, defocus_m: f64, wavelength_m: f64, f_number: f64) -> f64 {
    let s = frequency_per_m.abs() / diffraction_cutoff_per_m(wavelength_m, f_number);
    let x = PI * frequency_per_m * (defocus_m / f_number) * (1.0 - s).max(0.0);
    if x.abs() < 1e-6 {
        return 1.0;
    }
    (2.0 * libm::j1(x) / x).abs()
}

/// Depth of focus to either side for a perfect lens, `2λN²`, m: a quarter wave of defocus at the aperture's edge
/// (Rayleigh's quarter-wave rule).
pub fn depth_of_focus_m(wavelength_m: f64, f_number: f64) -> f64 {
    2.0 * wavelength_m * f_number * f_number
}

/// Uniform smear of a given length: `|sin(πdν)/(πdν)|`.
pub fn linear_smear(frequency_per_m: f64, smear_m: f64) -> f64 {
    let a = PI * smear_m * frequency_per_m;
    if a.abs() < 1e-8 {
        return 1.0;
    }
    (a.sin() / a).abs()
}

/// Sinusoidal vibration of a given amplitude, many cycles within the exposure: `|J0(2πaν)|`.
pub fn vibration(frequency_per_m: f64, amplitude_m: f64) -> f64 {
    libm::j0(2.0 * PI * amplitude_m * frequency_per_m).abs()
}

/// Gaussian jitter of a given standard deviation: `exp(−2π²σ²ν²)`.
pub fn jitter(frequency_per_m: f64, sigma_m: f64) -> f64 {
    let a = PI * sigma_m * frequency_per_m;
    (-2.0 * a * a).exp()
}

/// Modulation of a target whose bright and dark parts stand in the given ratio: `(C − 1)/(C + 1)`.
pub fn target_modulation(contrast_ratio: f64) -> f64 {
    (contrast_ratio - 1.0) / (contrast_ratio + 1.0)
}

/// Line pairs per mm of an element of the three-bar target of MIL-STD-150A: `2^(group + (element − 1)/6)`.
pub fn three_bar_lp_mm(group: i32, element: i32) -> f64 {
    (f64::from(group) + f64::from(element - 1) / 6.0).exp2()
}
