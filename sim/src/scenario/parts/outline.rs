//! What the corners of an area must be to enclose it.

use std::f64::consts::PI;

/// Smallest area that counts, rad² of latitude times longitude: some 40 m².
const LEAST_RAD2: f64 = 1e-12;

/// Why corners make no outline.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Flaw {
    /// A side goes more than half way round the Earth: it was meant to cross the 180° meridian.
    Meridian,
    /// Two sides cross.
    CrossesItself,
    /// There is nothing inside.
    Empty,
}

impl Flaw {
    /// What is wrong, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Meridian => "the outline crosses the 180° meridian",
            Self::CrossesItself => "the outline crosses itself",
            Self::Empty => "the polygon encloses nothing",
        }
    }

    /// What to do.
    pub const fn help(self) -> &'static str {
        match self {
            Self::Meridian => "Cut the polygon there into two areas (as RFC 7946, section 3.1.9, does).",
            Self::CrossesItself => "Order the corners so that the outline goes round once.",
            Self::Empty => "Draw it around some ground, or give a middle with a radius.",
        }
    }
}

/// What is wrong with the outline through corners at [latitude, longitude], rad; the last joins the first.
pub fn flaw(corners: &[[f64; 2]]) -> Option<Flaw> {
    let sides = || corners.iter().zip(corners.iter().cycle().skip(1));
    if sides().any(|(a, b)| (a[1] - b[1]).abs() > PI) {
        return Some(Flaw::Meridian);
    }
    if crosses_itself(corners) {
        return Some(Flaw::CrossesItself);
    }
    let doubled: f64 = sides().map(|(a, b)| a[1] * b[0] - b[1] * a[0]).sum();
    (0.5 * doubled.abs() < LEAST_RAD2).then_some(Flaw::Empty)
}

/// Whether two sides that are no neighbours cross.
fn crosses_itself(places: &[[f64; 2]]) -> bool {
    let count = places.len();
    let side = |k: usize| Some((places.get(k)?, places.get((k + 1) % count)?));
    let turn = |a: &[f64; 2], b: &[f64; 2], c: &[f64; 2]| (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
    let cross = |k: usize, m: usize| -> Option<bool> {
        let ((a, b), (c, d)) = (side(k)?, side(m)?);
        let apart = turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0;
        Some(apart)
    };
    (0..count).any(|k| (k + 2..count).filter(|m| (m + 1) % count != k).any(|m| cross(k, m).unwrap_or(false)))
}
