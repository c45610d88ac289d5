//! Rotations between the inertial, Earth-fixed, local orbital and topocentric frames.
//!
//! Inertial: TEME of the run's start, held fixed. Earth-fixed: WGS-84. The conventions and what
//! they leave out are stated in [the module above](super).

use nalgebra::{Rotation3, UnitQuaternion};

use super::ellipsoid::Geodetic;
use super::time::{Utc, gmst_iau1982_rad};
use super::{Mat3, Vec3, length};

/// Rotation rate of the Earth against inertial axes, rad/s (WGS-84, NGA.STND.0036).
///
/// This is the rate against fixed axes. GMST itself grows faster by the precession in right
/// ascension, 7.1e-12 rad/s, because it is counted from the moving equinox.
pub const EARTH_RATE_RAD_S: f64 = 7.292_115e-5;

/// The Earth's rotation during a run: an angle at the start and a constant rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EarthRotation {
    /// Angle from the inertial to the Earth-fixed x axis at `t_s` = 0, rad.
    pub angle_at_start_rad: f64,
    /// Rate about +z, rad/s.
    pub rate_rad_s: f64,
}

impl EarthRotation {
    /// For a run that starts at `start`, given UT1 − UTC in s.
    pub fn at_start(start: Utc, ut1_minus_utc_s: f64) -> Self {
        Self { angle_at_start_rad: gmst_iau1982_rad(start.jd_ut1(ut1_minus_utc_s)), rate_rad_s: EARTH_RATE_RAD_S }
    }

    /// Angle from the inertial to the Earth-fixed x axis, rad, not wrapped.
    #[inline]
    pub fn angle_rad(&self, t_s: f64) -> f64 {
        self.angle_at_start_rad + self.rate_rad_s * t_s
    }

    /// The matrix that takes inertial to Earth-fixed components.
    pub fn matrix(&self, t_s: f64) -> Mat3 {
        let (s, c) = self.angle_rad(t_s).sin_cos();
        Mat3::new(c, s, 0.0, -s, c, 0.0, 0.0, 0.0, 1.0)
    }

    /// Inertial to Earth-fixed components.
    #[inline]
    pub fn to_fixed(&self, t_s: f64, v: &Vec3) -> Vec3 {
        let (s, c) = self.angle_rad(t_s).sin_cos();
        Vec3::new(c * v.x + s * v.y, c * v.y - s * v.x, v.z)
    }

    /// Earth-fixed to inertial components.
    #[inline]
    pub fn to_inertial(&self, t_s: f64, v: &Vec3) -> Vec3 {
        let (s, c) = self.angle_rad(t_s).sin_cos();
        Vec3::new(c * v.x - s * v.y, c * v.y + s * v.x, v.z)
    }

    /// Velocity relative to the turning Earth, in inertial components, m/s.
    ///
    /// Position and velocity are inertial, m and m/s. Turned by [`Self::to_fixed`] it becomes the
    /// Earth-fixed velocity.
    #[inline]
    pub fn relative_velocity(&self, position_m: &Vec3, velocity_m_s: &Vec3) -> Vec3 {
        let w = self.rate_rad_s;
        Vec3::new(velocity_m_s.x + w * position_m.y, velocity_m_s.y - w * position_m.x, velocity_m_s.z)
    }
}

/// The local orbital frame: unit vectors of its axes in inertial components.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OrbitalFrame {
    /// Along track: horizontal, in the orbit plane, forward.
    pub x: Vec3,
    /// Opposite the orbit normal.
    pub y: Vec3,
    /// Towards the Earth's centre.
    pub z: Vec3,
}

impl OrbitalFrame {
    /// From an inertial position and velocity that are not parallel.
    pub fn from_state(position_m: &Vec3, velocity_m_s: &Vec3) -> Self {
        let z = -position_m / length(position_m);
        let h = position_m.cross(velocity_m_s);
        let y = -h / length(&h);
        Self { x: y.cross(&z), y, z }
    }

    /// The frame as a quaternion that turns its components into inertial ones.
    pub fn quaternion(&self) -> UnitQuaternion<f64> {
        // The columns are orthonormal by construction; nalgebra's general conversion would iterate to make sure.
        UnitQuaternion::from_rotation_matrix(&Rotation3::from_matrix_unchecked(self.to_inertial()))
    }

    /// The matrix that takes local orbital to inertial components (columns x, y, z).
    pub fn to_inertial(&self) -> Mat3 {
        Mat3::from_columns(&[self.x, self.y, self.z])
    }

    /// The matrix that takes inertial to local orbital components.
    pub fn from_inertial(&self) -> Mat3 {
        self.to_inertial().transpose()
    }

    /// The frame's own rate against inertial axes, in its own components, rad/s.
    ///
    /// `acceleration_m_s2` is the inertial acceleration of the vehicle. The y component is minus
    /// the orbital rate; the z component is the turning of the orbit plane, which the J2 pull
    /// makes up to 0.4 °/h at 220 km: small beside 243 °/h, yet as large as a good gyro's drift.
    pub fn rate_rad_s(position_m: &Vec3, velocity_m_s: &Vec3, acceleration_m_s2: &Vec3) -> Vec3 {
        let h = position_m.cross(velocity_m_s);
        let h2 = h.norm_squared();
        let r2 = position_m.norm_squared();
        let about_normal = h2.sqrt() / r2;
        // dh/dt lies in the orbit plane when the pull leaves it: the plane turns about r.
        let about_radius = r2.sqrt() * acceleration_m_s2.dot(&h) / h2;
        Vec3::new(0.0, -about_normal, -about_radius)
    }
}

/// East, north and up at a point of the ellipsoid, in Earth-fixed components.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Topocentric {
    /// Where the axes start, Earth-fixed, m.
    pub origin_m: Vec3,
    /// Unit vector east.
    pub east: Vec3,
    /// Unit vector north.
    pub north: Vec3,
    /// Unit vector up, the outward normal of the ellipsoid.
    pub up: Vec3,
}

impl Topocentric {
    /// At a geodetic point.
    pub fn at(point: Geodetic) -> Self {
        let (sin_lon, cos_lon) = point.longitude_rad.sin_cos();
        let up = point.up();
        let east = Vec3::new(-sin_lon, cos_lon, 0.0);
        Self { origin_m: point.to_cartesian(), east, north: up.cross(&east), up }
    }

    /// Elevation of a direction (Earth-fixed, any length) above the horizontal plane, rad.
    pub fn elevation_rad(&self, direction: &Vec3) -> f64 {
        (direction.dot(&self.up) / length(direction)).clamp(-1.0, 1.0).asin()
    }

    /// Azimuth of a direction (Earth-fixed, any length), rad in [0, 2π), north 0, east π/2.
    pub fn azimuth_rad(&self, direction: &Vec3) -> f64 {
        direction.dot(&self.east).atan2(direction.dot(&self.north)).rem_euclid(std::f64::consts::TAU)
    }
}
