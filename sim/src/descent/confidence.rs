//! How much a number of runs can say.

use statrs::function::beta::checked_beta_reg;

use crate::world::roots;

/// Two-sided bounds of a share seen as `hits` of `runs` (Clopper and Pearson, *Biometrika* 26, 404, 1934): exact for
/// independent runs.
pub fn share_bounds(hits: usize, runs: usize, confidence: f64) -> (f64, f64) {
    let tail = 0.5 * (1.0 - confidence);
    let (x, n) = (hits as f64, runs as f64);
    let quantile = |a: f64, b: f64, p: f64| {
        roots::crossing(|s| checked_beta_reg(a, b, s.clamp(0.0, 1.0)).unwrap_or(f64::NAN) - p, 0.0, 1.0, 1e-13)
    };
    let low = if hits == 0 { 0.0 } else { quantile(x, n - x + 1.0, tail) };
    let high = if hits == runs { 1.0 } else { quantile(x + 1.0, n - x, 1.0 - tail) };
    (low, high)
}

/// Half axes of the ellipse that holds `share` of a two-dimensional normal law, in sigmas: √(−2 ln(1 − share)).
pub fn ellipse_sigmas(share: f64) -> f64 {
    (-2.0 * (1.0 - share).ln()).sqrt()
}

/// The share of all descents that lies within the extremes of `runs` runs, at this confidence, whatever the law: the
/// largest of `n` exceeds the share p with probability 1 − pⁿ (order statistics; S. S. Wilks, 1941).
pub fn share_below_largest(runs: usize, confidence: f64) -> f64 {
    (1.0 - confidence).powf(1.0 / runs.max(1) as f64)
}

/// A quantile of sorted values with its bounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounded {
    /// The quantile.
    pub value: f64,
    /// Lower bound; none where no value of the sample is low enough to be one.
    pub low: Option<f64>,
    /// Upper bound; none where no value of the sample is high enough to be one.
    pub high: Option<f64>,
}

/// A quantile of sorted values, and the values that bound it at `confidence`, whatever the law: order statistics whose
/// ranks come from the binomial law, by its normal approximation (good beyond ten runs on either side). A rank beyond
/// the sample's ends is no bound: the extreme in its place would claim more than so few runs can say.
pub fn quantile(sorted: &[f64], share: f64, confidence: f64) -> Option<Bounded> {
    let n = sorted.len() as f64;
    // Ranks count from 0.
    let at = |rank: f64| if rank < 0.0 { None } else { sorted.get(rank as usize).copied() };
    let z = roots::crossing(|z| libm::erf(z / std::f64::consts::SQRT_2) - confidence, 0.0, 9.0, 1e-12);
    let half = z * (n * share * (1.0 - share)).sqrt();
    let value = at((n * share).floor())?;
    Some(Bounded { value, low: at((n * share - half).floor()), high: at((n * share + half).ceil()) })
}
