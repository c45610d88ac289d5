//! The board as the server wants it: clock, cost, outputs, counters.

use crate::{
    failure,
    hw::{self, clock, serial, stack, timers},
    watchdog,
};
use core::sync::atomic::Ordering;
use stillframe_controller::io::Actuators;
use stillframe_wire::{Cost, Machine, PostMortem, Stats};

/// The board.
pub struct Board {
    ticks_seen: u32,
    started: u32,
    /// Outputs are in their safe state and stay there until a step moves them.
    pub safe: bool,
}

impl Board {
    /// Brings everything up, outputs safe.
    pub fn start() -> Self {
        clock::start();
        serial::start();
        timers::start();
        watchdog::start();
        Self { ticks_seen: timers::ticks(), started: 0, safe: true }
    }

    /// A base tick has gone by on the board's own timer; each is told once.
    pub fn tick_passed(&mut self) -> bool {
        let passed = self.ticks_seen != timers::ticks();
        if passed {
            self.ticks_seen = self.ticks_seen.wrapping_add(1);
        }
        passed
    }

    /// Ticks have gone by that were not told.
    pub fn tick_waits(&self) -> bool {
        self.ticks_seen != timers::ticks()
    }
}

impl Machine for Board {
    fn clock_hz(&self) -> u32 {
        clock::clock_hz()
    }

    fn start(&mut self) {
        if clock::emulated() {
            // Counted instructions are those of the step alone.
            hw::hold();
            self.started = timers::fine();
        } else {
            self.started = clock::cycles();
        }
    }

    fn cost(&mut self) -> Cost {
        let cost = if clock::emulated() {
            let ended = timers::fine();
            hw::resume();
            Cost::TimerTicks(ended.wrapping_sub(self.started))
        } else {
            Cost::Cycles(clock::cycles().wrapping_sub(self.started))
        };
        failure::STEPS.store(failure::STEPS.load(Ordering::Relaxed).wrapping_add(1), Ordering::Relaxed);
        watchdog::feed();
        cost
    }

    fn put_out(&mut self, actuators: &Actuators) {
        self.safe = *actuators == Actuators::SAFE;
    }

    fn stats(&self, stats: &mut Stats) {
        stats.lost_bytes = serial::LINK.lost();
        (stats.stack_used, stats.stack_size) = stack::used_and_size();
        stats.reset_flags = clock::reset_flags();
    }

    fn post_mortem(&self) -> Option<PostMortem> {
        failure::post_mortem()
    }
}
