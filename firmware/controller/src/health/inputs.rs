//! Every input from outside is looked at before it is used.

use super::flags::{Flag, Flags};
use crate::{
    attitude::rotation::Vec3,
    io::{HorizonSample, Sensors, TankSample},
    math::{self, DEG},
};

/// Readings bit for bit alike after which a gyro is not listened to: noise moves a live one at nearly every step.
const ALIKE: u32 = 3;
/// Steps without a fresh reading after which a gyro is dead (5 s at 50 Hz).
const DEAD_STEPS: u32 = 250;
/// Horizon samples in a row bit for bit alike after which the sensor is stuck (2 s at 10 Hz).
const STUCK_SAMPLES: u32 = 20;

/// Inputs made fit to use, and the last good ones.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Inputs {
    gyro_rad_s: [f32; 3],
    /// Steps since each gyro last gave a fresh reading.
    stale: [u32; 3],
    at_end: [bool; 3],
    horizon: HorizonSample,
    last_seen: HorizonSample,
    repeats: u32,
    tank: TankSample,
    last_tick: Option<u32>,
}

impl Inputs {
    /// Gyro rates: a bad reading is replaced by the last good one, a large one is cut to the range.
    pub fn gyro(&mut self, sensors: &Sensors, range_deg_s: f32, flags: &mut Flags) -> Vec3 {
        let range = range_deg_s * DEG;
        let mut invalid = false;
        let mut saturated = false;
        let kept = self.gyro_rad_s.iter_mut().zip(&mut self.stale).zip(&mut self.at_end);
        for (((kept, stale), at_end), &read) in kept.zip(&sensors.gyro_rad_s) {
            // Ten times the range is no reading of this gyro.
            let possible = math::abs(read) < 10.0 * range;
            if !possible {
                invalid = true;
                *stale = stale.saturating_add(1);
                continue;
            }
            *at_end = math::abs(read) >= range;
            saturated |= *at_end;
            let fresh = math::clamp(read, -range, range);
            // At the end of its range a live gyro repeats itself too.
            *stale = if fresh == *kept && !*at_end { stale.saturating_add(1) } else { 0 };
            *kept = fresh;
        }
        flags.put(Flag::GyroInvalid, invalid || self.gyro_live() != [true; 3]);
        flags.put(Flag::GyroSaturated, saturated);
        self.gyro_rad_s.into()
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

    /// A cycle has been left out: the clock's next reading is a tick further on.
    pub fn skip(&mut self) {
        self.last_tick = self.last_tick.map(|last| last.saturating_add(1));
    }

    /// Whether the clock went on by one tick, give or take one: a clock that runs a little fast or slow against
    /// the loop skips or repeats a tick now and then, which is no jump. A clock that rolls over is one: what was to
    /// come lies behind it then.
    pub fn clock(&mut self, sensors: &Sensors) -> bool {
        let steady = self.last_tick.is_none_or(|last| sensors.tick.checked_sub(last).is_some_and(|by| by <= 2));
        self.last_tick = Some(sensors.tick);
        steady
    }
}
