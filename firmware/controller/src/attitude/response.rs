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
    /// Net misses of turns the negative and the positive way: each has jets of its own.
    misses: [u32; 2],
    runaway_s: f32,
    /// What short pulses give, and long ones, as a share of what was expected of them, smoothed.
    short: Given,
    long: Given,
    long_rad_s: f32,
    /// Share of an unexpected change of rate that the smoothed rate has taken in when a pulse is judged.
    in_sight: f32,
}

/// What pulses were told to give and gave, rad/s, smoothed alike, so that the first counts in full.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Given {
    told: f32,
    gave: f32,
    weight: f32,
    judged: u32,
}

impl Given {
    fn take(&mut self, told: f32, gave: f32) {
        self.told += WEIGHT * (told - self.told);
        self.gave += WEIGHT * (gave - self.gave);
        self.weight += WEIGHT * (1.0 - self.weight);
        self.judged = self.judged.saturating_add(1);
    }

    fn share(&self) -> f32 {
        if self.told > 0.0 { self.gave / self.told } else { 1.0 }
    }

    /// Whether there is enough to go by.
    fn known(&self) -> bool {
        self.judged >= FIT_AFTER
    }

    /// What a pulse gives beyond what it was told, rad/s.
    fn excess_rad_s(&self) -> f32 {
        if self.weight > 0.0 { (self.gave - self.told) / self.weight } else { 0.0 }
    }
}

impl Watcher {
    /// For an axis whose least pulse changes the rate by `least_rad_s`, and whose smoothed rate takes in `rate_gain` of
    /// what the gyro adds at every step.
    pub fn new(least_rad_s: f32, rate_gain: f32, settings: &ResponseSettings, dt_s: f32) -> Self {
        Self {
            expected_rad_s: 0.0,
            seen_rad_s: 0.0,
            left_s: 0.0,
            lasted_s: 0.0,
            misses: [0; 2],
            runaway_s: 0.0,
            short: Given::default(),
            long: Given::default(),
            // Valve delays of tens of milliseconds make no great difference to pulses four times the least.
            long_rad_s: 4.0 * least_rad_s,
            in_sight: taken_in(rate_gain, (settings.watch_s / dt_s) as u32),
        }
    }

    /// Whether pulses give more or less than told on the mean.
    pub fn odd(&self, settings: &ResponseSettings) -> bool {
        let odd = |given: &Given| given.known() && math::abs(given.share() - 1.0) > settings.odd_share;
        odd(&self.short) || odd(&self.long)
    }

    /// What long pulses have been found to give, if that is far enough from what they should to fit the thrust to it;
    /// counting begins anew then.
    pub fn take_fit(&mut self) -> Option<f32> {
        let share = self.long.share();
        if !self.long.known() || math::abs(share - 1.0) < FIT_SHARE {
            return None;
        }
        (self.long, self.short, self.misses) = (Given::default(), Given::default(), [0; 2]);
        Some(share)
    }

    /// What short pulses have been found to give beyond what they were told, rad/s, if that is much while long ones are
    /// as told: valves that shut late. Counting begins anew then.
    pub fn take_excess(&mut self) -> Option<f32> {
        let long_is_odd = self.long.judged > 0 && self.long.share() > 1.0 + FIT_SHARE;
        if !self.short.known() || self.short.share() < 1.0 + FIT_SHARE || long_is_odd {
            return None;
        }
        let excess_rad_s = self.short.excess_rad_s();
        self.short = Given::default();
        Some(excess_rad_s)
    }

    /// What the pulses judged last gave, for a bank that is kept although it is weak.
    pub fn last_gave(&self) -> f32 {
        if self.expected_rad_s == 0.0 { 1.0 } else { math::clamp(self.gave(), 0.3, 1.0) }
    }

    fn gave(&self) -> f32 {
        1.0 + self.seen_rad_s / (self.in_sight * self.expected_rad_s)
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

    /// The pulse being watched was cut short: it tells nothing of the jets.
    pub fn pulse_was_cut(&mut self) {
        self.left_s = 0.0;
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
        let gave = math::clamp(self.gave(), -1.0, 3.0);
        let told = math::abs(self.expected_rad_s);
        let given = if told > self.long_rad_s { &mut self.long } else { &mut self.short };
        given.take(told, told * gave);
        let missed = 1.0 - gave > settings.missing_share;
        let [negative, positive] = &mut self.misses;
        let misses = if self.expected_rad_s > 0.0 { positive } else { negative };
        *misses = if missed { *misses + 1 } else { misses.saturating_sub(1) };
        if *misses < settings.misses {
            return Verdict::Sound;
        }
        if gave < NOTHING { Verdict::Missing } else { Verdict::Weak }
    }
}

/// 1 − (1 − gain)^steps, by squaring.
fn taken_in(gain: f32, steps: u32) -> f32 {
    let (mut left, mut power, mut remaining) = (1.0, 1.0 - math::clamp(gain, 0.0, 1.0), steps);
    for _ in 0..u32::BITS {
        if remaining & 1 != 0 {
            left *= power;
        }
        power *= power;
        remaining >>= 1;
    }
    (1.0 - left).max(0.1)
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    /// Watches pulses of 0.01 rad/s, each followed by `wait_s`, that give `share` of it at once.
    fn watch(share: f32, wait_s: f32, pulses: u32) -> (Watcher, Verdict) {
        let settings = ResponseSettings::default();
        let mut watcher = Watcher::new(0.01, 1.0, &settings, 0.02);
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
    fn what_the_smoothing_has_not_taken_in_yet_is_allowed_for() {
        assert!((taken_in(0.02, 75) - (1.0 - 0.98_f32.powi(75))).abs() < 1e-6);
        assert_eq!(taken_in(1.0, 75), 1.0);
    }

    /// A pulse that is cut is not held against the jets; a valve that hangs open is found all the same, however often the
    /// processor is late.
    #[test]
    fn cut_pulses_are_not_judged_and_hide_no_open_valve() {
        let settings = ResponseSettings::default();
        let mut watcher = Watcher::new(0.01, 1.0, &settings, 0.02);
        for step in 0..2_000 {
            if step % 40 == 0 {
                watcher.fired(0.01, 0.02, &settings);
                watcher.pulse_was_cut();
            }
            assert_eq!(watcher.step(-0.01, 0.0, 1.0, &settings, 0.02), Verdict::Sound);
        }
        let verdicts = (0..40).map(|_| {
            watcher.pulse_was_cut();
            watcher.step(0.0, 1.0, 1.0, &settings, 0.02)
        });
        assert!(verdicts.into_iter().any(|verdict| verdict == Verdict::Runaway));
    }

    #[test]
    fn double_pulses_show_in_the_mean() {
        let (watcher, verdict) = watch(2.0, 2.0, 30);
        assert!(verdict == Verdict::Sound && watcher.odd(&ResponseSettings::default()), "{watcher:?}");
        assert!(!watch(1.0, 2.0, 30).0.odd(&ResponseSettings::default()));
    }
}
