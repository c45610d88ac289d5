//! Outside checks of the world: every expected number comes from a named source outside the code.
//!
//! "erfa" is the IAU SOFA library as pyerfa 2.0.1.5; "scipy" is scipy 1.17.1, DOP853 at a relative
//! tolerance of 1e-13 on forces written independently (potential in Legendre polynomials, gradient
//! by complex step).

mod air;
mod cost;
mod elements;
mod flown_orbit;
mod geodesy;
mod gravity;
mod gyros;
mod horizon;
mod moon;
mod never_panics;
mod sun;
mod time;
mod torques;
mod track;

/// Asserts that two numbers agree to a relative tolerance.
#[track_caller]
fn assert_relative(found: f64, expected: f64, tolerance: f64) {
    let error = (found - expected).abs() / expected.abs();
    assert!(error <= tolerance, "found {found}, expected {expected}: relative error {error:.3e}");
}

/// Asserts that two numbers agree to an absolute tolerance.
#[track_caller]
fn assert_near(found: f64, expected: f64, tolerance: f64) {
    let error = (found - expected).abs();
    assert!(error <= tolerance, "found {found}, expected {expected}: error {error:.3e}");
}
