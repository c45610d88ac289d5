//! Do the jets do what they were told? One watcher per axis.
//!
//! Two failures matter. A jet that gives nothing: after each pulse the gyro should have seen a known change
//! of rate. A jet that will not shut: the vehicle gathers rate that nobody commanded. What each pulse gave is also
//! smoothed: slow valves and a regulator that is off show there.

use crate::{math, settings_group};

settings_group! {
    /// When the jets are taken to have failed.
    ResponseSettings = "response" {
        missing_share: f32 = 0.4, 0.05 ..= 1.0, "–", "A pulse that gave less than 1 minus this share of its rate change is a miss.";
        misses: u32 = 3, 1 ..= 100, "pulses", "Misses, net of hits, after which the bank is given up.";
        watch_s: f32 = 1.5, 0.2 ..= 20.0, "s", "Time after a pulse over which its effect is judged.";
        runaway_share: f32 = 0.6, 0.1 ..= 2.0, "–", "Uncommanded rate, as a share of what one jet gives in the rate smoothing time, that means a valve is open.";
        runaway_s: f32 = 0.4, 0.05 ..= 10.0, "s", "Time the uncommanded rate must last before the bank is shut off.";
        odd_share: f32 = 0.35, 0.05 ..= 2.0, "–", "Pulses that on the mean give this share more or less than told raise the flag, and what is told is fitted to it.";
        pulse_alarm: u32 = 60, 1 ..= 10000, "pulses", "Pulses within ten minutes of hold that raise the flag.";
    }
}

/// What a watcher concludes.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Verdict {
    /// Nothing wrong.
    Sound,
    /// Pulses bring no rate, or the wrong one.
    Missing,
    /// Pulses bring part of their rate.
    Weak,
    /// Rate comes without pulses.
    Runaway,
}

/// Pulses that follow each other without pause are judged after so long, s.
const LONGEST_S: f32 = 10.0;
/// Share of a pulse below which a jet counts as giving nothing.
const NOTHING: f32 = 0.25;
/// Weight of one judgement in the mean of what pulses give.
const WEIGHT: f32 = 0.1;
/// Judgements of long pulses, and their distance from the expected, after which the thrust is fitted to them.
const FIT_AFTER: u32 = 8;
const FIT_SHARE: f32 = 0.2;

/// Watches one axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Watcher {
    expected_rad_s: f32,
    seen_rad_s: f32,
    left_s: f32,
    lasted_s: f32,
    misses: u32,
    runaway_s: f32,
    /// What short pulses give, and long ones, as a share of what was expected of them, smoothed.
    short: Given,
    long: Given,
    long_rad_s: f32,
}

/// Mean of what pulses gave.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Given {
    share: f32,
    judged: u32,
}

impl Given {
    const NEW: Self = Self { share: 1.0, judged: 0 };

    fn take(&mut self, gave: f32) {
        self.share += WEIGHT * (gave - self.share);
        self.judged = self.judged.saturating_add(1);
    }
}

impl Watcher {
    /// For an axis whose least pulse changes the rate by `least_rad_s`.
    pub fn new(least_rad_s: f32) -> Self {
        Self {
            expected_rad_s: 0.0,
            seen_rad_s: 0.0,
            left_s: 0.0,
            lasted_s: 0.0,
            misses: 0,
            runaway_s: 0.0,
            short: Given::NEW,
            long: Given::NEW,
            // Valve delays of tens of milliseconds make no great difference to pulses four times the least.
            long_rad_s: 4.0 * least_rad_s,
        }
    }

    /// Whether pulses give more or less than told on the mean.
    pub fn odd(&self, settings: &ResponseSettings) -> bool {
        let odd = |given: Given| math::abs(given.share - 1.0) > settings.odd_share;
        odd(self.short) || odd(self.long)
    }

    /// What long pulses have been found to give, if that is far enough from what they should to fit the thrust to it;
    /// counting begins anew then.
    pub fn take_fit(&mut self) -> Option<f32> {
        let Given { share, judged } = self.long;
        if judged < FIT_AFTER || math::abs(share - 1.0) < FIT_SHARE {
            return None;
        }
        (self.long, self.misses) = (Given::NEW, 0);
        Some(share)
    }

    /// What the pulses judged last gave, for a bank that is kept although it is weak.
    pub fn last_gave(&self) -> f32 {
        if self.expected_rad_s == 0.0 {
            1.0
        } else {
            math::clamp(1.0 + self.seen_rad_s / self.expected_rad_s, 0.3, 1.0)
        }
    }

    /// Notes a pulse of `length_s` and the signed rate change it should bring.
    pub fn fired(&mut self, change_rad_s: f32, length_s: f32, settings: &ResponseSettings) {
        if self.left_s <= 0.0 {
            self.expected_rad_s = 0.0;
            self.seen_rad_s = 0.0;
            self.lasted_s = 0.0;
        }
        self.expected_rad_s += change_rad_s;
        self.left_s = length_s + settings.watch_s;
    }

    /// Drops what is being watched: the gyro has not seen all of it.
    pub fn look_away(&mut self) {
        (self.left_s, self.runaway_s) = (0.0, 0.0);
    }

    /// One attitude step.
    ///
    /// `correction_rad_s`: what the gyro added to the predicted rate in this step. `innovation_rad_s`: gyro
    /// minus prediction. `one_jet_rad_s`: rate that one open jet would gather in the smoothing time.
    pub fn step(
        &mut self,
        correction_rad_s: f32,
        innovation_rad_s: f32,
        one_jet_rad_s: f32,
        settings: &ResponseSettings,
        dt_s: f32,
    ) -> Verdict {
        if math::abs(innovation_rad_s) > settings.runaway_share * one_jet_rad_s {
            self.runaway_s += dt_s;
            if self.runaway_s >= settings.runaway_s {
                return Verdict::Runaway;
            }
        } else {
            self.runaway_s = 0.0;
        }
        if self.left_s <= 0.0 {
            return Verdict::Sound;
        }
        self.seen_rad_s += correction_rad_s;
        self.left_s -= dt_s;
        self.lasted_s += dt_s;
        if self.left_s > 0.0 && self.lasted_s < LONGEST_S {
            return Verdict::Sound;
        }
        self.left_s = 0.0;
        self.judge(settings)
    }

    fn judge(&mut self, settings: &ResponseSettings) -> Verdict {
        if self.expected_rad_s == 0.0 {
            return Verdict::Sound;
        }
        let gave = math::clamp(1.0 + self.seen_rad_s / self.expected_rad_s, -1.0, 3.0);
        let given = if math::abs(self.expected_rad_s) > self.long_rad_s { &mut self.long } else { &mut self.short };
        given.take(gave);
        let missed = 1.0 - gave > settings.missing_share;
        self.misses = if missed { self.misses + 1 } else { self.misses.saturating_sub(1) };
        if self.misses < settings.misses {
            return Verdict::Sound;
        }
        if gave < NOTHING { Verdict::Missing } else { Verdict::Weak }
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    /// Watches pulses of 0.01 rad/s, each followed by `wait_s`, that give `share` of it at once.
    fn watch(share: f32, wait_s: f32, pulses: u32) -> (Watcher, Verdict) {
        let settings = ResponseSettings::default();
        let mut watcher = Watcher::new(0.01);
        let mut last = Verdict::Sound;
        for _ in 0..pulses {
            watcher.fired(0.01, 0.02, &settings);
            for step in 0..(wait_s / 0.02) as u32 {
                let correction = if step == 0 { (share - 1.0) * 0.01 } else { 0.0 };
                let verdict = watcher.step(correction, 0.0, 1.0, &settings, 0.02);
                if verdict != Verdict::Sound {
                    last = verdict;
                }
            }
        }
        (watcher, last)
    }

    #[test]
    fn nothing_and_the_wrong_way_are_missing_and_half_is_weak() {
        assert_eq!(watch(0.0, 2.0, 3).1, Verdict::Missing);
        assert_eq!(watch(-1.0, 2.0, 3).1, Verdict::Missing);
        assert_eq!(watch(0.5, 2.0, 3).1, Verdict::Weak);
        assert_eq!(watch(0.7, 2.0, 30).1, Verdict::Sound);
    }

    #[test]
    fn pulses_without_a_pause_are_judged_all_the_same() {
        // A new one each second restarts the watch of 1.5 s for ever.
        assert_eq!(watch(0.0, 1.0, 40).1, Verdict::Missing);
    }

    #[test]
    fn double_pulses_show_in_the_mean() {
        let (watcher, verdict) = watch(2.0, 2.0, 30);
        assert!(verdict == Verdict::Sound && watcher.odd(&ResponseSettings::default()), "{watcher:?}");
        assert!(!watch(1.0, 2.0, 30).0.odd(&ResponseSettings::default()));
    }
}
