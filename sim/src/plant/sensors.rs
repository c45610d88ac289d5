//! Horizon sensor, rate gyros and gauges: what the controller is told instead of the truth.

use crate::noise::NoiseSource;
use nalgebra::Vector3;
use stillframe_controller::io::HorizonSample;

/// WGS-84 flattening and equatorial radius (NGA.STND.0036).
const FLATTENING: f64 = 1.0 / 298.257_223_563;
const EQUATOR_M: f64 = 6_378_137.0;

/// Rate gyros.
#[derive(Clone, Debug, PartialEq)]
pub struct GyroParameters {
    /// Constant drift, rad/s.
    pub drift_rad_s: Vector3<f64>,
    /// Angle random walk, rad/√s (IEEE Std 952 coefficient N).
    pub random_walk_rad_rts: f64,
    /// Slow drift: standard deviation (rad/s) and correlation time (s) of a first-order Gauss–Markov process.
    pub instability_rad_s: f64,
    /// Correlation time of the slow drift, s.
    pub instability_time_s: f64,
    /// Scale factor error of each gyro, –.
    pub scale_error: Vector3<f64>,
    /// Small rotation of the gyro block against the body, rad.
    pub misalignment_rad: Vector3<f64>,
    /// End of range, rad/s.
    pub range_rad_s: f64,
    /// Least step of the reading, rad/s; zero for none.
    pub quantum_rad_s: f64,
}

/// What is wrong with the gyros.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct GyroFaults {
    /// Added to each reading, rad/s.
    pub bias_rad_s: Vector3<f64>,
    /// Added to the scale factor error.
    pub scale_error: Vector3<f64>,
    /// Reads zero.
    pub dead: [bool; 3],
}

/// The three rate gyros.
#[derive(Clone, Debug)]
pub struct Gyros {
    parameters: GyroParameters,
    /// Faults in force.
    pub faults: GyroFaults,
    walk: NoiseSource,
    slow: NoiseSource,
    slow_drift: Vector3<f64>,
    slow_sample: u64,
    sample_s: f64,
}

/// Interval at which the slow drift moves, s.
const SLOW_STEP_S: f64 = 1.0;

impl Gyros {
    /// Gyros read every `sample_s`.
    pub fn new(parameters: GyroParameters, walk: NoiseSource, slow: NoiseSource, sample_s: f64) -> Self {
        let slow_drift = Vector3::from(slow.gaussian3(0)) * parameters.instability_rad_s;
        Self { parameters, faults: GyroFaults::default(), walk, slow, slow_drift, slow_sample: 0, sample_s }
    }

    /// Reading number `sample` for the true body rate.
    pub fn read(&mut self, sample: u64, rate_rad_s: &Vector3<f64>) -> [f32; 3] {
        self.move_slow_drift(sample);
        let p = &self.parameters;
        let noise = Vector3::from(self.walk.gaussian3(sample)) * (p.random_walk_rad_rts / self.sample_s.sqrt());
        let aligned = rate_rad_s + rate_rad_s.cross(&p.misalignment_rad);
        let scale = Vector3::repeat(1.0) + p.scale_error + self.faults.scale_error;
        let raw = aligned.component_mul(&scale) + p.drift_rad_s + self.slow_drift + self.faults.bias_rad_s + noise;
        let mut out = [0.0; 3];
        for axis in 0..3 {
            let cut = raw[axis].clamp(-p.range_rad_s, p.range_rad_s);
            let stepped = if p.quantum_rad_s > 0.0 { (cut / p.quantum_rad_s).round() * p.quantum_rad_s } else { cut };
            out[axis] = if self.faults.dead[axis] { 0.0 } else { stepped as f32 };
        }
        out
    }

    /// First-order Gauss–Markov process in exact discrete form.
    fn move_slow_drift(&mut self, sample: u64) {
        let wanted = (sample as f64 * self.sample_s / SLOW_STEP_S) as u64;
        while self.slow_sample < wanted {
            self.slow_sample += 1;
            let keep = (-SLOW_STEP_S / self.parameters.instability_time_s).exp();
            let fresh = self.parameters.instability_rad_s * (1.0 - keep * keep).sqrt();
            self.slow_drift = self.slow_drift * keep + Vector3::from(self.slow.gaussian3(self.slow_sample)) * fresh;
        }
    }
}

/// Horizon sensor.
#[derive(Clone, Debug, PartialEq)]
pub struct HorizonParameters {
    /// Noise of one sample, rad, 1σ.
    pub noise_rad: f64,
    /// Constant error in roll and pitch, rad.
    pub bias_rad: [f64; 2],
    /// Tilt beyond which an edge of the Earth is lost, rad.
    pub range_rad: f64,
    /// Whether the Earth's flattening displaces the limb.
    pub oblate: bool,
}

/// What is wrong with the horizon sensor.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HorizonFaults {
    /// Added to roll and pitch, rad.
    pub bias_rad: [f64; 2],
    /// Repeats its last sample.
    pub stuck: bool,
    /// Finds no Earth.
    pub lost: bool,
    /// Noise times this much more (0: as built).
    pub extra_noise: f64,
    /// Roll and pitch exchanged.
    pub swapped: bool,
    /// Roll and pitch with the wrong sign.
    pub reversed: bool,
}

/// Truth that the horizon sensor looks at.
#[derive(Clone, Copy, Debug)]
pub struct HorizonView {
    /// Direction of the Earth's centre, unit vector, body axes.
    pub down_body: Vector3<f64>,
    /// Direction of geographic north at the sub-point, unit vector, body axes.
    pub north_body: Vector3<f64>,
    /// Sine and cosine of geocentric latitude.
    pub latitude: (f64, f64),
    /// Distance from the Earth's centre, m.
    pub radius_m: f64,
}

/// The horizon sensor.
#[derive(Clone, Debug)]
pub struct Horizon {
    parameters: HorizonParameters,
    /// Faults in force.
    pub faults: HorizonFaults,
    noise: NoiseSource,
    last: HorizonSample,
}

impl Horizon {
    /// A sensor that has not sampled yet.
    pub fn new(parameters: HorizonParameters, noise: NoiseSource) -> Self {
        Self { parameters, faults: HorizonFaults::default(), noise, last: HorizonSample::default() }
    }

    /// Sample number `sample` (10 Hz).
    pub fn read(&mut self, sample: u64, view: &HorizonView) -> HorizonSample {
        let sequence = self.last.sequence.wrapping_add(1);
        if self.faults.stuck {
            self.last.sequence = sequence;
            return self.last;
        }
        let down = self.apparent_down(view);
        let (roll, pitch) = (down.y.atan2(down.z), (-down.x).clamp(-1.0, 1.0).asin());
        let locked = down.z > self.parameters.range_rad.cos() && !self.faults.lost;
        let [a, b, _] = self.noise.gaussian3(sample);
        let noise = self.parameters.noise_rad * (1.0 + self.faults.extra_noise);
        let bias = |axis: usize| self.parameters.bias_rad[axis] + self.faults.bias_rad[axis];
        let mut read = [(roll + bias(0) + noise * a) as f32, (pitch + bias(1) + noise * b) as f32];
        if self.faults.swapped {
            read.swap(0, 1);
        }
        if self.faults.reversed {
            read = read.map(|angle| -angle);
        }
        self.last = if locked {
            HorizonSample { sequence, locked, roll_rad: read[0], pitch_rad: read[1] }
        } else {
            HorizonSample { sequence, ..HorizonSample::default() }
        };
        self.last
    }

    /// Middle of the limb in body axes: the oblate Earth's is displaced toward the equator by
    /// f·(R/r)²·sin 2φ, which agrees with tangent rays to the WGS-84 ellipsoid within 0.3 %.
    fn apparent_down(&self, view: &HorizonView) -> Vector3<f64> {
        if !self.parameters.oblate {
            return view.down_body;
        }
        let (sin, cos) = view.latitude;
        let tilt = FLATTENING * (EQUATOR_M / view.radius_m).powi(2) * 2.0 * sin * cos;
        (view.down_body - view.north_body * tilt).normalize()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn view(down: Vector3<f64>) -> HorizonView {
        HorizonView { down_body: down, north_body: Vector3::x(), latitude: (0.0, 1.0), radius_m: 6.6e6 }
    }

    fn quiet_horizon() -> Horizon {
        let parameters = HorizonParameters { noise_rad: 0.0, bias_rad: [0.0; 2], range_rad: 0.6, oblate: true };
        Horizon::new(parameters, NoiseSource::new(1, 0, "horizon", 0))
    }

    #[test]
    fn turning_about_plus_x_reads_as_positive_roll() {
        let mut horizon = quiet_horizon();
        // A body turned by +0.1 rad about x sees the Earth's centre displaced toward +y.
        let sample = horizon.read(0, &view(Vector3::new(0.0, 0.1_f64.sin(), 0.1_f64.cos())));
        assert!(sample.locked && (sample.roll_rad - 0.1).abs() < 1e-6 && sample.pitch_rad.abs() < 1e-6);
        let sample = horizon.read(1, &view(Vector3::new(-(0.2_f64.sin()), 0.0, 0.2_f64.cos())));
        assert!((sample.pitch_rad - 0.2).abs() < 1e-6 && sample.sequence == 2);
    }

    #[test]
    fn the_earth_is_lost_beyond_the_range() {
        let mut horizon = quiet_horizon();
        assert!(!horizon.read(0, &view(Vector3::new(0.6, 0.0, 0.8))).locked);
    }
}
