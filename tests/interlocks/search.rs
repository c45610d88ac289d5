//! The search itself: by the library for what must never be, by an own pass backwards for what must stay possible.

use crate::{
    circuit::Fall,
    model::{Action, Graph, State, few_ticks},
    stuck::{self, Faults},
};
use rayon::prelude::*;
use stateright::{Checker, Model};
use std::{
    collections::{HashMap, VecDeque},
    time::{Duration, Instant},
};
use stillframe_controller::ordnance::{Sequencer, Side};

/// What a search found.
#[derive(Debug)]
pub struct Found {
    /// Starts: sets of parts that stick.
    pub starts: usize,
    /// States.
    pub states: usize,
    /// Steps from state to state.
    pub steps: usize,
    /// Steps of the longest of the shortest ways.
    pub depth: usize,
    /// Time.
    pub time: Duration,
    /// Rules broken, with the shortest way to it.
    pub broken: Vec<Broken>,
}

/// A rule that was broken.
#[derive(Debug)]
pub struct Broken {
    /// The rule.
    pub rule: &'static str,
    /// Parts that stuck.
    pub faults: Faults,
    /// What was done.
    pub way: Vec<Action>,
}

/// A short way down, for pairs of parts that stick: two of three votes follow soon after ignition.
pub const SHORT: Fall = Fall { g_from: 1, g_to: 2, box_from: 3 };
/// A longer one, on which the drogue is next before the votes say that it may go.
pub const LONG: Fall = Fall { g_from: 8, g_to: 9, box_from: 10 };
/// Starts that one thread takes at once.
const AT_ONCE: usize = 8;

/// A graph of the sequencer as it flies.
pub fn flown(side: Side, fall: Fall, faults: Vec<Faults>) -> Graph<false> {
    Graph { side, settings: few_ticks(&fall), fall, faults, wake: Sequencer::new }
}

/// A graph of the sequencer with its planted guard.
pub fn planted(side: Side, faults: Vec<Faults>) -> Graph<true> {
    Graph { side, settings: few_ticks(&SHORT), fall: SHORT, faults, wake: Sequencer::planted }
}

/// Visits every state and holds it against the rules. No step leads from one start's states to another's.
pub fn search<const PLANTED: bool>(graph: &Graph<PLANTED>) -> Found {
    let from = Instant::now();
    let parts: Vec<Found> = graph
        .faults
        .par_chunks(AT_ONCE)
        .map(|faults| one(Graph { faults: faults.to_vec(), ..graph.clone() }, None))
        .collect();
    let mut found = Found { starts: 0, states: 0, steps: 0, depth: 0, time: from.elapsed(), broken: Vec::new() };
    for part in parts {
        found.starts += part.starts;
        found.states += part.states;
        found.steps += part.steps;
        found.depth = found.depth.max(part.depth);
        found.broken.extend(part.broken);
    }
    found
}

/// The shortest way to a broken rule: none of fewer steps leads to one.
pub fn shortest<const PLANTED: bool>(graph: &Graph<PLANTED>) -> Option<Found> {
    (2..20).map(|depth| one(graph.clone(), Some(depth))).find(|found| !found.broken.is_empty())
}

fn one<const PLANTED: bool>(graph: Graph<PLANTED>, depth: Option<usize>) -> Found {
    let from = Instant::now();
    let starts = graph.faults.len();
    let mut checker = graph.checker();
    if let Some(depth) = depth {
        checker = checker.target_max_depth(depth);
    }
    let checker = checker.spawn_bfs().join();
    let broken = checker.discoveries().into_iter().map(|(rule, path)| {
        let steps = path.into_vec();
        let faults = steps.first().map_or_else(Faults::default, |(state, _)| state.faults);
        Broken { rule, faults, way: steps.into_iter().filter_map(|(_, action)| action).collect() }
    });
    let mut broken: Vec<_> = broken.collect();
    broken.sort_by_key(|broken| broken.rule);
    Found {
        starts,
        states: checker.unique_state_count(),
        steps: checker.state_count(),
        depth: checker.max_depth() - 1,
        time: from.elapsed(),
        broken,
    }
}

/// A state from which the return cannot be reached any more, with the way to it.
pub type Lost = (Faults, Vec<Action>);

/// What the way backwards found.
#[derive(Debug)]
pub struct Returned {
    /// Starts.
    pub starts: usize,
    /// States.
    pub states: usize,
    /// Time.
    pub time: Duration,
    /// From where the return is lost though nothing explains it.
    pub lost: Vec<Lost>,
}

/// Looks from everywhere for a way home.
pub fn return_stays_possible(side: Side) -> Returned {
    let from = Instant::now();
    let starts: Vec<Faults> = stuck::all(side).into_iter().filter(|faults| !stuck::keep(faults)).collect();
    let each: Vec<_> = starts.par_iter().map(|faults| backwards(&flown(side, SHORT, vec![*faults]), *faults)).collect();
    Returned {
        starts: starts.len(),
        states: each.iter().map(|(states, _)| states).sum(),
        time: from.elapsed(),
        lost: each.into_iter().filter_map(|(_, lost)| lost).collect(),
    }
}

/// All states from one start, then those from which home can be reached, from the end backwards.
fn backwards(graph: &Graph<false>, faults: Faults) -> (usize, Option<Lost>) {
    let mut numbers: HashMap<State<false>, usize> = HashMap::new();
    let mut states: Vec<State<false>> = Vec::new();
    let mut came: Vec<Option<(usize, Action)>> = Vec::new();
    let mut before: Vec<Vec<u32>> = Vec::new();
    let mut open = VecDeque::new();
    let pad = graph.pad(faults);
    numbers.insert(pad, 0);
    states.push(pad);
    came.push(None);
    before.push(Vec::new());
    open.push_back(0);
    let mut actions = Vec::new();
    while let Some(at) = open.pop_front() {
        let state = states[at];
        graph.actions(&state, &mut actions);
        for action in actions.drain(..) {
            let Some(next) = graph.next_state(&state, action) else { continue };
            let number = *numbers.entry(next).or_insert_with(|| {
                states.push(next);
                came.push(Some((at, action)));
                before.push(Vec::new());
                open.push_back(states.len() - 1);
                states.len() - 1
            });
            if before[number].last() != Some(&(at as u32)) {
                before[number].push(at as u32);
            }
        }
    }
    let mut possible: Vec<bool> = states.iter().map(|state| graph.home(state)).collect();
    let mut open: Vec<usize> = (0..states.len()).filter(|at| possible[*at]).collect();
    while let Some(at) = open.pop() {
        for &earlier in &before[at] {
            if !std::mem::replace(&mut possible[earlier as usize], true) {
                open.push(earlier as usize);
            }
        }
    }
    let lost = (0..states.len()).find(|at| !possible[*at] && !states[*at].aborted());
    let way = |mut at: usize| {
        let mut way = Vec::new();
        while let Some((earlier, action)) = came[at] {
            way.push(action);
            at = earlier;
        }
        way.reverse();
        way
    };
    (states.len(), lost.map(|at| (faults, way(at))))
}
