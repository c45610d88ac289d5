//! Circular orbits over a sphere or WGS-84, with a camera that tracks the local orbital frame.

use nalgebra::{Matrix3, Rotation3, UnitQuaternion, Vector3};
use stillframe::imaging::Earth;
use stillframe::imaging::camera::Camera;
use stillframe::imaging::frame::FrameInfo;
use stillframe::imaging::motion::{RequiredMotion, View, required_motion};
use stillframe::imaging::sample::{Exposure, Opening, TruthSample};
use stillframe::imaging::smear::GroundHeight;

pub const RADIUS_M: f64 = 6_378_137.0;
pub const GM: f64 = 3.986_004_418e14;
pub const EARTH_RATE_RAD_S: f64 = 7.292_115e-5;

/// A sphere that does not turn.
pub const STILL_SPHERE: Earth = Earth { equatorial_radius_m: RADIUS_M, polar_radius_m: RADIUS_M, rate_rad_s: 0.0 };

/// A sphere that turns.
pub const SPHERE: Earth = Earth { rate_rad_s: EARTH_RATE_RAD_S, ..STILL_SPHERE };

/// A camera on a circular orbit, at a constant roll, pitch and yaw from the local orbital frame.
#[derive(Clone, Copy, Debug)]
pub struct Flight {
    pub radius_m: f64,
    pub inclination_rad: f64,
    pub argument_rad: f64,
    pub mean_motion_rad_s: f64,
    pub roll_rad: f64,
    pub pitch_rad: f64,
    pub yaw_rad: f64,
    /// Body rate on top of the local orbital frame's, applied about t = 0, rad/s.
    pub extra_rate_rad_s: Vector3<f64>,
    pub film_speed_m_s: f64,
}

impl Flight {
    pub fn at(height_m: f64, inclination_deg: f64) -> Self {
        let radius_m = RADIUS_M + height_m;
        Self {
            radius_m,
            inclination_rad: inclination_deg.to_radians(),
            argument_rad: 0.0,
            mean_motion_rad_s: (GM / radius_m.powi(3)).sqrt(),
            roll_rad: 0.0,
            pitch_rad: 0.0,
            yaw_rad: 0.0,
            extra_rate_rad_s: Vector3::zeros(),
            film_speed_m_s: 0.0,
        }
    }

    pub fn truth(&self, time_s: f64) -> TruthSample {
        let u = self.argument_rad + self.mean_motion_rad_s * time_s;
        let (si, ci) = self.inclination_rad.sin_cos();
        let radial = Vector3::new(u.cos(), ci * u.sin(), si * u.sin());
        let forward = Vector3::new(-u.sin(), ci * u.cos(), si * u.cos());
        // x along track, y opposite the orbit normal, z down.
        let frame = Matrix3::from_columns(&[forward, -radial.cross(&forward), -radial]);
        let local = UnitQuaternion::from_rotation_matrix(&Rotation3::from_matrix_unchecked(frame));
        let turn = |axis: Vector3<f64>, angle: f64| UnitQuaternion::from_scaled_axis(axis * angle);
        let offset =
            turn(Vector3::x(), self.roll_rad) * turn(Vector3::y(), self.pitch_rad) * turn(Vector3::z(), self.yaw_rad);
        let drifted = offset * UnitQuaternion::from_scaled_axis(self.extra_rate_rad_s * time_s);
        let attitude = local * drifted;
        let orbital = -self.mean_motion_rad_s * Vector3::y();
        TruthSample {
            time_s,
            position_m: radial * self.radius_m,
            velocity_m_s: forward * (self.radius_m * self.mean_motion_rad_s),
            attitude,
            rate_rad_s: drifted.inverse_transform_vector(&orbital) + self.extra_rate_rad_s,
            earth_angle_rad: 0.3 + EARTH_RATE_RAD_S * time_s,
            film_speed_m_s: self.film_speed_m_s,
        }
    }

    pub fn required(&self, earth: &Earth, focal_length_m: f64) -> RequiredMotion {
        required_motion(&View::new(earth, &self.truth(0.0)), focal_length_m, 0.0).unwrap()
    }

    /// The same flight with yaw and film speed as the image asks.
    pub fn compensated(mut self, earth: &Earth, focal_length_m: f64) -> Self {
        let required = self.required(earth, focal_length_m);
        self.yaw_rad += required.yaw_to_align_rad;
        self.film_speed_m_s = required.film_speed_m_s;
        self
    }

    /// An exposure of the given length about t = 0.
    pub fn exposure(&self, length_s: f64) -> Exposure {
        self.exposure_about(0.0, length_s)
    }

    pub fn exposure_about(&self, middle_s: f64, length_s: f64) -> Exposure {
        let opening = Opening::Slit { width_m: self.film_speed_m_s.abs() * length_s };
        let (start_s, end_s) = (middle_s - 0.5 * length_s, middle_s + 0.5 * length_s);
        Exposure::sampled(start_s, end_s, opening, |time_s| self.truth(time_s))
    }

    /// Sun at an elevation above the ground straight below.
    pub fn frame_info(&self, sun_elevation_deg: f64) -> FrameInfo {
        let up = self.truth(0.0).position_m.normalize();
        let east = Vector3::z().cross(&up).normalize();
        let (s, c) = sun_elevation_deg.to_radians().sin_cos();
        FrameInfo {
            number: 7,
            height: GroundHeight::default(),
            sun_direction: up * s + east * c,
            scene: Default::default(),
            whole: true,
        }
    }
}

/// The 600 mm camera of the outside checks.
pub fn camera_600() -> Camera {
    Camera { focal_length_m: 0.6, format_width_m: 0.2, ..Camera::default() }
}

#[track_caller]
pub fn close(actual: f64, expected: f64, relative: f64) {
    let error = (actual - expected).abs();
    assert!(
        error <= relative * expected.abs(),
        "{actual} is not {expected} (relative error {:.2e}, allowed {relative:.0e})",
        error / expected.abs()
    );
}

#[track_caller]
pub fn within(actual: f64, expected: f64, absolute: f64) {
    assert!((actual - expected).abs() <= absolute, "{actual} is not {expected} within {absolute:e}");
}
