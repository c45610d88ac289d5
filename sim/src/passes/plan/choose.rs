//! Which bursts are flown: worth most within all limits.
//!
//! As a mixed-integer linear programme. For each burst b a choice x_b of 0 or 1; for each group of cells c that the same
//! bursts see, a share y_c of 0…1 that counts:
//!
//! ```text
//! maximise  Σ w_c·y_c
//! subject to  need_c·y_c ≤ Σ_{b sees c} x_b      (stereo from two passes needs two; then y_c is 0 or 1 too)
//!             Σ cost_b·x_b ≤ limit               for film, gas, energy, entries of the load
//!             Σ_{b in the way of each other} x_b ≤ 1
//! ```
//!
//! Solved by branch and bound ([microlp](https://crates.io/crates/microlp)) up to a number of nodes, so that the answer
//! is the same on every machine. The *bound* is the best that any choice could reach: of the search where it ended
//! early, else of the answer itself; the *relaxed* value allows fractions of bursts. Both are always told.

use microlp::{ComparisonOp, OptimizationDirection, Problem as Model, SolveOptions, TerminationReason, Variable};
use std::collections::BTreeMap;
use thiserror::Error;

/// Nodes of the search, at most.
const MOST_NODES: u64 = 20_000;
/// Slack on limits that rounding may take.
const SLACK: f64 = 1e-9;

/// The solver broke down.
#[derive(Debug, Error)]
#[error("the choice of passes cannot be solved: {0}")]
pub struct ChoiceError(#[from] microlp::Error);

/// A choice to be made.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Problem {
    /// Bursts to choose from.
    count: usize,
    /// Worth of all cells that need as many sightings and are seen by the same bursts.
    cells: BTreeMap<(u32, Vec<usize>), f64>,
    /// Costs of each burst, and what there is.
    limits: Vec<(Vec<f64>, f64)>,
    /// Bursts of which at most one may be flown.
    groups: Vec<Vec<usize>>,
    /// Worth of everything, seen or not.
    wished: f64,
}

/// A choice made.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Choice {
    /// Bursts flown, in order.
    pub picked: Vec<usize>,
    /// What they are worth.
    pub value: f64,
    /// What everything wished for would be worth.
    pub wished: f64,
    /// What no choice can exceed.
    pub bound: f64,
    /// What fractions of bursts could reach: the linear relaxation.
    pub relaxed: f64,
    /// Whether no choice is worth more.
    pub exact: bool,
    /// Nodes of the search.
    pub nodes: u64,
}

impl Choice {
    /// What may be missing to the best choice, as a share of the bound.
    pub fn gap(&self) -> f64 {
        if self.bound > 0.0 { (1.0 - self.value / self.bound).max(0.0) } else { 0.0 }
    }

    /// The same against the relaxation.
    pub fn relaxed_gap(&self) -> f64 {
        if self.relaxed > 0.0 { (1.0 - self.value / self.relaxed).max(0.0) } else { 0.0 }
    }
}

impl Problem {
    /// Among `count` bursts.
    pub fn new(count: usize) -> Self {
        Self { count, ..Self::default() }
    }

    /// Adds a cell: its worth, how many bursts must see it, which do (rising).
    pub fn add_cell(&mut self, worth: f64, need: u32, seen_by: Vec<usize>) {
        self.wished += worth;
        if seen_by.len() >= need as usize {
            *self.cells.entry((need, seen_by)).or_insert(0.0) += worth;
        }
    }

    /// Adds a limit on the sum of the costs of the bursts flown.
    pub fn add_limit(&mut self, costs: Vec<f64>, most: f64) {
        self.limits.push((costs, most));
    }

    /// Forbids bursts, given as [from, to], that begin less than `gap` after another ends.
    pub fn keep_apart(&mut self, times: &[[f64; 2]], gap: f64) {
        // Intervals that clash two by two share an instant: the beginning of the last of them.
        for (index, [from, _]) in times.iter().enumerate() {
            let here = |(other, [start, end]): (usize, &[f64; 2])| {
                let inside = start <= from && *from < end + gap;
                (inside || other == index).then_some(other)
            };
            let group: Vec<usize> = times.iter().enumerate().filter_map(here).collect();
            if group.len() > 1 && !self.groups.contains(&group) {
                self.groups.push(group);
            }
        }
    }

    /// Worth of a choice.
    pub fn value(&self, picked: &[usize]) -> f64 {
        let seen = |by: &[usize]| by.iter().filter(|burst| picked.contains(burst)).count();
        self.cells.iter().filter(|((need, by), _)| seen(by) >= *need as usize).map(|(_, worth)| worth).sum()
    }

    /// Whether a choice keeps all limits.
    pub fn allowed(&self, picked: &[usize]) -> bool {
        let cost = |costs: &[f64]| picked.iter().filter_map(|&burst| costs.get(burst)).sum::<f64>();
        self.limits.iter().all(|(costs, most)| cost(costs) <= most + SLACK * most.abs().max(1.0))
            && self.groups.iter().all(|group| group.iter().filter(|burst| picked.contains(burst)).count() <= 1)
    }

    /// A first choice: whatever adds most, again and again.
    fn greedy(&self) -> Vec<usize> {
        let mut picked = Vec::new();
        let mut value = 0.0;
        loop {
            let better = (0..self.count).filter(|burst| !picked.contains(burst)).filter_map(|burst| {
                let with: Vec<usize> = picked.iter().copied().chain([burst]).collect();
                let gain = self.value(&with) - value;
                (self.allowed(&with) && gain > 0.0).then_some((gain, with))
            });
            match better.max_by(|a, b| a.0.total_cmp(&b.0)) {
                Some((gain, with)) => (picked, value) = (with, value + gain),
                None => return picked,
            }
        }
    }

    /// The model; whole choices, or fractions.
    fn model(&self, whole: bool) -> (Model, Vec<Variable>) {
        let mut model = Model::new(OptimizationDirection::Maximize);
        // What only one burst sees is that burst's own worth.
        let mut own = vec![0.0; self.count];
        for ((need, by), worth) in &self.cells {
            if let (1, [only]) = (need, by.as_slice()) {
                own[*only] += worth;
            }
        }
        let add = |model: &mut Model, worth: f64, whole: bool| {
            if whole { model.add_binary_var(worth) } else { model.add_var(worth, (0.0, 1.0)) }
        };
        let bursts: Vec<Variable> = own.iter().map(|&worth| add(&mut model, worth, whole)).collect();
        for ((need, by), &worth) in self.cells.iter().filter(|((need, by), _)| (*need, by.len()) != (1, 1)) {
            let share = add(&mut model, worth, whole && *need > 1);
            let mut row: Vec<(Variable, f64)> = by.iter().map(|&burst| (bursts[burst], -1.0)).collect();
            row.push((share, f64::from(*need)));
            model.add_constraint(row.as_slice(), ComparisonOp::Le, 0.0);
        }
        for (costs, most) in self.limits.iter().filter(|(costs, most)| costs.iter().sum::<f64>() > *most) {
            // Rows of numbers near one: the solver's tolerances are absolute.
            let scale = costs.iter().fold(f64::MIN_POSITIVE, |most, cost| most.max(*cost));
            let row: Vec<(Variable, f64)> = bursts.iter().zip(costs).map(|(&b, cost)| (b, cost / scale)).collect();
            model.add_constraint(row.as_slice(), ComparisonOp::Le, most / scale);
        }
        for group in &self.groups {
            let row: Vec<(Variable, f64)> = group.iter().map(|&burst| (bursts[burst], 1.0)).collect();
            model.add_constraint(row.as_slice(), ComparisonOp::Le, 1.0);
        }
        (model, bursts)
    }

    /// Takes out what adds nothing: a burst without which the worth is the same, or that a shorter one can stand for.
    fn frugal(&self, mut picked: Vec<usize>) -> Vec<usize> {
        let cost = |burst: usize| self.limits.first().and_then(|(costs, _)| costs.get(burst)).copied().unwrap_or(0.0);
        let value = self.value(&picked);
        let as_good = |choice: &[usize]| self.value(choice) >= value * (1.0 - 1e-12) && self.allowed(choice);
        picked.sort_by(|a, b| cost(*b).total_cmp(&cost(*a)).then(a.cmp(b)));
        let mut index = 0;
        while index < picked.len() {
            let without: Vec<usize> = picked.iter().copied().filter(|burst| *burst != picked[index]).collect();
            if as_good(&without) {
                picked = without;
                continue;
            }
            let cheaper =
                (0..self.count).filter(|&burst| cost(burst) < cost(picked[index]) && !picked.contains(&burst));
            let with = |burst: usize| -> Vec<usize> { without.iter().copied().chain([burst]).collect() };
            let best = cheaper.filter(|&burst| as_good(&with(burst))).min_by(|a, b| cost(*a).total_cmp(&cost(*b)));
            if let Some(burst) = best {
                picked[index] = burst;
            }
            index += 1;
        }
        picked.sort_unstable();
        picked
    }
}

/// Makes the choice.
///
/// # Errors
/// If the solver breaks down.
pub fn choose(problem: &Problem) -> Result<Choice, ChoiceError> {
    if problem.count == 0 {
        return Ok(Choice { wished: problem.wished, exact: true, ..Choice::default() });
    }
    let relaxed = problem.model(false).0.solve()?.into_solution().map_or(f64::INFINITY, |found| found.objective());
    let first = problem.greedy();
    let (model, bursts) = problem.model(true);
    let warm = bursts.iter().enumerate().map(|(k, &burst)| (burst, f64::from(u8::from(first.contains(&k)))));
    let mut options = SolveOptions::default();
    (options.node_limit, options.warm_start) = (Some(MOST_NODES), Some(warm.collect()));
    let outcome = model.solve_with(options)?;
    let (nodes, found_bound) = (outcome.stats().nodes_solved, outcome.stats().best_bound);
    let proven = outcome.termination_reason() == TerminationReason::ProvenOptimal;
    let found = outcome.into_solution().ok().map(|found| {
        bursts.iter().enumerate().filter(|(_, b)| found.var_value(**b) > 0.5).map(|(k, _)| k).collect::<Vec<_>>()
    });
    // What the solver rounds is looked at again; whatever it says, the choice keeps the limits.
    let best = found.filter(|picked| problem.allowed(picked) && problem.value(picked) >= problem.value(&first));
    let exact = proven && best.is_some();
    let picked = problem.frugal(best.unwrap_or(first));
    let value = problem.value(&picked);
    let searched = if exact { value } else { found_bound.unwrap_or(relaxed).min(relaxed) };
    let bound = searched.max(value);
    Ok(Choice { picked, value, wished: problem.wished, bound, relaxed: relaxed.max(value), exact, nodes })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_to_choose_from_is_no_error() {
        let mut problem = Problem::new(0);
        problem.add_cell(2.0, 1, vec![]);
        let choice = choose(&problem).expect("solved");
        assert!(choice.exact && choice.picked.is_empty() && choice.wished == 2.0);
    }

    /// The greedy trap: the burst of worth 3 fills the store; two of worth 2 fit in its place.
    #[test]
    fn the_best_first_is_not_the_best() {
        let mut problem = Problem::new(3);
        for (burst, worth) in [3.0, 2.0, 2.0].into_iter().enumerate() {
            problem.add_cell(worth, 1, vec![burst]);
        }
        problem.add_limit(vec![10.0, 5.0, 5.0], 10.0);
        assert_eq!(problem.greedy(), [0]);
        let choice = choose(&problem).expect("solved");
        assert_eq!((choice.picked.as_slice(), choice.value, choice.exact), ([1, 2].as_slice(), 4.0, true));
        assert!(choice.relaxed >= 4.0);
    }

    #[test]
    fn what_is_seen_already_is_not_paid_for_twice() {
        let mut problem = Problem::new(2);
        problem.add_cell(1.0, 1, vec![0, 1]);
        problem.add_limit(vec![3.0, 1.0], 10.0);
        assert_eq!(choose(&problem).expect("solved").picked, [1]);
    }

    #[test]
    fn bursts_too_close_exclude_each_other() {
        let mut problem = Problem::new(3);
        for burst in 0..3 {
            problem.add_cell(1.0, 1, vec![burst]);
        }
        problem.keep_apart(&[[0.0, 10.0], [15.0, 20.0], [30.0, 40.0]], 10.0);
        assert!(problem.allowed(&[0, 2]) && problem.allowed(&[1, 2]) && !problem.allowed(&[0, 1]));
        assert_eq!(choose(&problem).expect("solved").value, 2.0);
    }
}
