//! Film: the modulation that its image needs at each frequency before three bars can be told apart.

use super::lens::quoted_modulation;
use super::wants::{FilmData, FilmStock};
use crate::imaging::mtf;

/// Modulation of the image on film at which bars are just told apart, against frequency: straight lines between
/// points in the logarithms of both, carried on beyond the last ones.
///
/// Photographic practice calls this curve, film's own transfer function taken in, the aerial-image modulation that
/// the film needs (method of threshold curves, from memory). Where it meets the modulation that lens and smear leave,
/// the picture's resolution ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Threshold {
    /// (ln of frequency in cycles/m, ln of modulation), both rising.
    points: Vec<(f64, f64)>,
}

impl Threshold {
    /// From what the file says of a film: its resolving powers at 1.6:1 and 1000:1, each a point where the needed
    /// modulation is known, with a power law between them (own choice); or measured curves, needed modulation after
    /// development over the film's transfer function.
    pub fn of(film: &FilmStock) -> Self {
        let points = match &film.kind {
            FilmData::ResolvingPower(power) => vec![
                (power.low_contrast_lp_m.ln(), quoted_modulation().ln()),
                (power.high_contrast_lp_m.ln(), mtf::target_modulation(1000.0).ln()),
            ],
            FilmData::Curves(curves) => {
                let at = curves.at_lp_m.iter().zip(&curves.mtf).zip(&curves.threshold);
                at.map(|((frequency, mtf), threshold)| (frequency.ln(), (threshold / mtf).ln())).collect()
            }
        };
        Self { points }
    }

    /// Modulation needed at a frequency, cycles/m; above one beyond what the film can resolve at all.
    pub fn needed(&self, frequency_per_m: f64) -> f64 {
        let x = frequency_per_m.ln();
        let after = self.points.partition_point(|point| point.0 < x);
        along(self.segment(after, |point| *point), x).exp()
    }

    /// Resolution of the film alone, cycles/m, for an image of the given modulation.
    pub fn resolution_per_m(&self, modulation: f64) -> f64 {
        let y = modulation.ln();
        let after = self.points.partition_point(|point| point.1 < y);
        along(self.segment(after, |point| (point.1, point.0)), y).exp()
    }

    /// Whether the needed modulation rises from point to point, as the rest relies on.
    pub fn rises(&self) -> bool {
        self.points.is_sorted_by(|a, b| a.0 < b.0 && a.1 < b.1)
    }

    fn segment(&self, after: usize, turn: impl Fn(&(f64, f64)) -> (f64, f64)) -> ((f64, f64), (f64, f64)) {
        let last = self.points.len().saturating_sub(1);
        let end = after.clamp(1, last.max(1));
        let point = |index: usize| self.points.get(index).map_or((0.0, 0.0), &turn);
        (point(end - 1), point(end))
    }
}

fn along(((x0, y0), (x1, y1)): ((f64, f64), (f64, f64)), x: f64) -> f64 {
    y0 + (y1 - y0) * (x - x0) / (x1 - x0)
}
