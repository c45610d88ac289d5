//! The shutter: edges exact to a microsecond, and the times it was open.

use stillframe_controller::io::{Edges, TICK_US};

/// What the shutter's mechanism adds.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
pub struct ShutterParameters {
    /// Delay from the opening edge to the blades being open, µs, below one tick.
    pub open_delay_us: u32,
    /// Delay from the closing edge to the blades being shut, µs, below one tick.
    pub close_delay_us: u32,
}

/// A stretch of a tick during which the shutter was open, µs from the tick's start.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub struct OpenInterval {
    /// Start, µs, 0…10,000.
    pub from_us: u32,
    /// End, µs, 0…10,000; later than the start.
    pub to_us: u32,
}

/// The intervals of one tick, in order.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
pub struct OpenIntervals {
    slots: [Option<OpenInterval>; 3],
}

impl OpenIntervals {
    fn push(&mut self, from_us: u32, to_us: u32) {
        if to_us > from_us
            && let Some(slot) = self.slots.iter_mut().find(|slot| slot.is_none())
        {
            *slot = Some(OpenInterval { from_us, to_us });
        }
    }

    /// The intervals, earliest first.
    pub fn iter(&self) -> impl Iterator<Item = OpenInterval> + '_ {
        self.slots.iter().flatten().copied()
    }

    /// Open time in the tick, µs.
    pub fn total_us(&self) -> u32 {
        self.iter().map(|interval| interval.to_us - interval.from_us).sum()
    }
}

#[derive(Clone, Copy, Debug, Eq, PartialEq)]
struct Move {
    at_us: u32,
    open: bool,
}

/// The shutter. At most one opening and one closing edge reach it in a tick; where both fall on the same
/// microsecond, shut wins.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Shutter {
    parameters: ShutterParameters,
    open: bool,
    stuck: bool,
    /// Moves of the blades still to come, counted from the next tick's start.
    coming: Vec<Move>,
}

impl Shutter {
    /// A shut shutter.
    pub fn new(parameters: &ShutterParameters) -> Self {
        Self { parameters: *parameters, coming: Vec::with_capacity(4), ..Self::default() }
    }

    /// Whether light passes now.
    pub fn is_open(&self) -> bool {
        self.open
    }

    /// Sticks it open (`Some(true)`), shut (`Some(false)`), or frees it (`None`); free blades stay where
    /// they were until the next edge.
    pub fn set_stuck(&mut self, stuck: Option<bool>) {
        self.stuck = stuck.is_some();
        if let Some(open) = stuck {
            self.open = open;
            self.coming.clear();
        }
    }

    /// Goes through one tick with `edges`, and gives the intervals it was open.
    pub fn advance(&mut self, edges: &Edges) -> OpenIntervals {
        let mut intervals = OpenIntervals::default();
        if self.stuck || (*edges == Edges::NONE && self.coming.is_empty()) {
            if self.open {
                intervals.push(0, TICK_US);
            }
            return intervals;
        }
        if let Some(us) = edges.close_us {
            let at_us = u32::from(us) + self.parameters.close_delay_us;
            // A shutter that is shut and stays shut has nothing to do: the safe command repeats every tick.
            if self.open || edges.open_us.is_some() || !self.coming.is_empty() {
                self.coming.push(Move { at_us, open: false });
            }
        }
        if let Some(us) = edges.open_us {
            self.coming.push(Move { at_us: u32::from(us) + self.parameters.open_delay_us, open: true });
        }
        self.coming.sort_by_key(|step| (step.at_us, !step.open));
        let mut from_us = 0;
        for step in self.coming.iter().take_while(|step| step.at_us < TICK_US) {
            if self.open {
                intervals.push(from_us, step.at_us);
            }
            from_us = step.at_us;
            self.open = step.open;
        }
        // The tie above sorts the opening first, so that the closing has the last word.
        if self.open {
            intervals.push(from_us, TICK_US);
        }
        self.coming.retain(|step| step.at_us >= TICK_US);
        for step in &mut self.coming {
            step.at_us -= TICK_US;
        }
        intervals
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn edges(open_us: Option<u16>, close_us: Option<u16>) -> Edges {
        Edges { open_us, close_us }
    }

    #[test]
    fn a_pulse_inside_a_tick_is_exact() {
        let mut shutter = Shutter::new(&ShutterParameters::default());
        let seen = shutter.advance(&edges(Some(1234), Some(5234)));
        assert_eq!(seen.iter().collect::<Vec<_>>(), [OpenInterval { from_us: 1234, to_us: 5234 }]);
        assert!(!shutter.is_open());
    }

    #[test]
    fn a_pulse_over_three_ticks_adds_up() {
        let mut shutter = Shutter::new(&ShutterParameters::default());
        let total = shutter.advance(&edges(Some(9_000), None)).total_us()
            + shutter.advance(&Edges::NONE).total_us()
            + shutter.advance(&edges(None, Some(500))).total_us();
        assert_eq!(total, 1_000 + 10_000 + 500);
        assert_eq!(shutter.advance(&Edges::CLOSE).total_us(), 0);
    }

    #[test]
    fn delays_carry_an_edge_into_the_next_tick() {
        let parameters = ShutterParameters { open_delay_us: 300, close_delay_us: 400 };
        let mut shutter = Shutter::new(&parameters);
        let first = shutter.advance(&edges(Some(9_900), None));
        assert_eq!(first.total_us(), 0);
        let second = shutter.advance(&edges(None, Some(9_800)));
        assert_eq!(second.iter().collect::<Vec<_>>(), [OpenInterval { from_us: 200, to_us: 10_000 }]);
        assert_eq!(shutter.advance(&Edges::NONE).total_us(), 200);
        assert!(!shutter.is_open());
    }

    #[test]
    fn closing_wins_a_tie_and_close_then_open_leaves_it_open() {
        let mut shutter = Shutter::new(&ShutterParameters::default());
        assert_eq!(shutter.advance(&edges(Some(70), Some(70))).total_us(), 0);
        assert!(!shutter.is_open());
        shutter.advance(&edges(Some(0), None));
        let seen = shutter.advance(&edges(Some(6_000), Some(2_000)));
        assert_eq!(seen.total_us(), 2_000 + 4_000);
        assert!(shutter.is_open());
    }

    #[test]
    fn a_stuck_shutter_does_not_listen() {
        let mut shutter = Shutter::new(&ShutterParameters::default());
        shutter.set_stuck(Some(true));
        assert_eq!(shutter.advance(&Edges::CLOSE).total_us(), TICK_US);
        shutter.set_stuck(None);
        assert_eq!(shutter.advance(&Edges::CLOSE).total_us(), 0);
        shutter.set_stuck(Some(false));
        assert_eq!(shutter.advance(&edges(Some(0), None)).total_us(), 0);
    }
}
