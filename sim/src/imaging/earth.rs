//! The Earth as a line of sight meets it: figure and spin, both free to choose.
//!
//! `world::ellipsoid` knows one Earth. The closed forms that imaging is checked against hold for a sphere, or for an
//! Earth that does not turn, so that here the figure is a parameter.

use crate::world::{ellipsoid, frames::EARTH_RATE_RAD_S};
use nalgebra::Vector3;

/// Figure and spin of the Earth as the imaging side needs them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Earth {
    /// Equatorial radius, m.
    pub equatorial_radius_m: f64,
    /// Polar radius, m.
    pub polar_radius_m: f64,
    /// Spin about +z, rad/s.
    pub rate_rad_s: f64,
}

impl Earth {
    /// WGS-84, as `world` has it.
    pub const WGS84: Self =
        Self { equatorial_radius_m: ellipsoid::A_M, polar_radius_m: ellipsoid::B_M, rate_rad_s: EARTH_RATE_RAD_S };

    /// First point where the ray `origin + s·direction`, `s > 0`, meets the ellipsoid whose axes are
    /// `height_m` longer, all in Earth-fixed axes. `None` when it misses or the origin is inside.
    ///
    /// That ellipsoid and the true surface of constant height differ by less than `height·f²` (2 cm at 1.5 km).
    pub fn meet(&self, origin_m: &Vector3<f64>, direction: &Vector3<f64>, height_m: f64) -> Option<Vector3<f64>> {
        let (a, b) = self.axes(height_m);
        let scale = |v: &Vector3<f64>| Vector3::new(v.x / a, v.y / a, v.z / b);
        let (o, d) = (scale(origin_m), scale(direction));
        let (dd, od, excess) = (d.norm_squared(), o.dot(&d), o.norm_squared() - 1.0);
        // Discriminant by the cross product: no cancellation of od² against |o|²·|d|².
        let discriminant = dd - o.cross(&d).norm_squared();
        if !(discriminant >= 0.0 && excess > 0.0 && od < 0.0) {
            return None;
        }
        // The near root, written so that it does not subtract two large numbers.
        let range = excess / (-od + discriminant.sqrt());
        Some(origin_m + direction * range)
    }

    /// Unit normal of the ellipsoid through an Earth-fixed point at `height_m`.
    pub fn normal(&self, point_m: &Vector3<f64>, height_m: f64) -> Vector3<f64> {
        let (a, b) = self.axes(height_m);
        Vector3::new(point_m.x / (a * a), point_m.y / (a * a), point_m.z / (b * b)).normalize()
    }

    fn axes(&self, height_m: f64) -> (f64, f64) {
        (self.equatorial_radius_m + height_m, self.polar_radius_m + height_m)
    }
}
