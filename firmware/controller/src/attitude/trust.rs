//! How far the horizon sensor is believed, and which is to blame when it and the gyros part.
//!
//! What counts is the *mean* disagreement over a few seconds: noise, however strong, averages out and says only
//! that the sensor is noisy. A mean that leaves the gate at once (the Sun in the scan) is the horizon sensor's
//! doing: attitude is held on the gyros until the two agree again. A mean that creeps out is a gyro's doing, for
//! gyros go wrong by rates: the horizon sensor stays in use with a firmer hand, and the drift is learned anew.

use super::{rotation::Vec3, settings::ObserverSettings};
use crate::{
    io::TICKS_PER_S,
    math::{self, DEG},
};

/// Interval of the horizon samples, s (10 Hz).
pub const HORIZON_STEP_S: f32 = 0.1;
/// A sensor that brings no new sample for longer than this counts as one that disagrees.
pub const SILENT_TICKS: u32 = TICKS_PER_S;
/// Smoothing of the disagreement: 30 samples bring tenfold noise (0.5°) below a third of the gate.
const MEAN_TIME_S: f32 = 3.0;
/// The same while the sensor is not believed: a jump that has ended should not linger.
const DOUBTED_MEAN_TIME_S: f32 = 1.0;
/// Smoothing of the scatter about the mean.
const SCATTER_TIME_S: f32 = 20.0;
/// From inside the inner third of the gate to its edge: faster is a jump, slower is a creep. A jump of twice the
/// gate takes 2 s through the smoothing; a gyro would have to drift by 90 °/h to be as fast.
const JUMP_S: f32 = 8.0;
/// A creep is over when the mean has stayed in the inner third of the gate for so long.
const CREPT_S: f32 = 300.0;
/// Longest time for which a gyro is learned anew while the two are still apart.
const CREEPING_S: f32 = 600.0;
/// By what the gyros alone may have drifted off while the sensor was not believed: the gate for its return widens, rad/s
/// (1 °/h: 0.5 °/h of roll drift and what is left of pitch drift).
const OFF_RAD_S: f32 = 4.85e-6;
/// After its return the sensor has this long to pull that in before a gyro is blamed.
const REJOINING_S: f32 = 300.0;
/// Disagreement beyond which neither is worth holding on to, rad (5°).
const HOPELESS_RAD: f32 = 0.087;
const LONG_AGO: u32 = 1 << 30;

/// What to do with a sample.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Verdict {
    /// Correct the estimate with it.
    Use,
    /// Hold on the gyros.
    Withhold,
    /// Neither can be held on to: start over.
    Lost,
}

/// Standing of the horizon sensor.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Trust {
    /// The sensor is believed.
    pub trusted: bool,
    /// A gyro is being learned anew.
    pub creeping: bool,
    /// Samples scatter by more than `horizon_noise_deg`.
    pub noisy: bool,
    mean: Vec3,
    scatter_rad: f32,
    agreeing: u32,
    /// When the mean last was inside the inner third of the gate, and last outside it.
    near_tick: u32,
    far_tick: u32,
    doubt_since: u32,
    creeping_since: u32,
    rejoined_tick: u32,
    silent: bool,
}

impl Trust {
    /// Believed from now on: a heading has just been read with this sensor.
    pub fn begin(&mut self, tick: u32) {
        *self = Self { trusted: true, noisy: self.noisy, scatter_rad: self.scatter_rad, ..Self::default() };
        (self.near_tick, self.far_tick, self.doubt_since) = (tick, tick, tick);
        // Long ago: nothing is being rejoined.
        self.rejoined_tick = tick.wrapping_sub(LONG_AGO);
    }

    /// Nothing is known of the sensor's standing.
    pub fn forget(&mut self) {
        *self = Self { noisy: self.noisy, scatter_rad: self.scatter_rad, ..Self::default() };
    }

    /// Takes a sample's disagreement with the estimate about body x and y. `gate_rad`: the mean beyond which the two
    /// have parted.
    pub fn take(&mut self, tick: u32, tilt: &Vec3, gate_rad: f32, settings: &ObserverSettings) -> Verdict {
        if self.silent {
            (self.silent, self.mean) = (false, *tilt);
        }
        self.scatter(tilt, settings);
        let size = math::sqrt(self.mean.norm_squared());
        if size < gate_rad / 3.0 {
            self.near_tick = tick;
        } else {
            self.far_tick = tick;
        }
        if !self.trusted {
            return self.wait_for_agreement(tick, size, gate_rad, settings);
        }
        self.creeping &= since_s(tick, self.far_tick) < CREPT_S;
        let rejoining = since_s(tick, self.rejoined_tick) < REJOINING_S && size < 4.0 * gate_rad;
        if size <= gate_rad || rejoining {
            return Verdict::Use;
        }
        if self.creeping {
            // The firmer hand should have caught up long before.
            let hopeless = size > 4.0 * gate_rad || since_s(tick, self.creeping_since) > CREEPING_S;
            return if hopeless { Verdict::Lost } else { Verdict::Use };
        }
        if since_s(tick, self.near_tick) > JUMP_S {
            (self.creeping, self.creeping_since) = (true, tick);
            return Verdict::Use;
        }
        self.doubt(tick);
        Verdict::Withhold
    }

    /// A sample without lock, or none at all.
    pub fn miss(&mut self, tick: u32, settings: &ObserverSettings) -> Verdict {
        self.doubt(tick);
        self.silent = true;
        if since_s(tick, self.doubt_since) > settings.horizon_doubt_s { Verdict::Lost } else { Verdict::Withhold }
    }

    /// Not looked at for the time being: when it comes back it has time to pull in what the gyros have drifted by.
    pub fn set_aside(&mut self, tick: u32) {
        (self.silent, self.near_tick, self.rejoined_tick) = (true, tick, tick);
    }

    /// Time for which the sensor has not been believed, s.
    pub fn doubted_s(&self, tick: u32) -> f32 {
        if self.trusted { 0.0 } else { since_s(tick, self.doubt_since) }
    }

    fn scatter(&mut self, tilt: &Vec3, settings: &ObserverSettings) {
        let off = tilt - self.mean;
        let time_s = if self.trusted { MEAN_TIME_S } else { DOUBTED_MEAN_TIME_S };
        self.mean += off * (HORIZON_STEP_S / time_s);
        // A jump is no scatter; without a bound it would look like noise for a minute.
        let bound = 4.0 * settings.horizon_noise_deg * DEG;
        let size = math::sqrt(off.norm_squared()).min(bound);
        self.scatter_rad += (size - self.scatter_rad) * (HORIZON_STEP_S / SCATTER_TIME_S);
        let alarm_rad = settings.horizon_noise_deg * DEG;
        self.noisy = self.scatter_rad > if self.noisy { 0.5 * alarm_rad } else { alarm_rad };
    }

    fn wait_for_agreement(&mut self, tick: u32, size: f32, gate_rad: f32, settings: &ObserverSettings) -> Verdict {
        let gate_rad = (0.8 * gate_rad + OFF_RAD_S * since_s(tick, self.doubt_since)).min(4.0 * gate_rad);
        self.agreeing = if size < gate_rad { self.agreeing.saturating_add(1) } else { 0 };
        if self.agreeing >= settings.horizon_agree_samples {
            (self.trusted, self.rejoined_tick) = (true, tick);
            return Verdict::Use;
        }
        let hopeless = size > HOPELESS_RAD || since_s(tick, self.doubt_since) > settings.horizon_hold_s;
        if hopeless { Verdict::Lost } else { Verdict::Withhold }
    }

    fn doubt(&mut self, tick: u32) {
        if self.trusted {
            self.doubt_since = tick;
        }
        (self.trusted, self.creeping, self.agreeing) = (false, false, 0);
    }
}

/// Seconds from `since` to `tick`.
pub fn since_s(tick: u32, since: u32) -> f32 {
    tick.wrapping_sub(since) as f32 / TICKS_PER_S as f32
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    const GATE: f32 = 0.3 * DEG;

    fn begun() -> (Trust, ObserverSettings) {
        let mut trust = Trust::default();
        trust.begin(0);
        (trust, ObserverSettings::default())
    }

    fn feed(
        trust: &mut Trust,
        settings: &ObserverSettings,
        from: u32,
        samples: u32,
        tilt: impl Fn(f32) -> f32,
    ) -> Verdict {
        let mut last = Verdict::Use;
        for sample in 0..samples {
            let tick = from + 10 * sample;
            last = trust.take(tick, &Vec3::new(tilt(0.1 * sample as f32), 0.0, 0.0), GATE, settings);
        }
        last
    }

    #[test]
    fn a_jump_is_withheld_within_a_second_and_forgiven_after_agreement() {
        let (mut trust, settings) = begun();
        feed(&mut trust, &settings, 0, 100, |_| 0.0);
        assert_eq!(feed(&mut trust, &settings, 1_000, 10, |_| 2.5 * DEG), Verdict::Withhold);
        assert_eq!(feed(&mut trust, &settings, 1_100, 2_000, |_| 2.5 * DEG), Verdict::Withhold);
        assert_eq!(feed(&mut trust, &settings, 21_100, 200, |_| 0.0), Verdict::Use);
        assert!(trust.trusted && !trust.creeping);
    }

    #[test]
    fn a_creep_is_followed_and_blamed_on_a_gyro() {
        let (mut trust, settings) = begun();
        // 40 °/h.
        let verdict = feed(&mut trust, &settings, 0, 400, |s| 0.011 * DEG * s);
        assert_eq!((verdict, trust.trusted, trust.creeping), (Verdict::Use, true, true));
        feed(&mut trust, &settings, 4_000, 3_600, |_| 0.0);
        assert!(!trust.creeping);
    }

    #[test]
    fn strong_noise_is_noticed_and_used() {
        let (mut trust, settings) = begun();
        let mut state = 1_u32;
        for sample in 0..6_000 {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            // Uniform with a deviation of 0.5°.
            let noise = (state as f32 / 4_294_967_296.0 - 0.5) * 1.73 * DEG;
            let verdict = trust.take(10 * sample, &Vec3::new(noise, 0.0, 0.0), GATE, &settings);
            assert_eq!(verdict, Verdict::Use);
        }
        assert!(trust.noisy);
    }

    #[test]
    fn patience_ends_sooner_without_a_lock_than_with_one() {
        let (mut trust, settings) = begun();
        let at = |s: f32| (s * 100.0) as u32;
        assert_eq!(trust.miss(100, &settings), Verdict::Withhold);
        assert_eq!(trust.miss(at(settings.horizon_doubt_s) + 300, &settings), Verdict::Lost);
        let (mut trust, settings) = begun();
        feed(&mut trust, &settings, 0, 10, |_| 2.0 * DEG);
        let tilt = Vec3::new(2.0 * DEG, 0.0, 0.0);
        assert_eq!(trust.take(at(settings.horizon_doubt_s) + 300, &tilt, GATE, &settings), Verdict::Withhold);
        assert_eq!(trust.take(at(settings.horizon_hold_s) + 300, &tilt, GATE, &settings), Verdict::Lost);
    }
}
