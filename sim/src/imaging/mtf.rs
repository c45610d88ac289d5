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
