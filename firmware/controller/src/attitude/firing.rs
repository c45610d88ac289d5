//! Valve timers: pulses of whole microseconds laid out over base ticks as opening and closing edges.

use crate::io::{Edges, MAX_JETS, TICK_US};

/// Remaining on-time of every jet.
#[derive(Clone, Debug, PartialEq)]
pub struct Firing {
    remaining_us: [u32; MAX_JETS],
    open: u16,
    used_us: [u64; MAX_JETS],
}

impl Default for Firing {
    fn default() -> Self {
        Self { remaining_us: [0; MAX_JETS], open: 0, used_us: [0; MAX_JETS] }
    }
}

/// Longest time a jet is ever kept open by one request, µs.
const LONGEST_US: u32 = 10_000_000;

impl Firing {
    /// Opens the jets of a mask for `pulse_us`. A jet still open from another axis gets the sum.
    pub fn fire(&mut self, jets: u16, pulse_us: u32) {
        for (index, remaining) in self.remaining_us.iter_mut().enumerate() {
            if jets & (1 << (index & 15)) != 0 {
                *remaining = remaining.saturating_add(pulse_us).min(LONGEST_US);
            }
        }
    }

    /// Drops everything that is left: the next step closes all valves.
    pub fn stop(&mut self) {
        self.remaining_us = [0; MAX_JETS];
    }

    /// The valves have been shut by somebody else: nothing is open, nothing is left.
    pub fn shut(&mut self) {
        self.stop();
        self.open = 0;
    }

    /// Edges of the coming tick.
    pub fn step(&mut self) -> [Edges; MAX_JETS] {
        let mut edges = [Edges::NONE; MAX_JETS];
        if self.open == 0 && self.remaining_us.iter().all(|&left| left == 0) {
            return edges;
        }
        for (index, edge) in edges.iter_mut().enumerate() {
            let bit = 1_u16 << (index & 15);
            let Some(left) = self.remaining_us.get_mut(index) else { continue };
            let was_open = self.open & bit != 0;
            if *left == 0 {
                if was_open {
                    *edge = Edges::CLOSE;
                    self.open &= !bit;
                }
                continue;
            }
            if !was_open {
                edge.open_us = Some(0);
                self.open |= bit;
            }
            let now_us = (*left).min(TICK_US);
            if let Some(used) = self.used_us.get_mut(index) {
                *used = used.saturating_add(u64::from(now_us));
            }
            *left -= now_us;
            if now_us < TICK_US {
                edge.close_us = Some(now_us as u16);
                self.open &= !bit;
            }
        }
        edges
    }

    /// Whether any jet is open or about to be.
    pub fn busy(&self) -> bool {
        self.open != 0 || self.remaining_us.iter().any(|&left| left > 0)
    }

    /// On-time that each jet will have in the coming tick, µs.
    pub fn coming_us(&self, jet: usize) -> u32 {
        self.remaining_us.get(jet).copied().unwrap_or(0).min(TICK_US)
    }

    /// Summed on-time of each jet since the start, µs.
    pub fn used_us(&self) -> &[u64; MAX_JETS] {
        &self.used_us
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    #[test]
    fn a_pulse_spans_ticks_and_keeps_its_length_to_the_microsecond() {
        let mut firing = Firing::default();
        firing.fire(0b10, 23_456);
        let ticks = [firing.step()[1], firing.step()[1], firing.step()[1], firing.step()[1]];
        assert_eq!(ticks[0], Edges { open_us: Some(0), close_us: None });
        assert_eq!(ticks[1], Edges::NONE);
        assert_eq!(ticks[2], Edges { open_us: None, close_us: Some(3_456) });
        assert_eq!(ticks[3], Edges::NONE);
        assert_eq!(firing.used_us()[1], 23_456);
    }

    #[test]
    fn a_pulse_of_whole_ticks_closes_at_the_next_boundary() {
        let mut firing = Firing::default();
        firing.fire(1, 20_000);
        assert_eq!(firing.step()[0].open_us, Some(0));
        assert_eq!(firing.step()[0], Edges::NONE);
        assert_eq!(firing.step()[0], Edges::CLOSE);
        assert!(!firing.busy());
    }

    #[test]
    fn stopping_shuts_an_open_valve_in_the_next_tick() {
        let mut firing = Firing::default();
        firing.fire(1, 500_000);
        firing.step();
        firing.stop();
        assert_eq!(firing.step()[0], Edges::CLOSE);
    }
}
