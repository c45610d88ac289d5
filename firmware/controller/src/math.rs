//! The only door to elementary functions.
//!
//! Host and board must give the same bits, so nothing here (or anywhere in this crate) calls the
//! platform's float library: libm is called by its full path, `sin_cos` is our own, and clippy bans the
//! method-style calls (`x.sin()`) that would silently change their meaning once a dependency links std.

use core::f32::consts::{FRAC_2_PI, PI};

/// One degree, rad.
pub const DEG: f32 = PI / 180.0;

/// Sine and cosine of an angle in radians.
///
/// Absolute error below 1.2e-7 for |x| ≤ 1,000 (proved by test against f64); beyond that, and for NaN or
/// infinity, falls back to libm, which is slower by a factor of forty on the board.
/// Method: Cody–Waite reduction by three parts of π/2, then the minimax polynomials of the Cephes library
/// (S. Moshier, *Methods and Programs for Mathematical Functions*, 1989).
pub fn sin_cos(x: f32) -> (f32, f32) {
    if !(x > -1000.0 && x < 1000.0) {
        return (libm::sinf(x), libm::cosf(x));
    }
    // Rounding to nearest by adding and taking away 1.5·2^23 needs no library call.
    const ROUND: f32 = 12_582_912.0;
    let turns = (x * FRAC_2_PI + ROUND) - ROUND;
    let quadrant = turns as i32;
    // π/2 in three parts; the first two have trailing zero bits, so the products below are exact.
    const P1: f32 = 1.570_312_5;
    const P2: f32 = 4.837_513e-4;
    const P3: f32 = 7.549_79e-8;
    let r = ((x - turns * P1) - turns * P2) - turns * P3;
    let r2 = r * r;
    let s = r + r * r2 * (-1.666_665_5e-1 + r2 * (8.332_161e-3 - r2 * 1.951_529_6e-4));
    let c = 1.0 - 0.5 * r2 + r2 * r2 * (4.166_664_6e-2 + r2 * (-1.388_731_6e-3 + r2 * 2.443_315_7e-5));
    match quadrant & 3 {
        0 => (s, c),
        1 => (c, -s),
        2 => (-s, -c),
        _ => (-c, s),
    }
}

/// Square root, correctly rounded; NaN below zero.
pub fn sqrt(x: f32) -> f32 {
    libm::sqrtf(x)
}

/// Square root to within 6.1 % (micromath). Only where a few percent are harmless: sizing the span of a
/// limit cycle. Zero for anything not above zero.
pub fn rough_sqrt(x: f32) -> f32 {
    if x > 0.0 { micromath::F32Ext::sqrt(x) } else { 0.0 }
}

/// Arc tangent of `y/x` in the right quadrant, rad.
pub fn atan2(y: f32, x: f32) -> f32 {
    libm::atan2f(y, x)
}

/// Arc sine, rad; the argument is brought into −1…1 first.
pub fn asin(x: f32) -> f32 {
    libm::asinf(clamp(x, -1.0, 1.0))
}

/// Magnitude.
pub fn abs(x: f32) -> f32 {
    libm::fabsf(x)
}

/// `x` held between `low` and `high`; NaN gives `low`. Unlike `f32::clamp` it cannot panic.
pub fn clamp(x: f32, low: f32, high: f32) -> f32 {
    if x > high {
        high
    } else if x > low {
        x
    } else {
        low
    }
}

/// Angle brought into −π…π, rad, for |x| below 1,000.
pub fn wrap_angle(x: f32) -> f32 {
    use core::f32::consts::PI;
    if abs(x) <= PI {
        return x;
    }
    let (s, c) = sin_cos(x);
    atan2(s, c)
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    #[test]
    fn sine_and_cosine_stay_inside_the_stated_error() {
        let mut worst = 0.0_f64;
        for step in -2_000_000..=2_000_000 {
            let x = step as f32 * 5e-4;
            let (s, c) = sin_cos(x);
            worst = worst.max((f64::from(s) - f64::from(x).sin()).abs());
            worst = worst.max((f64::from(c) - f64::from(x).cos()).abs());
        }
        assert!(worst < 1.2e-7, "worst error {worst:e}");
    }

    #[test]
    fn sine_of_not_a_number_is_not_a_number() {
        assert!(sin_cos(f32::NAN).0.is_nan());
        assert!(sin_cos(f32::INFINITY).1.is_nan());
    }

    #[test]
    fn rough_root_is_within_its_bound() {
        let mut worst = 0.0_f64;
        for step in 1..200_000 {
            let x = step as f32 * 1e-7;
            worst = worst.max((f64::from(rough_sqrt(x)) / f64::from(x).sqrt() - 1.0).abs());
        }
        assert!(worst < 0.061, "worst relative error {worst}");
        assert_eq!(rough_sqrt(f32::NAN), 0.0);
    }

    #[test]
    fn clamp_brings_nan_to_the_low_end() {
        assert_eq!(clamp(f32::NAN, -1.0, 1.0), -1.0);
        assert_eq!(clamp(f32::INFINITY, -1.0, 1.0), 1.0);
    }
}
