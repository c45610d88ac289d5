//! What the ground expects of the orbit: the prediction behind a load, and the on-board constants fitted to it.
//!
//! The ground does not know the true density of the air: it predicts with the standard one. What that costs
//! shows later as along-track error, as it would in flight.

use crate::world::{
    ephemeris::Ephemeris as Path,
    forces::Forces,
    frames::EarthRotation,
    gravity::GM_M3_S2,
    kepler::State,
    orbit::{Orbit, OrbitError},
};
use nalgebra::{Matrix3, Vector3};
use std::f64::consts::TAU;
use stillframe_controller::attitude::orbit::Ephemeris;

/// A predicted orbit over a run.
#[derive(Clone, Debug)]
pub struct Prediction {
    /// The path, to be read at any time of the run.
    pub path: Path,
    /// Earth rotation.
    pub earth: EarthRotation,
    /// What it was predicted with.
    forces: Forces,
}

/// Instants of the first revolution at which drag is looked at.
const LOOKS: u32 = 36;

impl Prediction {
    /// Predicts from the start of a run to its end.
    ///
    /// # Errors
    /// If the orbit comes down before.
    pub fn new(forces: Forces, start: State, earth: EarthRotation, duration_s: f64) -> Result<Self, OrbitError> {
        let orbit = Orbit::new(forces, start, 0.0, 10.0)?;
        Ok(Self { path: Path::predict(&orbit, duration_s)?, earth, forces })
    }

    /// Distance from the Earth's centre at the start, m.
    pub fn start_radius_m(&self) -> f64 {
        self.path.position_velocity(0.0).0.norm()
    }

    /// Mean motion at the start, rad/s, by the constants that the vehicle gets.
    pub fn mean_motion_rad_s(&self) -> f64 {
        f64::from(self.on_board().phase_per_tick) / 281_474_976_710_656.0 * TAU * 100.0
    }

    /// Fall of the semi-major axis in a revolution with this mean motion, m: 2a²/μ · v·a_drag (Gauss's equation) over the
    /// first one, or as much of it as was predicted.
    pub fn decay_per_rev_m(&self, mean_motion_rad_s: f64) -> f64 {
        let period_s = TAU / mean_motion_rad_s;
        let looked_s = period_s.min(self.path.span_s().1);
        let fall = |k: u32| {
            let (r, v) = self.path.position_velocity(looked_s * (f64::from(k) + 0.5) / f64::from(LOOKS));
            let (_, density) = self.forces.acceleration(&r, &v);
            let air = self.forces.air_velocity(&r, &v);
            let drag = air * (-0.5 * density * self.forces.drag_area_per_mass_m2_kg * air.norm());
            let a = 1.0 / (2.0 / r.norm() - v.norm_squared() / GM_M3_S2);
            2.0 * a * a / GM_M3_S2 * v.dot(&drag)
        };
        -(0..LOOKS).map(fall).sum::<f64>() * period_s / f64::from(LOOKS)
    }

    /// How far a place lies ahead of the predicted one along the track, m.
    pub fn ahead_m(&self, position_m: &Vector3<f64>, time_s: f64) -> f64 {
        let (r, v) = self.path.position_velocity(time_s);
        let along = v - r * (v.dot(&r) / r.norm_squared());
        position_m.dot(&along.normalize()).atan2(position_m.dot(&r.normalize())) * r.norm()
    }

    /// The orbit constants for the vehicle.
    pub fn on_board(&self) -> Ephemeris {
        on_board(&self.path)
    }
}

/// The orbit constants for a vehicle that is to follow a path: a parabola in time through the argument of latitude, by
/// least squares over the whole of it, with its epoch at tick 0.
pub fn on_board(path: &Path) -> Ephemeris {
    let (_, end_s) = path.span_s();
    let samples = sample_argument(path, end_s);
    let [at_start, rate, acceleration] = parabola(&samples);
    let (position, velocity) = path.position_velocity(0.0);
    let normal = position.cross(&velocity);
    let turns = (at_start / TAU).rem_euclid(1.0);
    let radius2 = mean(&samples, |sample| sample.radius_m.powi(2));
    Ephemeris {
        epoch_tick: 0,
        phase: (turns * 4_294_967_296.0) as u64 as u32,
        phase_per_tick: (rate * 0.01 / TAU * 281_474_976_710_656.0).round() as u32,
        half_acceleration_rad_s2: (0.5 * acceleration) as f32,
        inclination_rad: (normal.z / normal.norm()).acos() as f32,
        radius_ratio2: (crate::world::ellipsoid::A_M.powi(2) / radius2) as f32,
    }
}

struct Sample {
    time_s: f64,
    argument_rad: f64,
    radius_m: f64,
}

/// Argument of latitude, unwrapped, every minute.
fn sample_argument(path: &Path, end_s: f64) -> Vec<Sample> {
    let mut samples: Vec<Sample> = Vec::new();
    let count = (end_s / 60.0).floor().max(3.0) as usize;
    for index in 0..=count {
        let time_s = end_s * index as f64 / count as f64;
        let (r, v) = path.position_velocity(time_s);
        let normal = r.cross(&v).normalize();
        let node = Vector3::z().cross(&normal).normalize();
        let mut argument_rad = r.dot(&normal.cross(&node)).atan2(r.dot(&node));
        if let Some(last) = samples.last() {
            let step = (argument_rad - last.argument_rad).rem_euclid(TAU);
            argument_rad = last.argument_rad + step;
        }
        samples.push(Sample { time_s, argument_rad, radius_m: r.norm() });
    }
    samples
}

/// Least squares for u = u0 + n t + ½ a t².
fn parabola(samples: &[Sample]) -> [f64; 3] {
    let scale = samples.last().map_or(1.0, |last| last.time_s.max(1.0));
    let mut normal = Matrix3::zeros();
    let mut right = Vector3::zeros();
    for sample in samples {
        let t = sample.time_s / scale;
        let row = Vector3::new(1.0, t, 0.5 * t * t);
        normal += row * row.transpose();
        right += row * sample.argument_rad;
    }
    let solution = normal.lu().solve(&right).unwrap_or_else(Vector3::zeros);
    [solution.x, solution.y / scale, solution.z / (scale * scale)]
}

fn mean(samples: &[Sample], of: impl Fn(&Sample) -> f64) -> f64 {
    samples.iter().map(of).sum::<f64>() / samples.len().max(1) as f64
}
