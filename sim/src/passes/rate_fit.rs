//! The stored rate programme that follows a wanted speed best: discrete steps, a limited number of changes.
//!
//! A stored programme is piecewise constant: each entry sets a whole number of the drive's speed steps from an
//! instant on. The error that counts is the relative one, `speed ÷ wanted − 1`. [`fit`] finds, exactly on the
//! nodes it is given,
//!
//! 1. the least possible largest error for the number of entries: for a given largest error, one entry lasts as
//!    long as some step serves every node, and holding each as long as possible needs the fewest (what serves a
//!    stretch serves every part of it, so a longer hold never costs a later entry). The least error is found by
//!    bisection on that count;
//! 2. among all programmes with that largest error and no more entries, the one of least mean square error for
//!    the entries it uses: dynamic programming over (node, step) with a price for each entry, the price bisected
//!    until the entries fit (Lagrange).
//!
//! A node may give a band instead of one speed: whatever the wanted speed may turn out to be if the clock or
//! the predicted place is off. The error is then the worst over the band.

use thiserror::Error;

/// What is wanted at one instant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Node {
    /// When, s.
    pub at_s: f64,
    /// Lowest speed that may turn out to be the right one, m/s, above zero.
    pub low_m_s: f64,
    /// Highest, m/s.
    pub high_m_s: f64,
    /// A stretch begins here: an entry is due whatever went before.
    pub begins: bool,
}

impl Node {
    /// A node without a band.
    pub fn exact(at_s: f64, speed_m_s: f64, begins: bool) -> Self {
        Self { at_s, low_m_s: speed_m_s, high_m_s: speed_m_s, begins }
    }

    /// Largest relative error of a speed over the band.
    pub fn error(&self, speed_m_s: f64) -> f64 {
        (speed_m_s / self.low_m_s - 1.0).abs().max((speed_m_s / self.high_m_s - 1.0).abs())
    }
}

/// Speeds that the drive can be asked for: whole numbers of steps.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grid {
    /// Speed of one step, m/s.
    pub step_m_s: f64,
    /// Least number of steps that is obeyed.
    pub least: u16,
    /// Most.
    pub most: u16,
}

/// One entry of the programme.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// From this node on.
    pub node: usize,
    /// When that is, s.
    pub at_s: f64,
    /// Speed, steps.
    pub step: u16,
}

/// The best programme.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Entries in order of time; every stretch begins with one.
    pub changes: Vec<Change>,
    /// Largest relative error over the nodes.
    pub worst: f64,
    /// Root mean square of the relative error.
    pub rms: f64,
}

/// Why there is no programme.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
pub enum FitError {
    /// Nothing to follow.
    #[error("there is no speed to follow")]
    Empty,
    /// A wanted speed is no positive number.
    #[error("the speed wanted at {at_s:.1} s is no positive number")]
    NoSpeed {
        /// When.
        at_s: f64,
    },
    /// A wanted speed is beyond what the drive can be asked for.
    #[error("the speed wanted at {at_s:.1} s, {mm_s:.3} mm/s, is beyond the drive's steps: {least} to {most}")]
    Beyond {
        /// When.
        at_s: f64,
        /// Speed wanted, mm/s.
        mm_s: f64,
        /// Least number of steps.
        least: u16,
        /// Most.
        most: u16,
    },
    /// Fewer entries than stretches.
    #[error("{stretches} stretches need an entry each; {entries} are free")]
    TooFew {
        /// Stretches of camera time.
        stretches: usize,
        /// Entries free.
        entries: usize,
    },
}

/// Slack on the largest error that keeps rounding from cutting off its own optimum.
const SLACK: f64 = 1e-9;
/// Halvings of the error's bracket: to 1e-15 of speed.
const HALVINGS: u32 = 50;

/// The best programme of at most `entries` entries for `nodes`, in order of time, the first of which begins a
/// stretch whether it says so or not.
///
/// # Errors
/// [`FitError`].
pub fn fit(nodes: &[Node], grid: &Grid, entries: usize) -> Result<Fit, FitError> {
    check(nodes, grid, entries)?;
    let worst = least_error(nodes, grid, entries);
    let bound = worst * (1.0 + SLACK) + 1e-15;
    let most_price = nodes.len() as f64 * bound * bound + 1e-12;
    // The cheapest price first: it only keeps an entry from being spent for nothing.
    let mut best = cheapest(nodes, grid, bound, 1e-15);
    if best.len() > entries {
        let (mut low, mut high) = (0.0, most_price);
        best = cheapest(nodes, grid, bound, high);
        for _ in 0..HALVINGS {
            let price = 0.5 * (low + high);
            let tried = cheapest(nodes, grid, bound, price);
            if tried.len() > entries {
                low = price;
            } else {
                high = price;
                best = tried;
            }
            if high - low < 1e-6 * high {
                break;
            }
        }
    }
    Ok(measured(nodes, grid, best))
}

fn check(nodes: &[Node], grid: &Grid, entries: usize) -> Result<(), FitError> {
    if nodes.is_empty() {
        return Err(FitError::Empty);
    }
    for node in nodes {
        let sound = node.low_m_s > 0.0 && node.high_m_s >= node.low_m_s && node.high_m_s.is_finite();
        if !sound {
            return Err(FitError::NoSpeed { at_s: node.at_s });
        }
        let steps = node.high_m_s / grid.step_m_s;
        if steps > f64::from(grid.most) + 0.5 || node.low_m_s / grid.step_m_s < f64::from(grid.least) - 0.5 {
            let mm_s = node.high_m_s * 1e3;
            return Err(FitError::Beyond { at_s: node.at_s, mm_s, least: grid.least, most: grid.most });
        }
    }
    let stretches = nodes.iter().skip(1).filter(|node| node.begins).count() + 1;
    if stretches > entries { Err(FitError::TooFew { stretches, entries }) } else { Ok(()) }
}

/// Steps that keep a band's error within `bound`: lowest and highest, crossed over if there is none.
fn serving(low_m_s: f64, high_m_s: f64, grid: &Grid, bound: f64) -> (i32, i32) {
    let from = (high_m_s * (1.0 - bound) / grid.step_m_s - 1e-9).ceil().max(f64::from(grid.least));
    let to = (low_m_s * (1.0 + bound) / grid.step_m_s + 1e-9).floor().min(f64::from(grid.most));
    (from as i32, to as i32)
}

/// Fewest entries that keep the error within `bound`; none if no number of them does.
fn fewest(nodes: &[Node], grid: &Grid, bound: f64) -> Option<usize> {
    let mut count = 0;
    let (mut low, mut high) = (f64::INFINITY, 0.0_f64);
    for node in nodes {
        let (longer_low, longer_high) = (low.min(node.low_m_s), high.max(node.high_m_s));
        let (from, to) = serving(longer_low, longer_high, grid, bound);
        if count > 0 && !node.begins && from <= to {
            (low, high) = (longer_low, longer_high);
            continue;
        }
        let (from, to) = serving(node.low_m_s, node.high_m_s, grid, bound);
        if from > to {
            return None;
        }
        count += 1;
        (low, high) = (node.low_m_s, node.high_m_s);
    }
    Some(count)
}

fn least_error(nodes: &[Node], grid: &Grid, entries: usize) -> f64 {
    let enough = |bound| fewest(nodes, grid, bound).is_some_and(|count| count <= entries);
    let (mut low, mut high) = (0.0, 1.0);
    while !enough(high) {
        low = high;
        high *= 2.0;
        if high > 1e6 {
            break;
        }
    }
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if enough(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    high
}

/// Least sum of squared errors plus `price` for each entry, errors within `bound`.
fn cheapest(nodes: &[Node], grid: &Grid, bound: f64, price: f64) -> Vec<Change> {
    // For each node: its first step, and for each of its steps whether an entry stands here.
    let mut rows: Vec<(i32, Vec<bool>)> = Vec::with_capacity(nodes.len());
    // Best step of the node before, to come from.
    let mut from_best = Vec::with_capacity(nodes.len());
    let mut before: (i32, Vec<f64>) = (0, Vec::new());
    for (index, node) in nodes.iter().enumerate() {
        let (first, last) = serving(node.low_m_s, node.high_m_s, grid, bound);
        let cheapest_before = (before.1.iter().enumerate()).min_by(|a, b| a.1.total_cmp(b.1));
        let (best_before, cost_before) = cheapest_before.map_or((0, 0.0), |(k, cost)| (before.0 + k as i32, *cost));
        from_best.push(best_before);
        let begins = node.begins || index == 0;
        let mut costs = Vec::with_capacity((last - first + 1).max(0) as usize);
        let mut entry = Vec::with_capacity(costs.capacity());
        for step in first..=last {
            let anew = cost_before + price;
            let stay = usize::try_from(step - before.0).ok().and_then(|k| before.1.get(k)).copied();
            let stay = if begins { None } else { stay };
            let enters = stay.is_none_or(|stay| anew < stay);
            let error = node.error(f64::from(step) * grid.step_m_s);
            costs.push(if enters { anew } else { stay.unwrap_or(anew) } + error * error);
            entry.push(enters);
        }
        rows.push((first, entry));
        before = (first, costs);
    }
    let last = (before.1.iter().enumerate()).min_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |(k, _)| k as i32);
    trace(nodes, &rows, &from_best, before.0 + last)
}

/// The way back from the last node's best step.
fn trace(nodes: &[Node], rows: &[(i32, Vec<bool>)], from_best: &[i32], mut step: i32) -> Vec<Change> {
    let mut changes = Vec::new();
    for (index, ((first, entry), node)) in rows.iter().zip(nodes).enumerate().rev() {
        let enters = usize::try_from(step - first).ok().and_then(|k| entry.get(k)).copied().unwrap_or(true);
        if enters {
            changes.push(Change { node: index, at_s: node.at_s, step: step as u16 });
            step = from_best.get(index).copied().unwrap_or(step);
        }
    }
    changes.reverse();
    changes
}

fn measured(nodes: &[Node], grid: &Grid, changes: Vec<Change>) -> Fit {
    let mut at = changes.iter().peekable();
    let (mut step, mut worst, mut sum) = (0_u16, 0.0_f64, 0.0);
    for (index, node) in nodes.iter().enumerate() {
        if let Some(change) = at.next_if(|change| change.node == index) {
            step = change.step;
        }
        let error = node.error(f64::from(step) * grid.step_m_s);
        worst = worst.max(error);
        sum += error * error;
    }
    Fit { changes, worst, rms: (sum / nodes.len() as f64).sqrt() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const GRID: Grid = Grid { step_m_s: 1e-3, least: 20, most: 60 };

    /// Every programme of at most `entries` entries, tried one by one.
    fn by_trying(nodes: &[Node], steps: &[u16], entries: usize) -> f64 {
        fn go(nodes: &[Node], steps: &[u16], left: usize, now: Option<u16>, worst: f64) -> f64 {
            let Some((node, rest)) = nodes.split_first() else { return worst };
            let with = |step: u16, left| {
                let error = node.error(f64::from(step) * GRID.step_m_s);
                go(rest, steps, left, Some(step), worst.max(error))
            };
            let mut best = f64::INFINITY;
            if let (Some(step), false) = (now, node.begins) {
                best = best.min(with(step, left));
            }
            if left > 0 {
                for &step in steps {
                    best = best.min(with(step, left - 1));
                }
            }
            best
        }
        go(nodes, steps, entries, None, 0.0)
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, cases: 200, ..ProptestConfig::default() })]

        /// Exact: no programme that trying all of them finds is better, and the one found is as good.
        #[test]
        fn no_programme_is_better(
            speeds in prop::collection::vec((30.0e-3..34.0e-3, 0.0..4e-4, prop::bool::weighted(0.1)), 1..7),
            entries in 1_usize..4,
        ) {
            let nodes: Vec<Node> = speeds.iter().enumerate().map(|(k, &(low, more, begins))| Node {
                at_s: k as f64, low_m_s: low, high_m_s: low + more, begins,
            }).collect();
            let steps: Vec<u16> = (29..=35).collect();
            let best = by_trying(&nodes, &steps, entries);
            match fit(&nodes, &GRID, entries) {
                Ok(found) => {
                    prop_assert!((found.worst - best).abs() < 1e-8, "{} {best}", found.worst);
                    prop_assert!(found.changes.len() <= entries);
                }
                Err(error) => prop_assert!(best.is_infinite(), "{error}"),
            }
        }
    }

    fn wave(count: usize) -> Vec<Node> {
        (0..count).map(|k| Node::exact(k as f64, 33e-3 + 3e-3 * (k as f64 * 0.01).sin(), k == 0)).collect()
    }

    #[test]
    fn with_entries_enough_every_node_gets_its_nearest_step() {
        let nodes = wave(1000);
        let found = fit(&nodes, &GRID, 1000).expect("a fit");
        let nearest = nodes.iter().map(|n| n.error((n.low_m_s / 1e-3).round() * 1e-3)).fold(0.0, f64::max);
        assert!((found.worst - nearest).abs() < 1e-9, "{} {nearest}", found.worst);
    }

    #[test]
    fn fewer_entries_cost_error_and_more_never_do() {
        let nodes = wave(1000);
        let worst: Vec<f64> = [2, 4, 8, 16, 64].map(|n| fit(&nodes, &GRID, n).expect("a fit").worst).into();
        assert!(worst.windows(2).all(|pair| pair[1] <= pair[0] + 1e-12), "{worst:?}");
        assert!(worst[0] > 3.0 * worst[4], "{worst:?}");
    }

    #[test]
    fn what_cannot_be_followed_is_refused() {
        assert_eq!(fit(&[], &GRID, 3), Err(FitError::Empty));
        let node = |speed| [Node::exact(1.0, speed, true)];
        assert_eq!(fit(&node(f64::NAN), &GRID, 3), Err(FitError::NoSpeed { at_s: 1.0 }));
        assert!(matches!(fit(&node(0.1), &GRID, 3), Err(FitError::Beyond { .. })));
        let two = [Node::exact(0.0, 0.03, true), Node::exact(9.0, 0.03, true)];
        assert_eq!(fit(&two, &GRID, 1), Err(FitError::TooFew { stretches: 2, entries: 1 }));
    }
}
