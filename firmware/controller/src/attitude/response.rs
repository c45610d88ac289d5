//! Do the jets do what they were told? One watcher per axis.
//!
//! Two failures matter. A jet that gives nothing: after each pulse the gyro should have seen a known change
//! of rate. A jet that will not shut: the vehicle gathers rate that nobody commanded.

use crate::{math, settings_group};

settings_group! {
    /// When the jets are taken to have failed.
    ResponseSettings = "response" {
        missing_share: f32 = 0.4, 0.05 ..= 1.0, "–", "A pulse that gave less than 1 minus this share of its rate change is a miss.";
        misses: u32 = 3, 1 ..= 100, "pulses", "Misses, net of hits, after which the bank is given up.";
        watch_s: f32 = 1.5, 0.2 ..= 20.0, "s", "Time after a pulse over which its effect is judged.";
        runaway_share: f32 = 0.6, 0.1 ..= 2.0, "–", "Uncommanded rate, as a share of what one jet gives in the rate smoothing time, that means a valve is open.";
        runaway_s: f32 = 0.4, 0.05 ..= 10.0, "s", "Time the uncommanded rate must last before the bank is shut off.";
    }
}

/// A window that pulses keep open is judged all the same when it has been open for this many times
/// [`ResponseSettings::watch_s`]. At least half of what a dead bank was told to give has been missed by then, with the
/// rate observer's lag and a longest pulse still under way.
const LONGEST_WATCH: f32 = 4.0;

/// What a watcher concludes.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Verdict {
    /// Nothing wrong.
    Sound,
    /// Pulses bring no rate.
    Missing,
    /// Rate comes without pulses.
    Runaway,
}

/// Watches one axis.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Watcher {
    expected_rad_s: f32,
    seen_rad_s: f32,
    left_s: f32,
    open_s: f32,
    misses: u32,
    runaway_s: f32,
}

impl Watcher {
    /// Notes a pulse of `length_s` and the signed rate change it should bring.
    pub fn fired(&mut self, change_rad_s: f32, length_s: f32, settings: &ResponseSettings) {
        if self.left_s <= 0.0 {
            self.expected_rad_s = 0.0;
            self.seen_rad_s = 0.0;
            self.open_s = 0.0;
        }
        self.expected_rad_s += change_rad_s;
        self.left_s = length_s + settings.watch_s;
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
                *self = Self::default();
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
        self.open_s += dt_s;
        // A bank that fires without pause, because it is dead, must not put off its own judgement for ever.
        if self.open_s >= LONGEST_WATCH * settings.watch_s {
            self.left_s = 0.0;
        }
        if self.left_s > 0.0 || self.expected_rad_s == 0.0 {
            return Verdict::Sound;
        }
        let missing = -self.seen_rad_s / self.expected_rad_s;
        if missing > settings.missing_share {
            self.misses += 1;
        } else {
            self.misses = self.misses.saturating_sub(1);
        }
        if self.misses >= settings.misses {
            *self = Self::default();
            return Verdict::Missing;
        }
        Verdict::Sound
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const DT_S: f32 = 0.02;
    /// Rate change of a second's pulse, and the rate observer's smoothing time.
    const CHANGE_RAD_S: f32 = 4e-3;
    const SMOOTHING_S: f32 = 1.0;

    /// First verdict on a bank that gives `share` of what it is told, fired for a second out of every `every_s` for a
    /// minute; the time of it. The gyro shows what the prediction lacked, smoothed by the observer.
    fn watch(share: f32, every_s: f32) -> Option<(Verdict, f32)> {
        let settings = ResponseSettings::default();
        let mut watcher = Watcher::default();
        let (mut lacking, mut time_s, mut next_s) = (0.0, 0.0, 0.0);
        while time_s < 60.0 {
            if time_s >= next_s {
                watcher.fired(CHANGE_RAD_S, 1.0, &settings);
                next_s += every_s;
            }
            if next_s - time_s > every_s - 1.0 {
                lacking -= (1.0 - share) * CHANGE_RAD_S * DT_S;
            }
            let correction = lacking * DT_S / SMOOTHING_S;
            lacking -= correction;
            match watcher.step(correction, correction, 1.0, &settings, DT_S) {
                Verdict::Sound => time_s += DT_S,
                verdict => return Some((verdict, time_s)),
            }
        }
        None
    }

    #[test]
    fn a_dead_bank_that_fires_without_pause_is_found() {
        // A second of firing and the lockout's rest: the next pulse always comes before the last one is judged.
        let found = watch(0.0, 1.15);
        assert!(matches!(found, Some((Verdict::Missing, time_s)) if time_s < 25.0), "{found:?}");
        // With pauses it is found as ever, pulse by pulse.
        let found = watch(0.0, 4.0);
        assert!(matches!(found, Some((Verdict::Missing, time_s)) if time_s < 12.0), "{found:?}");
    }

    #[test]
    fn a_sound_or_slightly_weak_bank_is_left_alone() {
        for share in [1.0, 0.8, 1.2] {
            for every_s in [1.0, 1.15, 4.0] {
                assert_eq!(watch(share, every_s), None, "{share} every {every_s} s");
            }
        }
    }
}
