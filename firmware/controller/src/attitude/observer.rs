//! Attitude from horizon sensor and gyros: roll and pitch, yaw by gyrocompass, gyro drift.
//!
//! The gyros carry the attitude forward; ten times a second the horizon sensor corrects roll and pitch a
//! little. A yaw error makes the vehicle's roll gyro feel a share of the orbital rate, the horizon sensor
//! then disagrees in roll, and that disagreement steers yaw: the orbital gyrocompass. Before the heading is
//! known at all, the observer *levels*: one sight of the Earth gives the direction down, gyros carry it on while the
//! vehicle still tumbles, and once level it learns the two horizontal parts of the orbital rate in body axes,
//! whose direction is the heading.

use super::{
    orbit::Place,
    rotation::{self, Quat, Vec3},
    settings::ObserverSettings,
    trust::{HORIZON_STEP_S, SILENT_TICKS, Trust, Verdict, since_s},
};
use crate::{
    io::{ATTITUDE_STEP_S, HorizonSample},
    math::{self, DEG},
};

/// Tilt below which the vehicle counts as level enough to learn the orbital rate, rad (5°).
const NEARLY_LEVEL_RAD: f32 = 0.087;
/// While levelling, gyros and horizon that part by more than this, smoothed over ten seconds, contradict each other:
/// the unlearned orbital rate alone gives 0.34° (0.067 °/s over `level_time_s`).
const CONTRADICTION_RAD: f32 = 0.022;
/// Drift that a pitch gyro may be credited with while it is learned anew, rad/s (100 °/h).
const LARGEST_DRIFT_RAD_S: f32 = 4.85e-4;
/// Memory of the compass' corrections, s.
const YAW_MEMORY_S: f32 = 1_800.0;
/// Time constants with which the horizon stands in for a roll or pitch gyro, and the compass for the yaw gyro, s.
const STAND_IN_S: f32 = 20.0;
const YAW_STAND_IN_S: f32 = 120.0;

/// How far the estimate has come.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Heading {
    /// No horizon since damping: nothing is known.
    Blind,
    /// The direction down is known; yaw is not. Nearly level since this tick.
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
    /// Standing of the horizon sensor.
    pub trust: Trust,
    /// Length of the last disagreement between horizon and estimate, rad.
    pub innovation_rad: f32,
    /// Yaw by which the compass has moved the estimate against the gyros in the last half hour or so, rad.
    pub yaw_moved_rad: f32,
    /// The orbital rate read while levelling was not of the size it should be.
    pub odd_rate: bool,
    /// Horizon and gyros contradict each other while levelling.
    pub contradiction: bool,
    /// What the last sample said of the rates: how far they are behind, rad about x, y and for z the yaw error's
    /// shadow in roll; none if no sample was used.
    lean: Option<Vec3>,
    level_rate_rad_s: Vec3,
    parting_rad: f32,
    sequence: u8,
    /// When the last sample came, and the last with a lock.
    heard_tick: u32,
    sample_tick: u32,
    settings: ObserverSettings,
}

/// What a horizon sample is taken in with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circumstances {
    /// Cycle, in base ticks.
    pub tick: u32,
    /// Gyros that the estimate has to do without.
    pub missing: [bool; 3],
    /// The vehicle levels itself: rates are slow enough to learn the orbital rate from.
    pub levelling: bool,
    /// Turned away on purpose: the sensor does not see the Earth, or not the way it should.
    pub turned_away: bool,
}

impl Observer {
    /// Knows nothing yet.
    pub fn new(settings: ObserverSettings) -> Self {
        Self {
            q: rotation::identity(),
            drift_rad_s: Vec3::zeros(),
            heading: Heading::Blind,
            trust: Trust::default(),
            innovation_rad: 0.0,
            yaw_moved_rad: 0.0,
            odd_rate: false,
            contradiction: false,
            lean: None,
            level_rate_rad_s: Vec3::zeros(),
            parting_rad: 0.0,
            sequence: 0,
            heard_tick: 0,
            sample_tick: 0,
            settings,
        }
    }

    /// Forgets attitude and heading (drift is kept).
    pub fn forget(&mut self) {
        self.heading = Heading::Blind;
        self.trust.forget();
        self.level_rate_rad_s = Vec3::zeros();
        self.q = rotation::identity();
        self.yaw_moved_rad = 0.0;
        (self.parting_rad, self.contradiction) = (0.0, false);
    }

    /// Carries the attitude over one attitude step with the gyros' rates (drift not yet taken off).
    pub fn propagate(&mut self, gyro_rad_s: &Vec3, place: &Place) {
        let relative = match self.heading {
            Heading::Blind => return,
            Heading::Levelling(_) => gyro_rad_s - self.level_rate_rad_s,
            Heading::Known(_) => gyro_rad_s - self.drift_rad_s - rotation::to_b(&self.q, &place.orbital_rate()),
        };
        self.q = rotation::turned(&self.q, &(relative * ATTITUDE_STEP_S));
    }

    /// Rate at which the body should turn in space to keep pointing, while the heading is unknown, rad/s.
    pub fn level_rate(&self) -> Vec3 {
        self.level_rate_rad_s
    }

    /// Roll and pitch of the body against the direction down, rad, by the shortest way: the turn to be undone.
    pub fn tilt(&self) -> Vec3 {
        tilt_of(&rotation::to_b(&self.q, &Vec3::z()))
    }

    /// What the last horizon sample said of the rates (see the field); taken once.
    pub fn take_lean(&mut self) -> Option<Vec3> {
        self.lean.take()
    }

    /// Takes in a horizon sample if it is a new one.
    pub fn horizon(&mut self, sample: &HorizonSample, place: &Place, now: &Circumstances) {
        let tick = now.tick;
        if now.turned_away {
            (self.sequence, self.heard_tick) = (sample.sequence, tick);
            self.trust.set_aside(tick);
            return;
        }
        if sample.sequence == self.sequence {
            if tick.wrapping_sub(self.heard_tick) > SILENT_TICKS {
                self.miss(tick);
            }
            return;
        }
        self.sequence = sample.sequence;
        self.heard_tick = tick;
        if !sample.locked {
            self.miss(tick);
            return;
        }
        self.sample_tick = tick;
        let measured = nadir(sample);
        match self.heading {
            Heading::Blind => self.start_levelling(tick, sample),
            Heading::Levelling(since) => self.level(since, &measured, place, now),
            Heading::Known(since) => self.correct(since, &measured, place, now),
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
        self.trust.begin(tick);
    }

    fn level(&mut self, since: u32, measured: &Vec3, place: &Place, now: &Circumstances) {
        let down = rotation::to_b(&self.q, &Vec3::z());
        let mut tilt = measured.cross(&down);
        tilt.z = 0.0;
        self.innovation_rad = math::sqrt(tilt.norm_squared());
        self.trust.begin(now.tick);
        let gain = HORIZON_STEP_S / self.settings.level_time_s;
        self.q = rotation::turned(&self.q, &(tilt * gain));
        if !now.levelling {
            self.heading = Heading::Levelling(now.tick);
            return;
        }
        self.parting_rad += (self.innovation_rad - self.parting_rad) * (HORIZON_STEP_S / 10.0);
        self.contradiction |= self.parting_rad > CONTRADICTION_RAD;
        if down.x * down.x + down.y * down.y > NEARLY_LEVEL_RAD * NEARLY_LEVEL_RAD {
            self.heading = Heading::Levelling(now.tick);
            return;
        }
        // Positive tilt error: the rates were taken too small, so the rate taken off was too large.
        self.level_rate_rad_s -= tilt * (gain / self.settings.level_rate_time_s);
        if since_s(now.tick, since) >= self.settings.heading_wait_s {
            self.read_heading(now.tick, place);
        }
    }

    /// Reads yaw from the direction of the orbital rate: in a level body it is −n(sin ψ, cos ψ).
    fn read_heading(&mut self, tick: u32, place: &Place) {
        let rate = self.level_rate_rad_s;
        let share = math::sqrt(rate.norm_squared()) / place.rate_rad_s.max(1e-4);
        // Something still turns, or what turns is not the orbit. A gyro with a wrong scale stays inside: the
        // direction is still good enough for the compass to begin with.
        if !(share > 0.6 && share < 1.5 && self.innovation_rad < 2.0 * DEG) {
            return;
        }
        self.odd_rate = !(share > 0.88 && share < 1.12);
        let yaw = math::atan2(-rate.x, -rate.y);
        let tilt = rotation::from_rotation_vector(&self.tilt());
        self.q = rotation::renormalise(&(rotation::about_z(yaw) * tilt));
        self.heading = Heading::Known(tick);
        self.trust.begin(tick);
        self.yaw_moved_rad = 0.0;
    }

    fn correct(&mut self, since: u32, measured: &Vec3, place: &Place, now: &Circumstances) {
        let (x, y) = place.horizon_tilt();
        let down = rotation::to_b(&self.q, &Vec3::new(x, y, 1.0));
        let mut tilt = measured.cross(&down);
        tilt.z = 0.0;
        self.innovation_rad = math::sqrt(tilt.norm_squared());
        // Until the compass has settled its own error tilts the estimate, so the gate is wider.
        let settled = since_s(now.tick, since) >= self.settings.settle_s;
        let gate_rad = self.settings.horizon_gate_deg * DEG * if settled { 1.0 } else { 6.0 };
        match self.trust.take(now.tick, &tilt, gate_rad, &self.settings) {
            Verdict::Use => {
                let most = 4.0 * gate_rad;
                let share = if self.innovation_rad > most { most / self.innovation_rad } else { 1.0 };
                self.blend(&(tilt * share), place, settled, now);
            }
            Verdict::Withhold => {}
            Verdict::Lost => self.give_up(),
        }
    }

    /// Forgets everything, a drift beyond belief too: it was learned from what is now given up.
    fn give_up(&mut self) {
        let limit = self.settings.drift_limit_deg_h * DEG / 3600.0;
        self.drift_rad_s.y = math::clamp(self.drift_rad_s.y, -limit, limit);
        self.forget();
    }

    fn blend(&mut self, tilt: &Vec3, place: &Place, settled: bool, now: &Circumstances) {
        let gains = self.gains(place, &now.missing);
        // Ahead (the along-track direction) in body axes: a yaw error shows in the tilt about it.
        let ahead = rotation::to_b(&self.q, &Vec3::x());
        let about_ahead = tilt.x * ahead.x + tilt.y * ahead.y;
        let yaw = gains.compass * about_ahead;
        let step = Vec3::new(gains.roll * tilt.x, gains.pitch * tilt.y, yaw) * HORIZON_STEP_S;
        self.q = rotation::turned(&self.q, &step);
        self.lean = Some(Vec3::new(tilt.x, tilt.y, about_ahead));
        if now.missing[2] {
            // Nothing but the compass tells yaw: it contradicts no gyro.
            self.yaw_moved_rad = 0.0;
        } else if settled {
            self.yaw_moved_rad += step.z - self.yaw_moved_rad * (HORIZON_STEP_S / YAW_MEMORY_S);
        }
        if math::abs(ahead.y) < 0.2 {
            self.learn_drift(tilt, yaw, &gains, now);
        }
    }

    fn gains(&self, place: &Place, missing: &[bool; 3]) -> Gains {
        let [no_roll, no_pitch, no_yaw] = *missing;
        let s = &self.settings;
        let n = place.rate_rad_s.max(1e-4);
        // A firmer hand while a gyro is learned anew.
        let tilt = if self.trust.creeping { 3.0 } else { 1.0 } / s.tilt_time_s;
        let stand_in = 3.0 / STAND_IN_S;
        // Chosen so that the slow pole of s² + s/T + n(n + k) lies at 1/yaw_time.
        let compass = 1.0 / (s.tilt_time_s * n * s.yaw_time_s) - n;
        Gains {
            roll: if no_roll { stand_in } else { if no_yaw { 3.0 / YAW_STAND_IN_S } else { tilt } },
            pitch: if no_pitch { stand_in } else { tilt },
            compass: if no_roll {
                // The compass is the roll gyro.
                0.0
            } else if no_yaw {
                3.0 / (YAW_STAND_IN_S * YAW_STAND_IN_S * n)
            } else {
                compass
            },
        }
    }

    fn learn_drift(&mut self, tilt: &Vec3, yaw: f32, gains: &Gains, now: &Circumstances) {
        let s = &self.settings;
        let [_, no_pitch, no_yaw] = now.missing;
        let limit = s.drift_limit_deg_h * DEG / 3600.0;
        if !no_pitch {
            let (time_s, most) = if self.trust.creeping {
                (0.06 * s.drift_time_s, LARGEST_DRIFT_RAD_S)
            } else {
                (s.drift_time_s, limit.max(math::abs(self.drift_rad_s.y)))
            };
            let pitch = self.drift_rad_s.y - HORIZON_STEP_S / time_s * gains.pitch * tilt.y;
            self.drift_rad_s.y = math::clamp(pitch, -most, most);
        }
        if !no_yaw {
            let yaw = self.drift_rad_s.z - HORIZON_STEP_S / s.drift_time_s * yaw;
            self.drift_rad_s.z = math::clamp(yaw, -limit, limit);
        }
    }

    /// A sample without lock, or none: hold on the gyros, and start over when that has lasted too long.
    fn miss(&mut self, tick: u32) {
        if self.heading != Heading::Blind && self.trust.miss(tick, &self.settings) == Verdict::Lost {
            self.forget();
        }
    }
}

/// Gains with which the horizon's disagreement is taken in, 1/s.
struct Gains {
    roll: f32,
    pitch: f32,
    compass: f32,
}

/// How much a rate and a disturbance move for each radian of lean of the gyro that is missing, per sample.
///
/// Roll and pitch: angle, rate and disturbance form s³ + 3s²/T + 3s/T² + 1/T³. Yaw: tilt, yaw and yaw rate form
/// the same with the orbital rate between the first two; the disturbance follows ten times slower.
pub fn stand_in(axis: usize, lean: &Vec3, place: &Place) -> (f32, f32) {
    let n = place.rate_rad_s.max(1e-4);
    let (t, lean_rad) = match axis {
        0 => (STAND_IN_S, lean.x),
        1 => (STAND_IN_S, lean.y),
        _ => (YAW_STAND_IN_S, lean.z),
    };
    let step = lean_rad * HORIZON_STEP_S;
    if axis < 2 {
        (3.0 / (t * t) * step, step / (t * t * t))
    } else {
        (step / (t * t * t * n), 0.1 * step / (t * t * t * t * n))
    }
}

/// The shortest turn that lays body z onto `down` (body axes), as the roll and pitch it has taken, rad.
fn tilt_of(down: &Vec3) -> Vec3 {
    let across = math::sqrt(down.x * down.x + down.y * down.y);
    if across < 1e-4 {
        // On its head every way is as short as any other: by roll, which has the least inertia.
        let roll = if down.z < 0.0 { core::f32::consts::PI } else { down.y };
        return Vec3::new(roll, -down.x, 0.0);
    }
    let share = math::atan2(across, down.z) / across;
    Vec3::new(down.y * share, -down.x * share, 0.0)
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
    use crate::{attitude::orbit::Ephemeris, io::TICKS_PER_S};

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

    fn at(tick: u32) -> Circumstances {
        Circumstances { tick, missing: [false; 3], levelling: true, turned_away: false }
    }

    #[test]
    fn a_horizon_sensor_that_falls_silent_is_distrusted_and_then_given_up() {
        for heading in [Heading::Known(0), Heading::Levelling(0)] {
            let mut observer = Observer::new(ObserverSettings::default());
            let sample = HorizonSample { sequence: 1, locked: true, ..HorizonSample::default() };
            observer.horizon(&sample, &place(), &at(0));
            observer.heading = heading;
            observer.horizon(&sample, &place(), &at(SILENT_TICKS));
            assert!(observer.trust.trusted);
            observer.horizon(&sample, &place(), &at(SILENT_TICKS + 1));
            assert!(!observer.trust.trusted && observer.heading == heading);
            let patience = (observer.settings.horizon_doubt_s as u32 + 1) * TICKS_PER_S;
            observer.horizon(&sample, &place(), &at(SILENT_TICKS + 1 + patience));
            assert_eq!(observer.heading, Heading::Blind);
        }
    }

    #[test]
    fn one_sight_of_the_earth_is_carried_on_by_the_gyros() {
        let mut observer = Observer::new(ObserverSettings::default());
        let seen = HorizonSample { sequence: 1, locked: true, roll_rad: 0.2, pitch_rad: 0.0 };
        observer.horizon(&seen, &place(), &at(0));
        // Half a radian about x, then a quarter of a turn about z: what was roll is pitch to the body now.
        for _ in 0..50 {
            observer.propagate(&Vec3::new(0.5, 0.0, 0.0), &place());
        }
        for _ in 0..50 {
            observer.propagate(&Vec3::new(0.0, 0.0, core::f32::consts::FRAC_PI_2), &place());
        }
        let tilt = observer.tilt();
        assert!((tilt - Vec3::new(0.0, -0.7, 0.0)).norm() < 2e-3, "{tilt}");
    }

    #[test]
    fn the_shortest_way_from_on_its_head_is_half_a_turn() {
        assert_eq!(tilt_of(&Vec3::new(0.0, 0.0, -1.0)).x, core::f32::consts::PI);
        let tilt = tilt_of(&Vec3::new(-0.6, 0.0, -0.8));
        assert!((tilt.y - 2.498).abs() < 1e-3 && tilt.x == 0.0, "{tilt}");
    }
}
