//! Openings and closings inside a tick, in the order of their times.

use heapless::Vec;
use stillframe_controller::io::{Actuators, Edges, MAX_JETS, TICK_US};

/// Lines that have edges inside a tick: the valves, then the shutter.
pub const EDGE_LINES: usize = MAX_JETS + 1;
/// Number of the shutter's line among them.
pub const SHUTTER: u8 = MAX_JETS as u8;
/// Most edges in a tick.
pub const MAX_EDGES: usize = 2 * EDGE_LINES;

/// A timer that says when an edge is due.
///
/// For implementers: [`EdgeTimer::arm`] must lead to a call of [`crate::outputs::Outputs::due`] at or shortly after
/// the time asked for, also if that has gone by already. No method waits.
pub trait EdgeTimer {
    /// A tick begins now.
    fn restart(&mut self);
    /// Time since the tick's beginning, µs; saturates.
    fn now_us(&self) -> u16;
    /// Asks to be called `at_us` after the tick's beginning.
    fn arm(&mut self, at_us: u16);
    /// Takes that back.
    fn disarm(&mut self);
}

/// One edge.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub struct Edge {
    /// Time after the tick's beginning, µs.
    pub at_us: u16,
    /// Line: valves from 0, then [`SHUTTER`].
    pub line: u8,
    /// Opening.
    pub open: bool,
}

/// The edges of a tick, earliest first; of those at the same time, closings first.
#[derive(Clone, Debug, Default)]
pub struct Plan {
    edges: Vec<Edge, MAX_EDGES>,
    next: usize,
}

impl Plan {
    /// Nothing to do.
    pub const fn new() -> Self {
        Self { edges: Vec::new(), next: 0 }
    }

    /// What a tick's actuators ask for.
    pub fn of(actuators: &Actuators) -> Self {
        let mut plan = Self::new();
        for (line, edges) in (0_u8..).zip(actuators.jets.iter().chain([&actuators.shutter])) {
            plan.add(line, *edges);
        }
        plan
    }

    fn add(&mut self, line: u8, edges: Edges) {
        // A pulse without length is none: the line only closes.
        let open_us = edges.open_us.filter(|_| edges.open_us != edges.close_us);
        for (at_us, open) in [(edges.close_us, false), (open_us, true)] {
            if let Some(at_us) = at_us {
                self.insert(Edge { at_us: at_us.min(TICK_US as u16 - 1), line, open });
            }
        }
    }

    fn insert(&mut self, edge: Edge) {
        // There is room for two edges of every line, and no line is added twice.
        let _ = self.edges.push(edge);
        let key = |edge: &Edge| (edge.at_us, edge.open);
        let mut carried = edge;
        let mut shifting = false;
        for place in &mut self.edges {
            if shifting || key(place) > key(&carried) {
                shifting = true;
                core::mem::swap(place, &mut carried);
            }
        }
    }

    /// Takes the next edge if its time is not after `now_us`.
    pub fn due(&mut self, now_us: u16) -> Option<Edge> {
        let edge = *self.edges.get(self.next)?;
        if edge.at_us > now_us {
            return None;
        }
        self.next += 1;
        Some(edge)
    }

    /// Time of the next edge, µs.
    pub fn next_us(&self) -> Option<u16> {
        self.edges.get(self.next).map(|edge| edge.at_us)
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn closings_come_before_openings_at_the_same_time() {
        let mut actuators = Actuators { jets: [Edges::NONE; MAX_JETS], shutter: Edges::NONE, ..Actuators::SAFE };
        actuators.jets[0] = Edges { open_us: Some(500), close_us: None };
        actuators.jets[3] = Edges { open_us: Some(500), close_us: Some(500) };
        actuators.jets[5] = Edges { open_us: Some(9_000), close_us: Some(500) };
        let mut plan = Plan::of(&actuators);
        let all: std::vec::Vec<_> = std::iter::from_fn(|| plan.due(u16::MAX)).collect();
        let edge = |at_us, line, open| Edge { at_us, line, open };
        assert_eq!(all, [edge(500, 3, false), edge(500, 5, false), edge(500, 0, true), edge(9_000, 5, true)]);
    }

    proptest! {
        #[test]
        fn edges_are_in_order_and_none_is_lost(
            times in proptest::array::uniform17((proptest::option::of(0_u16..10_000), proptest::option::of(0_u16..10_000)))
        ) {
            let mut actuators = Actuators::SAFE;
            let slots = actuators.jets.iter_mut().chain([&mut actuators.shutter]);
            let mut asked = 0;
            for (slot, (open_us, close_us)) in slots.zip(times) {
                *slot = Edges { open_us, close_us };
                asked += usize::from(close_us.is_some()) + usize::from(open_us.is_some() && open_us != close_us);
            }
            let mut plan = Plan::of(&actuators);
            let all: std::vec::Vec<_> = std::iter::from_fn(|| plan.due(u16::MAX)).collect();
            prop_assert_eq!(all.len(), asked);
            prop_assert!(all.windows(2).all(|pair| (pair[0].at_us, pair[0].open) <= (pair[1].at_us, pair[1].open)));
        }
    }
}
