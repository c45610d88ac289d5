//! Small helpers for pictures drawn by hand.

use std::fmt::Write;

/// A path's data from points; a point that is not finite lifts the pen.
pub fn path(points: impl IntoIterator<Item = (f64, f64)>) -> String {
    let mut data = String::new();
    let mut down = false;
    for (x, y) in points {
        if x.is_finite() && y.is_finite() {
            // Writing to a string cannot fail.
            let _ = write!(data, "{}{x:.1} {y:.1}", if down { 'L' } else { 'M' });
            down = true;
        } else {
            down = false;
        }
    }
    data
}

/// A round step that divides `span` into `about` parts or so: 1, 2 or 5 times a power of ten.
pub fn round_step(span: f64, about: f64) -> f64 {
    let raw = (span / about).max(f64::MIN_POSITIVE);
    let decade = 10_f64.powf(raw.log10().floor());
    let factor = match raw / decade {
        f if f < 1.5 => 1.0,
        f if f < 3.5 => 2.0,
        f if f < 7.5 => 5.0,
        _ => 10.0,
    };
    factor * decade
}
