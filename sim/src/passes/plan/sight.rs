//! When the camera looks at a place on the ground, and how far to the side.

use crate::{
    passes::{prediction::Prediction, required::Look},
    scenario::{Scenario, parts::camera::CameraKind},
    world::{Vec3, ellipsoid::Geodetic, frames::OrbitalFrame},
};

/// Steps of the search for the instant: each gains three digits or more.
const STEPS: usize = 8;
/// Steps towards the instant abeam: the Earth turns a little meanwhile, and the orbit is nearly round.
const ABEAM_STEPS: usize = 2;
/// To which the instant is found, s: 10 m on the ground.
const TOLERANCE_S: f64 = 1e-3;

/// A place as the camera passes it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seen {
    /// When the line across the track through the middle of the format passes it, s.
    pub time_s: f64,
    /// Tangent of its angle from straight down, positive to body +y (right of the track).
    pub across: f64,
}

/// The camera over a stretch of the predicted orbit, yawed as the vehicle will be.
#[derive(Clone, Copy, Debug)]
pub struct Sight<'a> {
    prediction: &'a Prediction,
    from_s: f64,
    to_s: f64,
    /// Yaw at the beginning, middle and end, rad.
    yaw_rad: [f64; 3],
}

impl<'a> Sight<'a> {
    /// Over a stretch of a few minutes: the yaw changes by less than a quarter of a degree a minute.
    pub fn over(look: &Look<'_>, prediction: &'a Prediction, from_s: f64, to_s: f64) -> Self {
        let yaw = |time_s: f64| look.motion(time_s).map_or(0.0, |motion| motion.yaw_to_align_rad);
        Self { prediction, from_s, to_s, yaw_rad: [yaw(from_s), yaw(0.5 * (from_s + to_s)), yaw(to_s)] }
    }

    /// Yaw at an instant, rad: the parabola through beginning, middle and end.
    pub fn yaw_rad(&self, time_s: f64) -> f64 {
        let [first, middle, last] = self.yaw_rad;
        let u = 2.0 * (time_s - self.from_s) / (self.to_s - self.from_s).max(1e-9) - 1.0;
        middle + 0.5 * (last - first) * u + (0.5 * (first + last) - middle) * u * u
    }

    /// When and where a place at [latitude, longitude], rad, and a height, m, is seen; `None` if not in this stretch.
    pub fn seen(&self, [latitude_rad, longitude_rad]: [f64; 2], height_m: f64) -> Option<Seen> {
        let fixed_m = Geodetic { latitude_rad, longitude_rad, height_m }.to_cartesian();
        // Near there the place runs through the picture nearly evenly: the secant closes in at once.
        let mut t0 = self.abeam_s(&fixed_m);
        let mut t1 = t0 + 1.0;
        let (mut u0, _) = self.image(&fixed_m, t0);
        for _ in 0..STEPS {
            let (u1, across) = self.image(&fixed_m, t1);
            if (t1 - t0).abs() < TOLERANCE_S {
                let inside = t1 >= self.from_s && t1 <= self.to_s;
                let inside = inside && self.above_horizon(&fixed_m, t1);
                return inside.then_some(Seen { time_s: t1, across });
            }
            let slope = (u1 - u0) / (t1 - t0);
            if slope.is_nan() || slope >= 0.0 {
                return None;
            }
            (t0, u0) = (t1, u1);
            t1 -= (u1 / slope).clamp(-120.0, 120.0);
        }
        None
    }

    /// When the vehicle passes abeam of a point, or the end of the stretch next to that, s. Along the track the angle at the
    /// Earth's centre grows evenly with time all the way round; the tangent in the picture does not beyond the horizons,
    /// where a large area's far side is.
    fn abeam_s(&self, fixed_m: &Vec3) -> f64 {
        let mut time_s = 0.5 * (self.from_s + self.to_s);
        for _ in 0..ABEAM_STEPS {
            let (position_m, velocity_m_s) = self.prediction.path.position_velocity(time_s);
            let frame = OrbitalFrame::from_state(&position_m, &velocity_m_s);
            let place_m = self.prediction.earth.to_inertial(time_s, fixed_m);
            let ahead_rad = place_m.dot(&frame.x).atan2(-place_m.dot(&frame.z));
            let rate_rad_s = position_m.cross(&velocity_m_s).norm() / position_m.norm_squared();
            time_s = (time_s + ahead_rad / rate_rad_s).clamp(self.from_s, self.to_s);
        }
        time_s
    }

    /// Whether the ground between does not hide a point.
    fn above_horizon(&self, fixed_m: &Vec3, time_s: f64) -> bool {
        let place_m = self.prediction.earth.to_inertial(time_s, fixed_m);
        (self.prediction.path.position(time_s) - place_m).dot(&place_m) > 0.0
    }

    /// Where a point at a tangent `across` from straight down lies on the ground, Earth-fixed, m.
    pub fn ground(&self, time_s: f64, across: f64, height_m: f64) -> Option<Vec3> {
        let (position_m, velocity_m_s) = self.prediction.path.position_velocity(time_s);
        let frame = OrbitalFrame::from_state(&position_m, &velocity_m_s);
        let (sine, cosine) = self.yaw_rad(time_s).sin_cos();
        let line = frame.x * (-sine * across) + frame.y * (cosine * across) + frame.z;
        let meets = crate::world::ellipsoid::ray_to_height(&position_m, &line, height_m)?;
        Some(self.prediction.earth.to_fixed(time_s, &meets))
    }

    /// Tangents along and across the track of a point's direction from straight down.
    fn image(&self, fixed_m: &Vec3, time_s: f64) -> (f64, f64) {
        let (position_m, velocity_m_s) = self.prediction.path.position_velocity(time_s);
        let frame = OrbitalFrame::from_state(&position_m, &velocity_m_s);
        let line = self.prediction.earth.to_inertial(time_s, fixed_m) - position_m;
        let (x, y, z) = (line.dot(&frame.x), line.dot(&frame.y), line.dot(&frame.z).max(1.0));
        let (sine, cosine) = self.yaw_rad(time_s).sin_cos();
        ((cosine * x + sine * y) / z, (cosine * y - sine * x) / z)
    }
}

/// Tangent of half the angle that the camera sees across the track.
pub fn half_field(scenario: &Scenario) -> f64 {
    match &scenario.camera.kind {
        CameraKind::Strip(_) | CameraKind::Frame(_) => {
            0.5 * scenario.camera.format_width_m / scenario.camera.focal_length_m
        }
        CameraKind::Sweep(sweep) => sweep.half_angle_rad.tan(),
    }
}
