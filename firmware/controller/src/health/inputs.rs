//! Every input from outside is looked at before it is used.

use super::flags::{Flag, Flags};
use crate::{
    attitude::rotation::Vec3,
    io::{HorizonSample, Sensors, TICKS_PER_S, TankSample},
    math::{self, DEG},
};

/// Readings bit for bit alike after which a gyro is not listened to: noise moves a live one at nearly every step.
const ALIKE: u32 = 3;
/// Steps without a fresh reading after which a gyro is dead (5 s at 50 Hz).
const DEAD_STEPS: u32 = 250;
/// Share of the range by which a rate cannot change between two readings: nothing on board turns the vehicle so much in a
/// fiftieth of a second; the jets take seconds for it.
const JUMP_SHARE: f32 = 0.5;
/// Furthest that the clock may have run on over a reset, ticks (a minute). A reset takes half a second, and what is kept
/// is a second old; a watchdog that bites again and again comes back within seconds. Beyond, nothing says that it is
/// still the same clock.
const RESET_MOST_TICKS: u32 = 60 * TICKS_PER_S;
/// Horizon samples in a row bit for bit alike after which the sensor is stuck (2 s at 10 Hz).
const STUCK_SAMPLES: u32 = 20;

/// Inputs made fit to use, and the last good ones.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Inputs {
    gyro_rad_s: [f32; 3],
    /// Steps since each gyro last gave a fresh reading.
    stale: [u32; 3],
    at_end: [bool; 3],
    /// The ground has looked since this gyro was last inside its range: whatever it says is followed.
    let_go: [bool; 3],
    horizon: HorizonSample,
    last_seen: HorizonSample,
    repeats: u32,
    tank: TankSample,
    last_tick: Option<u32>,
    /// The clock has not been read since a reset.
    woken: bool,
}

impl Inputs {
    /// As they begin after a reset, with the clock's last reading before it.
    pub fn wake(last_tick: Option<u32>) -> Self {
        Self { last_tick, woken: true, ..Self::default() }
    }

    /// Gyro rates: a bad reading is replaced by the last good one, a large one is cut to the range.
    ///
    /// `captured`: the vehicle has been in fine hold. From then on rates change by degrees; a gyro that jumps, or begins far
    /// from rest after a reset, has failed, and following it would spin the vehicle up. At tip-off the carrier may push
    /// as it will. Should a vehicle really turn so fast after a reset, the ground says so by a new load.
    pub fn gyro(&mut self, sensors: &Sensors, range_deg_s: f32, captured: bool, flags: &mut Flags) -> Vec3 {
        let range = range_deg_s * DEG;
        let mut invalid = false;
        let mut saturated = false;
        let kept = self.gyro_rad_s.iter_mut().zip(&mut self.stale).zip(&mut self.at_end).zip(&mut self.let_go);
        for ((((kept, stale), at_end), let_go), &read) in kept.zip(&sensors.gyro_rad_s) {
            let size = math::abs(read);
            // Ten times the range is no reading of this gyro.
            let sensible = size < 10.0 * range;
            let at_its_end = sensible && size >= range;
            saturated |= at_its_end;
            let fresh = math::clamp(read, -range, range);
            let jumped = captured && !*let_go && math::abs(fresh - *kept) > JUMP_SHARE * range;
            if !sensible || jumped {
                invalid = true;
                *stale = stale.saturating_add(1);
                continue;
            }
            *at_end = at_its_end;
            *let_go &= at_its_end;
            // At the end of its range a live gyro repeats itself too.
            *stale = if fresh == *kept && !*at_end { stale.saturating_add(1) } else { 0 };
            *kept = fresh;
        }
        flags.put(Flag::GyroInvalid, invalid || self.gyro_live() != [true; 3]);
        flags.put(Flag::GyroSaturated, saturated);
        self.gyro_rad_s.into()
    }

    /// The ground has looked: what the gyros say is taken as it comes, until it lies inside their range.
    pub fn acknowledge(&mut self) {
        self.let_go = [true; 3];
    }

    /// Which gyros tell something new: one that repeats itself or is at the end of its range says nothing about
    /// jets either.
    pub fn gyro_fresh(&self) -> [bool; 3] {
        let mut fresh = self.stale.map(|steps| steps < ALIKE);
        for (fresh, at_end) in fresh.iter_mut().zip(self.at_end) {
            *fresh &= !at_end;
        }
        fresh
    }

    /// Which gyros have not gone without a fresh reading for so long that they must be dead.
    pub fn gyro_live(&self) -> [bool; 3] {
        self.stale.map(|steps| steps < DEAD_STEPS)
    }

    /// Horizon sample: one that is no angle, or only repeats itself, counts as a sample without lock.
    pub fn horizon(&mut self, sensors: &Sensors, flags: &mut Flags) -> HorizonSample {
        let sample = sensors.horizon;
        if sample.sequence != self.last_seen.sequence {
            let alike = sample.roll_rad == self.last_seen.roll_rad && sample.pitch_rad == self.last_seen.pitch_rad;
            self.repeats = if alike { self.repeats.saturating_add(1) } else { 0 };
            self.last_seen = sample;
        }
        let angles = math::abs(sample.roll_rad) < 1.6 && math::abs(sample.pitch_rad) < 1.6;
        let good = angles && self.repeats < STUCK_SAMPLES;
        flags.put(Flag::HorizonInvalid, !good && sample.locked);
        self.horizon =
            if good { sample } else { HorizonSample { sequence: sample.sequence, ..HorizonSample::default() } };
        self.horizon
    }

    /// Tank gauges: bad readings keep the last good ones.
    pub fn tank(&mut self, sensors: &Sensors, flags: &mut Flags) -> TankSample {
        let read = sensors.tank;
        let good = read.pressure_pa >= 0.0
            && read.pressure_pa < 1e8
            && read.temperature_k > 100.0
            && read.temperature_k < 500.0;
        flags.put(Flag::TankInvalid, !good);
        if good {
            self.tank = read;
        }
        self.tank
    }

    /// The clock's last reading, to be kept through a reset.
    pub fn last_tick(&self) -> Option<u32> {
        self.last_tick
    }

    /// A cycle has been left out: the clock's next reading is a tick further on.
    pub fn skip(&mut self) {
        self.last_tick = self.last_tick.map(|last| last.saturating_add(1));
    }

    /// Whether the clock went on by one tick, give or take one: a clock that runs a little fast or slow against
    /// the loop skips or repeats a tick now and then, which is no jump. A clock that rolls over is one: what was to
    /// come lies behind it then. The first reading after a reset may lie further on, by as much as a reset takes; a
    /// clock that the reset has started anew lies behind.
    pub fn clock(&mut self, sensors: &Sensors) -> bool {
        let most = if self.woken { RESET_MOST_TICKS } else { 2 };
        self.woken = false;
        let steady = self.last_tick.is_none_or(|last| sensors.tick.checked_sub(last).is_some_and(|by| by <= most));
        self.last_tick = Some(sensors.tick);
        steady
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use crate::io::{FilmSample, OrdnanceSample};

    const RANGE_DEG_S: f32 = 5.0;

    fn sensors(tick: u32, roll_deg_s: f32) -> Sensors {
        let wobble = tick as f32 * 1e-6;
        Sensors {
            tick,
            gyro_rad_s: [roll_deg_s * DEG, wobble, wobble],
            horizon: HorizonSample::default(),
            tank: TankSample::default(),
            film: FilmSample::default(),
            uplink: heapless::Vec::new(),
            separated: true,
            ordnance: OrdnanceSample::default(),
        }
    }

    /// Roll as it is used after each of `readings` (deg/s), in thousandths of them, and whether the gyro then lives.
    fn roll(readings: &[f32], captured: bool) -> (std::vec::Vec<i32>, bool, Flags) {
        let (mut inputs, mut flags) = (Inputs::default(), Flags::default());
        let read = readings.iter().enumerate().map(|(step, &roll_deg_s)| {
            let rates = inputs.gyro(&sensors(step as u32, roll_deg_s), RANGE_DEG_S, captured, &mut flags);
            libm::roundf(rates.x / DEG * 1e3) as i32
        });
        let read = read.collect();
        (read, inputs.gyro_live()[0], flags)
    }

    #[test]
    fn a_gyro_that_jumps_to_its_end_is_not_followed_and_is_dead_after_five_seconds() {
        for end_deg_s in [5.0, -5.0, 49.0] {
            let stuck = [&[0.06, 0.061, 0.06][..], &[end_deg_s; 250]].concat();
            let (used, lives, flags) = roll(&stuck, true);
            assert!(used.iter().skip(2).all(|&rate| rate == 60), "{end_deg_s}: {:?}", used.last());
            assert!(!lives && flags.has(Flag::GyroInvalid) && flags.has(Flag::GyroSaturated), "{end_deg_s}");
            // From the first reading on, as after a reset.
            let (used, lives, _) = roll(&[end_deg_s; 250], true);
            assert!(used.iter().all(|&rate| rate == 0) && !lives, "{end_deg_s}");
        }
        // A rate counted over the step in which it failed lies half way.
        let (used, lives, _) = roll(&[&[0.06, 0.061, 3.0][..], &[5.0; 260]].concat(), true);
        assert!(used.last() == Some(&61) && !lives, "{:?}", used.last());
        let (used, lives, _) = roll(&[0.06, 5.0, 5.0, 0.07], true);
        assert_eq!((used.last(), lives), (Some(&70), true), "it lives again once it is back");
    }

    #[test]
    fn a_rate_that_goes_beyond_the_range_by_degrees_and_one_of_tip_off_are_followed() {
        let spun: std::vec::Vec<f32> = (0..300).map(|step| (step as f32 * 0.05).min(5.0)).collect();
        let (used, lives, flags) = roll(&spun, true);
        assert_eq!((used.last(), lives), (Some(&5_000), true));
        assert!(flags.has(Flag::GyroSaturated) && !flags.has(Flag::GyroInvalid));
        let tip_off = [&[0.0, 0.001][..], &[5.0; 300]].concat();
        let (used, lives, _) = roll(&tip_off, false);
        assert_eq!((used.last(), lives), (Some(&5_000), true));
    }

    #[test]
    fn over_a_reset_the_clock_may_run_on_by_a_minute_and_may_not_begin_anew() {
        let first = |last: u32, tick: u32| Inputs::wake(Some(last)).clock(&sensors(tick, 0.0));
        assert!(first(5_000, 5_000) && first(5_000, 5_150) && first(5_000, 11_000));
        assert!(!first(5_000, 4_999) && !first(5_000, 0) && !first(5_000, 11_001));
        assert!(Inputs::wake(None).clock(&sensors(77, 0.0)), "nothing is known of the clock before");
        // Only the first reading has that leave.
        let mut inputs = Inputs::wake(Some(5_000));
        assert!(inputs.clock(&sensors(5_150, 0.0)) && !inputs.clock(&sensors(5_153, 0.0)));
    }
}
