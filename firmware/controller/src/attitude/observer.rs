//! Attitude from horizon sensor and gyros: roll and pitch, yaw by gyrocompass, gyro drift.
//!
//! The gyros carry the attitude forward; ten times a second the horizon sensor corrects roll and pitch a
//! little. A yaw error makes the vehicle's roll gyro feel a share of the orbital rate, the horizon sensor
//! then disagrees in roll, and that disagreement steers yaw: the orbital gyrocompass. Before the heading is
//! known at all, the observer *levels*: it learns the two horizontal parts of the orbital rate in body axes,
//! whose direction is the heading.

use super::{
    orbit::Place,
    rotation::{self, Quat, Vec3},
    settings::ObserverSettings,
};
use crate::{
    io::{ATTITUDE_STEP_S, HorizonSample, TICKS_PER_S},
    math,
};

/// Interval of the horizon samples, s (10 Hz).
const HORIZON_STEP_S: f32 = 0.1;
/// A sensor that brings no new sample for longer than this counts as one that disagrees.
const SILENT_TICKS: u32 = TICKS_PER_S;
const DEG: f32 = core::f32::consts::PI / 180.0;

/// How far the estimate has come.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Heading {
    /// No horizon since damping: nothing is known.
    Blind,
    /// Roll and pitch follow the horizon; yaw unknown. Since this tick.
    Levelling(u32),
    /// Yaw known since this tick.
    Known(u32),
}

/// The attitude estimate. `q` is the body with respect to the local orbital frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Observer {
    /// Body with respect to the local orbital frame (to a frame of unknown heading while levelling).
    pub q: Quat,
    /// Gyro drift, rad/s. The roll gyro's cannot be told from a yaw error and stays zero.
    pub drift_rad_s: Vec3,
    /// How far the estimate has come.
    pub heading: Heading,
    /// Whether the horizon sensor is believed.
    pub trusted: bool,
    /// Length of the last disagreement between horizon and estimate, rad.
    pub innovation_rad: f32,
    level_rate_rad_s: Vec3,
    agreeing: u32,
    doubt_since: u32,
    sequence: u8,
    /// When the last sample came, and the last with a lock.
    heard_tick: u32,
    sample_tick: u32,
    settings: ObserverSettings,
}

impl Observer {
    /// Knows nothing yet.
    pub fn new(settings: ObserverSettings) -> Self {
        Self {
            q: rotation::identity(),
            drift_rad_s: Vec3::zeros(),
            heading: Heading::Blind,
            trusted: false,
            innovation_rad: 0.0,
            level_rate_rad_s: Vec3::zeros(),
            agreeing: 0,
            doubt_since: 0,
            sequence: 0,
            heard_tick: 0,
            sample_tick: 0,
            settings,
        }
    }

    /// Forgets attitude and heading (drift is kept).
    pub fn forget(&mut self) {
        self.heading = Heading::Blind;
        self.trusted = false;
        self.agreeing = 0;
        self.level_rate_rad_s = Vec3::zeros();
        self.q = rotation::identity();
    }

    /// Carries the attitude over one attitude step with the gyros' rates (drift not yet taken off).
    pub fn propagate(&mut self, gyro_rad_s: &Vec3, place: &Place) {
        let relative = match self.heading {
            Heading::Blind => return,
            Heading::Levelling(_) => {
                let mut rate = gyro_rad_s - self.level_rate_rad_s;
                rate.z = 0.0;
                rate
            }
            Heading::Known(_) => gyro_rad_s - self.drift_rad_s - rotation::to_b(&self.q, &place.orbital_rate()),
        };
        self.q = rotation::turned(&self.q, &(relative * ATTITUDE_STEP_S));
    }

    /// Rate at which the body should turn in space to keep pointing, while the heading is unknown, rad/s.
    pub fn level_rate(&self) -> Vec3 {
        self.level_rate_rad_s
    }

    /// Takes in a horizon sample if it is a new one.
    pub fn horizon(&mut self, tick: u32, sample: &HorizonSample, place: &Place) {
        if sample.sequence == self.sequence {
            if tick.wrapping_sub(self.heard_tick) > SILENT_TICKS {
                self.disagree(tick);
            }
            return;
        }
        self.sequence = sample.sequence;
        self.heard_tick = tick;
        if !sample.locked {
            self.disagree(tick);
            return;
        }
        self.sample_tick = tick;
        let measured = nadir(sample);
        match self.heading {
            Heading::Blind => self.start_levelling(tick, sample),
            Heading::Levelling(since) => self.level(tick, since, &measured),
            Heading::Known(since) => self.correct(tick, since, &measured, place),
        }
    }

    /// Ticks since the last sample with a lock.
    pub fn unlocked_ticks(&self, tick: u32) -> u32 {
        tick.wrapping_sub(self.sample_tick)
    }

    /// Whether the heading has been known for `settle_s`.
    pub fn settled(&self, tick: u32) -> bool {
        match self.heading {
            Heading::Known(since) => since_s(tick, since) >= self.settings.settle_s,
            _ => false,
        }
    }

    fn start_levelling(&mut self, tick: u32, sample: &HorizonSample) {
        let roll = rotation::from_rotation_vector(&Vec3::new(sample.roll_rad, 0.0, 0.0));
        let pitch = rotation::from_rotation_vector(&Vec3::new(0.0, sample.pitch_rad, 0.0));
        self.q = pitch * roll;
        self.heading = Heading::Levelling(tick);
        self.trusted = true;
    }

    fn level(&mut self, tick: u32, since: u32, measured: &Vec3) {
        let down = rotation::to_b(&self.q, &Vec3::z());
        let mut tilt = measured.cross(&down);
        tilt.z = 0.0;
        self.innovation_rad = math::sqrt(tilt.norm_squared());
        self.trusted = true;
        let gain = HORIZON_STEP_S / self.settings.level_time_s;
        self.q = rotation::turned(&self.q, &(tilt * gain));
        // Positive tilt error: the rates were taken too small, so the rate taken off was too large.
        self.level_rate_rad_s -= tilt * (gain / self.settings.level_rate_time_s);
        if since_s(tick, since) >= self.settings.heading_wait_s {
            self.read_heading(tick);
        }
    }

    /// Reads yaw from the direction of the orbital rate: in a level body it is −n(sin ψ, cos ψ).
    fn read_heading(&mut self, tick: u32) {
        let rate = self.level_rate_rad_s;
        let size = math::sqrt(rate.norm_squared());
        // Orbital rates of everything between 150 and 2,000 km; outside them something still turns.
        if !(size > 0.8e-3 && size < 1.25e-3 && self.innovation_rad < 2.0 * DEG) {
            return;
        }
        let yaw = math::atan2(-rate.x, -rate.y);
        self.q = rotation::renormalise(&(rotation::about_z(yaw) * self.q));
        self.heading = Heading::Known(tick);
        self.agreeing = self.settings.horizon_agree_samples;
        self.trusted = true;
    }

    fn correct(&mut self, tick: u32, since: u32, measured: &Vec3, place: &Place) {
        let (x, y) = place.horizon_tilt();
        let down = rotation::to_b(&self.q, &Vec3::new(x, y, 1.0));
        let mut tilt = measured.cross(&down);
        tilt.z = 0.0;
        self.innovation_rad = math::sqrt(tilt.norm_squared());
        // Until the compass has settled its own error tilts the estimate, so the gate is wider.
        let widen = if since_s(tick, since) < self.settings.settle_s { 6.0 } else { 1.0 };
        if self.innovation_rad > self.settings.horizon_gate_deg * DEG * widen {
            self.disagree(tick);
            return;
        }
        self.agreeing = self.agreeing.saturating_add(1);
        if self.agreeing < self.settings.horizon_agree_samples {
            return;
        }
        self.trusted = true;
        self.blend(&tilt, place);
    }

    fn blend(&mut self, tilt: &Vec3, place: &Place) {
        let s = &self.settings;
        let n = place.rate_rad_s;
        let tilt_rate = 1.0 / s.tilt_time_s;
        // Chosen so that the slow pole of s² + s/T + n(n + k) lies at 1/yaw_time.
        let compass = tilt_rate / (n * s.yaw_time_s) - n;
        // Ahead (the along-track direction) in body axes: a yaw error shows in the tilt about it.
        let ahead = rotation::to_b(&self.q, &Vec3::x());
        let about_ahead = tilt.x * ahead.x + tilt.y * ahead.y;
        let yaw = compass * about_ahead;
        let step = Vec3::new(tilt_rate * tilt.x, tilt_rate * tilt.y, yaw) * HORIZON_STEP_S;
        self.q = rotation::turned(&self.q, &step);
        if math::abs(ahead.y) < 0.2 {
            let learn = HORIZON_STEP_S / s.drift_time_s;
            let limit = s.drift_limit_deg_h * DEG / 3600.0;
            let pitch = self.drift_rad_s.y - learn * tilt_rate * tilt.y;
            let yaw = self.drift_rad_s.z - learn * yaw;
            self.drift_rad_s.y = math::clamp(pitch, -limit, limit);
            self.drift_rad_s.z = math::clamp(yaw, -limit, limit);
        }
    }

    /// A sample that cannot be used: hold on the gyros, and start over when that has lasted too long.
    fn disagree(&mut self, tick: u32) {
        if self.agreeing >= self.settings.horizon_agree_samples || self.trusted {
            self.doubt_since = tick;
        }
        self.agreeing = 0;
        self.trusted = false;
        if self.heading != Heading::Blind && since_s(tick, self.doubt_since) > self.settings.horizon_doubt_s {
            self.forget();
        }
    }
}

/// Seconds from `since` to `tick`.
fn since_s(tick: u32, since: u32) -> f32 {
    tick.wrapping_sub(since) as f32 / TICKS_PER_S as f32
}

/// Direction of the Earth's middle in body axes from measured roll and pitch.
fn nadir(sample: &HorizonSample) -> Vec3 {
    let (sin_roll, cos_roll) = math::sin_cos(sample.roll_rad);
    let (sin_pitch, cos_pitch) = math::sin_cos(sample.pitch_rad);
    Vec3::new(-sin_pitch, sin_roll * cos_pitch, cos_roll * cos_pitch)
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use crate::attitude::orbit::Ephemeris;

    fn place() -> Place {
        let ephemeris = Ephemeris {
            epoch_tick: 0,
            phase: 0,
            phase_per_tick: 527_000_000,
            half_acceleration_rad_s2: 0.0,
            inclination_rad: 1.5,
            radius_ratio2: 0.93,
        };
        ephemeris.place(0)
    }

    #[test]
    fn a_horizon_sensor_that_falls_silent_is_distrusted_and_then_given_up() {
        for heading in [Heading::Known(0), Heading::Levelling(0)] {
            let mut observer = Observer::new(ObserverSettings::default());
            let sample = HorizonSample { sequence: 1, locked: true, ..HorizonSample::default() };
            observer.horizon(0, &sample, &place());
            observer.heading = heading;
            observer.trusted = true;
            observer.horizon(SILENT_TICKS, &sample, &place());
            assert!(observer.trusted);
            observer.horizon(SILENT_TICKS + 1, &sample, &place());
            assert!(!observer.trusted && observer.heading == heading);
            let patience = (observer.settings.horizon_doubt_s as u32 + 1) * TICKS_PER_S;
            observer.horizon(SILENT_TICKS + 1 + patience, &sample, &place());
            assert_eq!(observer.heading, Heading::Blind);
        }
    }
}
