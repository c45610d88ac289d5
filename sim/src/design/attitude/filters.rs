//! Observer gains from the noise model: three small steady filters, and the times of the settings that stand for
//! their gains.

use super::{
    riccati::{RiccatiError, SteadyFilter, steady_filter},
    subject::Subject,
};
use nalgebra::{Matrix2, Vector2};

/// Share of a pulse's impulse that is not known beforehand: thrust and inertia within 5 %, common practice.
const PULSE_DOUBT: f64 = 0.05;
/// Deadband half-width and share of it used by a one-sided cycle, by which pulses are sized before either is known.
const USUAL_BAND_RAD: f64 = 5e-3;
const USUAL_FILL: f64 = 0.7;

/// Steady filters of a vehicle, and what they give.
#[derive(Clone, Debug, PartialEq)]
pub struct Filters {
    /// Pitch: tilt and gyro drift from the horizon sensor.
    pub pitch: SteadyFilter<2>,
    /// Roll and yaw: tilt and heading from the horizon sensor in roll.
    pub roll_yaw: SteadyFilter<2>,
    /// Rate and disturbance of each axis from its gyro.
    pub rates: [SteadyFilter<2>; 3],
    /// Blending time of the horizon sensor, s.
    pub tilt_time_s: f64,
    /// Time of the gyrocompass, s.
    pub yaw_time_s: f64,
    /// Time in which gyro drift is learned, s.
    pub drift_time_s: f64,
    /// Smoothing of the rates of each axis, s.
    pub rate_time_s: [f64; 3],
    /// Time in which each axis' disturbance is learned, s.
    pub disturbance_time_s: [f64; 3],
}

impl Filters {
    /// Filters of `subject`.
    ///
    /// # Errors
    /// If the noise model has no steady filter (a sensor without noise).
    pub fn of(subject: &Subject) -> Result<Self, RiccatiError> {
        let horizon_s = subject.horizon_sample_s;
        let pitch = tilt_and_drift(subject)?;
        let roll_yaw = roll_and_yaw(subject)?;
        let mut rates = [pitch; 3];
        for (axis, filter) in rates.iter_mut().enumerate() {
            *filter = rate_and_disturbance(subject, axis)?;
        }
        let tilt_time_s = horizon_s / roll_yaw.gain.x.max(pitch.gain.x);
        let n = subject.orbital_rate_rad_s;
        let compass_per_s = roll_yaw.gain.y.abs() / horizon_s;
        Ok(Self {
            tilt_time_s,
            // The law places its slow pole by s² + s/T + n(n + k), k the gain from tilt to heading.
            yaw_time_s: 1.0 / (n * tilt_time_s * (compass_per_s + n)),
            drift_time_s: horizon_s / (pitch.gain.y.abs() * tilt_time_s),
            rate_time_s: rates.map(|filter| subject.law_step_s / filter.gain.x),
            disturbance_time_s: rates.map(|filter| filter.gain.x / filter.gain.y.abs()),
            pitch,
            roll_yaw,
            rates,
        })
    }

    /// Standard deviation of the estimated roll (or pitch) from noise, rad.
    pub fn tilt_sigma_rad(&self) -> f64 {
        self.roll_yaw.after.m11.max(self.pitch.after.m11).sqrt()
    }

    /// Standard deviation of the estimated yaw from noise alone, rad. Standing errors (roll gyro drift over orbital
    /// rate, horizon bias) come on top and are larger.
    pub fn yaw_sigma_rad(&self) -> f64 {
        self.roll_yaw.after.m22.sqrt()
    }
}

/// Variance that an angle gathers from the gyros in `step_s`, rad².
fn walked_rad2(subject: &Subject, step_s: f64) -> f64 {
    subject.gyro_walk_rad_rts.powi(2) * step_s
}

fn tilt_and_drift(subject: &Subject) -> Result<SteadyFilter<2>, RiccatiError> {
    let step_s = subject.horizon_sample_s;
    // First-order Gauss–Markov drift looks like a walk of 2σ²/τ a second within its correlation time.
    let wander = 2.0 * subject.gyro_instability_rad_s.powi(2) / subject.gyro_instability_time_s * step_s;
    let noise = Matrix2::from_diagonal(&Vector2::new(walked_rad2(subject, step_s), wander));
    steady_filter(&Matrix2::new(1.0, -step_s, 0.0, 1.0), &Vector2::x(), &noise, subject.horizon_noise_rad.powi(2))
}

fn roll_and_yaw(subject: &Subject) -> Result<SteadyFilter<2>, RiccatiError> {
    let step_s = subject.horizon_sample_s;
    let (sin, cos) = (subject.orbital_rate_rad_s * step_s).sin_cos();
    let walked = walked_rad2(subject, step_s);
    let noise = Matrix2::from_diagonal(&Vector2::new(walked, walked));
    // φ' = nψ, ψ' = −nφ.
    steady_filter(&Matrix2::new(cos, sin, -sin, cos), &Vector2::x(), &noise, subject.horizon_noise_rad.powi(2))
}

fn rate_and_disturbance(subject: &Subject, axis: usize) -> Result<SteadyFilter<2>, RiccatiError> {
    let step_s = subject.law_step_s;
    let of = &subject.axes[axis];
    let inertia = of.jets.inertia_kg_m2;
    let met = &of.disturbance_nm;
    // Where next to nothing disturbs, a hundred-thousandth of the jets stands in, so that the filter stays awake.
    let torque_nm = met.magnitude_nm.max(1e-5 * of.jets.torque_nm);
    let change_nm = (met.largest_nm - met.mean_nm.abs()).max(0.2 * torque_nm);
    // The disturbance goes once through its range in a radian of the orbit; modelled as a walk of that strength.
    let wander = (change_nm / inertia).powi(2) * 2.0 * subject.orbital_rate_rad_s * step_s;
    // Pulses return what the disturbance brings, each with its own doubt.
    let excursion_rad = USUAL_FILL * 2.0 * USUAL_BAND_RAD;
    let pulse_nms = of.jets.impulse_for(torque_nm, excursion_rad).max(of.jets.torque_nm * of.least_pulse_s);
    let jolted = (PULSE_DOUBT * pulse_nms / inertia).powi(2) * torque_nm / pulse_nms * step_s;
    let noise = Matrix2::from_diagonal(&Vector2::new(jolted, wander));
    steady_filter(&Matrix2::new(1.0, step_s, 0.0, 1.0), &Vector2::x(), &noise, subject.gyro_noise_rad_s().powi(2))
}
