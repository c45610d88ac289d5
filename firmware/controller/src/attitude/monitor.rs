//! Doubts that outlast the moment: failed captures, a compass that moved too far, too many pulses.

use crate::io::TICKS_PER_S;

/// Times that hold or capture may fail before the jets are shut for good.
const MOST_FAILURES: u32 = 4;
/// Time after which a failure is forgotten, in base ticks (two hours).
const FORGIVEN_TICKS: u32 = 7_200 * TICKS_PER_S;
/// Window over which pulses are counted, in base ticks (ten minutes).
const PULSE_TICKS: u32 = 600 * TICKS_PER_S;

/// Latches and counts. Once the ground has looked they begin anew.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Monitor {
    /// Capture and hold have failed too often.
    pub diverged: bool,
    /// The compass moved yaw further than the gyros allow.
    pub yaw: bool,
    /// More pulses in the last whole window than allowed.
    pub pulses: bool,
    failures: u32,
    failed_tick: u32,
    window_from: u32,
    pulses_from: u32,
}

impl Monitor {
    /// Once in every attitude step. `pulses`: fired in all. `counting`: hold, where pulses have a limit.
    pub fn step(&mut self, tick: u32, pulses: u32, counting: bool, pulse_alarm: u32) {
        if self.failures > 0 && tick.wrapping_sub(self.failed_tick) > FORGIVEN_TICKS {
            self.failures -= 1;
            self.failed_tick = tick;
        }
        if !counting {
            (self.window_from, self.pulses_from) = (tick, pulses);
        } else if tick.wrapping_sub(self.window_from) > PULSE_TICKS {
            self.pulses = pulses.wrapping_sub(self.pulses_from) > pulse_alarm;
            (self.window_from, self.pulses_from) = (tick, pulses);
        }
    }

    /// The ground has looked. The present window of pulses goes on.
    pub fn acknowledge(&mut self) {
        *self = Self { window_from: self.window_from, pulses_from: self.pulses_from, ..Self::default() };
    }

    /// Hold was lost, or a capture came to nothing.
    pub fn failed(&mut self, tick: u32) {
        self.failures = self.failures.saturating_add(1);
        self.failed_tick = tick;
        self.diverged |= self.failures >= MOST_FAILURES;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn failures_add_up_and_are_forgiven_and_the_latch_stands_until_the_ground_has_looked() {
        let mut monitor = Monitor::default();
        for attempt in 0..3 {
            monitor.failed(attempt);
        }
        assert!(!monitor.diverged);
        monitor.step(2 + FORGIVEN_TICKS + 1, 0, false, 60);
        monitor.failed(FORGIVEN_TICKS + 4);
        assert!(!monitor.diverged);
        monitor.failed(FORGIVEN_TICKS + 5);
        assert!(monitor.diverged);
        monitor.step(FORGIVEN_TICKS + 6, 0, false, 60);
        assert!(monitor.diverged);
        monitor.acknowledge();
        assert!(!monitor.diverged);
        monitor.failed(FORGIVEN_TICKS + 7);
        assert!(!monitor.diverged, "the failures before are forgotten");
    }

    #[test]
    fn pulses_are_counted_over_whole_windows_of_hold() {
        let mut monitor = Monitor::default();
        monitor.step(0, 1_000, false, 60);
        monitor.step(PULSE_TICKS + 1, 1_061, true, 60);
        assert!(monitor.pulses);
        monitor.step(2 * PULSE_TICKS + 2, 1_070, true, 60);
        assert!(!monitor.pulses);
    }
}
