//! Every input from outside is looked at before it is used.

use super::flags::{Flag, Flags};
use crate::{
    attitude::rotation::Vec3,
    io::{HorizonSample, Sensors, TankSample},
    math,
};

const DEG: f32 = core::f32::consts::PI / 180.0;

/// Inputs made fit to use, and the last good ones.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Inputs {
    gyro_rad_s: [f32; 3],
    horizon: HorizonSample,
    tank: TankSample,
    last_tick: Option<u32>,
}

impl Inputs {
    /// Gyro rates: a bad reading is replaced by the last good one, a large one is cut to the range.
    pub fn gyro(&mut self, sensors: &Sensors, range_deg_s: f32, flags: &mut Flags) -> Vec3 {
        let range = range_deg_s * DEG;
        let mut invalid = false;
        let mut saturated = false;
        for (kept, &read) in self.gyro_rad_s.iter_mut().zip(&sensors.gyro_rad_s) {
            // Ten times the range is no reading of this gyro.
            if !(math::abs(read) < 10.0 * range) {
                invalid = true;
                continue;
            }
            saturated |= math::abs(read) >= range;
            *kept = math::clamp(read, -range, range);
        }
        flags.put(Flag::GyroInvalid, invalid);
        flags.put(Flag::GyroSaturated, saturated);
        self.gyro_rad_s.into()
    }

    /// Horizon sample: one that is no angle counts as a sample without lock.
    pub fn horizon(&mut self, sensors: &Sensors, flags: &mut Flags) -> HorizonSample {
        let sample = sensors.horizon;
        let good = math::abs(sample.roll_rad) < 1.6 && math::abs(sample.pitch_rad) < 1.6;
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

    /// Whether the clock went on by exactly one tick.
    pub fn clock(&mut self, sensors: &Sensors) -> bool {
        let steady = self.last_tick.is_none_or(|last| sensors.tick == last.wrapping_add(1));
        self.last_tick = Some(sensors.tick);
        steady
    }
}
