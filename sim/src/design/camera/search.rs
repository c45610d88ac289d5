//! Every camera of the grid, on all processors, in an order that does not depend on them; and the best among them.

use rayon::prelude::*;

use super::model::{Candidate, Model};
use super::terms::Terms;
use super::wants::Search;

impl Search {
    /// Focal lengths, m.
    pub fn focal_lengths(&self) -> Vec<f64> {
        grid(self.focal_lengths_m, self.focal_length_step_m)
    }

    /// f-numbers.
    pub fn f_numbers(&self) -> Vec<f64> {
        grid(self.f_numbers, self.f_number_step)
    }
}

/// From the first number in steps up to the second.
fn grid([first, last]: [f64; 2], step: f64) -> Vec<f64> {
    // Half a thousandth of a step keeps a last number that rounding pushed over the edge.
    let count = ((last - first) / step + 5e-4).max(0.0) as usize;
    // To a billionth, so that 0.6 + 40 × 0.01 is 1 and reads so.
    (0..=count).map(|index| ((first + index as f64 * step) * 1e9).round() / 1e9).collect()
}

/// Every camera of the search, by focal length, then f-number, film and slit.
pub fn search(model: &Model<'_>, terms: Terms) -> Vec<Candidate> {
    let f_numbers = model.wants.search.f_numbers();
    let rows = model.wants.search.focal_lengths();
    let found: Vec<Vec<Candidate>> = rows
        .par_iter()
        .map(|focal_length_m| {
            let row = f_numbers.iter().flat_map(|f_number| model.cameras(*focal_length_m, *f_number, terms));
            row.collect()
        })
        .collect();
    found.into_iter().flatten().collect()
}

/// Places of those candidates among `allowed` that none other of them beats in mass without losing ground resolved
/// distance, or the other way round; lightest first. What resolves nothing is left out.
pub fn pareto(candidates: &[Candidate], allowed: impl Fn(&Candidate) -> bool) -> Vec<usize> {
    let mut order: Vec<(usize, &Candidate)> =
        candidates.iter().enumerate().filter(|(_, c)| c.grd_m.is_finite() && allowed(c)).collect();
    order.sort_by(|(i, a), (j, b)| a.mass_kg.total_cmp(&b.mass_kg).then(a.grd_m.total_cmp(&b.grd_m)).then(i.cmp(j)));
    let mut front: Vec<usize> = Vec::new();
    let mut best: Option<&Candidate> = None;
    for (index, candidate) in order {
        let twin = |best: &Candidate| candidate.grd_m == best.grd_m && candidate.mass_kg == best.mass_kg;
        if best.is_none_or(|best| candidate.grd_m < best.grd_m || twin(best)) {
            front.push(index);
            best = Some(candidate);
        }
    }
    front
}

#[cfg(test)]
mod tests {
    use super::grid;

    #[test]
    fn grids_reach_their_ends_and_hold_round_numbers() {
        let lengths = grid([0.6, 1.6], 0.01);
        assert_eq!((lengths.len(), lengths.first(), lengths.last()), (101, Some(&0.6), Some(&1.6)));
        assert!(lengths.contains(&1.0));
        assert_eq!(grid([5.0, 5.0], 0.1), [5.0]);
        assert_eq!(grid([2.8, 3.05], 0.1).len(), 3);
    }
}
