//! What film and vehicle have to do for a still image, anywhere along a predicted or true orbit.
//!
//! One place for the planner and for those who check it: place below, light, image velocity at the format's
//! centre and over the format, and how fast all of it changes.

use super::areas;
use crate::{
    imaging::{
        Earth,
        camera::Camera,
        motion::{RequiredMotion, View, drift_m_s, required_motion},
        sample::TruthSample,
    },
    scenario::parts::ground::Area,
    world::{
        Vec3,
        ellipsoid::Geodetic,
        ephemeris::Ephemeris,
        frames::{EarthRotation, OrbitalFrame},
        sun::Sun,
        time::Utc,
        track::ground_point,
    },
};
use nalgebra::{UnitQuaternion, Vector2, Vector3};

/// Distance beyond an area's edge within which its ground height still counts, m.
pub const HEIGHT_REACH_M: f64 = 100e3;
/// Half of the interval over which rates of change are taken, s. What a third derivative adds over it is
/// below 1e-7 of the speed.
const HALF_S: f64 = 0.5;

/// A camera carried along an orbit, square to the local orbital frame but for a fixed tilt.
#[derive(Clone, Copy, Debug)]
pub struct Look<'a> {
    /// The orbit.
    pub path: &'a Ephemeris,
    /// The Earth's turning.
    pub earth: EarthRotation,
    /// Instant that times count from.
    pub start: Utc,
    /// The camera.
    pub camera: &'a Camera,
    /// Areas with ground heights of their own; elsewhere the ground is the ellipsoid.
    pub areas: &'a [Area],
    /// Roll and pitch of the line of sight from straight down, rad.
    pub tilt_rad: [f64; 2],
    /// Added to every ground height, m.
    pub relief_m: f64,
}

/// What is wanted at one instant.
#[derive(Clone, Copy, Debug)]
pub struct Required {
    /// When, s.
    pub time_s: f64,
    /// Point below.
    pub place: Geodetic,
    /// Elevation of the Sun there, rad.
    pub sun_elevation_rad: f64,
    /// Height of the ground used, m.
    pub ground_height_m: f64,
    /// Film speed, crab yaw, V/h with and without the orbital rate, range.
    pub motion: RequiredMotion,
}

impl Required {
    /// Film speed that keeps the image still at the centre, m/s.
    pub fn speed_m_s(&self) -> f64 {
        self.motion.film_speed_m_s
    }

    /// Yaw that lays the image along the film, rad.
    pub fn crab_rad(&self) -> f64 {
        self.motion.yaw_to_align_rad
    }
}

/// How fast it changes.
#[derive(Clone, Copy, Debug, Default)]
pub struct Changes {
    /// Film speed, m/s².
    pub speed_m_s2: f64,
    /// V/h seen by the camera, rad/s².
    pub v_over_h_rad_s2: f64,
    /// Crab yaw, rad/s.
    pub crab_rad_s: f64,
}

impl Look<'_> {
    /// Film speed and yaw at an instant; `None` if the camera looks past the Earth.
    pub fn motion(&self, time_s: f64) -> Option<RequiredMotion> {
        let (sample, height_m) = self.sample(time_s);
        required_motion(&View::new(&Earth::WGS84, &sample), self.camera.focal_length_m, height_m)
    }

    /// All that is wanted at an instant; `None` if the camera looks past the Earth.
    pub fn at(&self, time_s: f64) -> Option<Required> {
        let (sample, ground_height_m) = self.sample(time_s);
        let motion = required_motion(&View::new(&Earth::WGS84, &sample), self.camera.focal_length_m, ground_height_m)?;
        let sun = Sun::at(self.start.plus_seconds(time_s));
        Some(Required {
            time_s,
            place: ground_point(&sample.position_m, &self.earth, time_s),
            sun_elevation_rad: sun.elevation_below_rad(&sample.position_m),
            ground_height_m,
            motion,
        })
    }

    /// Rates of change, by central differences over a second.
    pub fn changes(&self, time_s: f64) -> Option<Changes> {
        let (before, after) = (self.motion(time_s - HALF_S)?, self.motion(time_s + HALF_S)?);
        let slope = |of: fn(&RequiredMotion) -> f64| (of(&after) - of(&before)) / (2.0 * HALF_S);
        Some(Changes {
            speed_m_s2: slope(|m| m.film_speed_m_s),
            v_over_h_rad_s2: slope(|m| m.v_over_h_rad_s),
            crab_rad_s: slope(|m| m.yaw_to_align_rad),
        })
    }

    /// Largest image velocity (along, across) left anywhere among the format's judged points when the centre
    /// stands still, m/s: the camera crabbed, film at the centre's speed, nothing else turning.
    pub fn left_over_format(&self, time_s: f64) -> Option<Vector2<f64>> {
        let (mut sample, height_m) = self.sample(time_s);
        let focal_m = self.camera.focal_length_m;
        let motion = required_motion(&View::new(&Earth::WGS84, &sample), focal_m, height_m)?;
        sample.attitude *= UnitQuaternion::from_axis_angle(&Vector3::z_axis(), motion.yaw_to_align_rad);
        let still = View::new(&Earth::WGS84, &sample);
        sample.rate_rad_s = *still.orbital_rate_rad_s();
        let view = View::new(&Earth::WGS84, &sample);
        let (points, count) = self.camera.points();
        let mut most = Vector2::zeros();
        for point in points.iter().take(count) {
            let left = drift_m_s(&view, focal_m, (point.x_m, point.y_m), height_m, motion.film_speed_m_s)?;
            most = most.sup(&left.abs());
        }
        Some(most)
    }

    /// The vehicle as it should be, and the height of the ground it looks at.
    fn sample(&self, time_s: f64) -> (TruthSample, f64) {
        let (position_m, velocity_m_s) = self.path.position_velocity(time_s);
        let sample = square(&position_m, &velocity_m_s, self.earth.angle_rad(time_s), time_s, self.tilt_rad);
        let place = ground_point(&position_m, &self.earth, time_s);
        let height_m = areas::ground_height_m(self.areas, place.latitude_rad, place.longitude_rad, HEIGHT_REACH_M);
        (sample, height_m + self.relief_m)
    }
}

/// A camera square to the local orbital frame, rolled and pitched by `tilt_rad`, film and body at rest.
pub fn square(
    position_m: &Vec3,
    velocity_m_s: &Vec3,
    earth_angle_rad: f64,
    time_s: f64,
    tilt_rad: [f64; 2],
) -> TruthSample {
    let [roll_rad, pitch_rad] = tilt_rad;
    let frame = OrbitalFrame::from_state(position_m, velocity_m_s);
    TruthSample {
        time_s,
        attitude: frame.quaternion() * UnitQuaternion::from_euler_angles(roll_rad, pitch_rad, 0.0),
        rate_rad_s: Vector3::zeros(),
        earth_angle_rad,
        film_speed_m_s: 0.0,
        position_m: *position_m,
        velocity_m_s: *velocity_m_s,
    }
}
