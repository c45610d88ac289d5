//! The WGS-84 ellipsoid: geodetic ↔ Cartesian, heights, radii, lines of sight.
//!
//! Earth-fixed Cartesian axes: z north along the axis, x towards longitude 0 on the equator. As
//! the figure is symmetric about z, everything that gives no longitude works on inertial vectors
//! just as well.
//!
//! Figures: NGA.STND.0036, *World Geodetic System 1984*. Method: Bowring, *Survey Review* 23, 323
//! (1976) with the start of 28, 202 (1985); two passes reach rounding error from −10 km to
//! 50 000 km of height.

use super::{Vec3, length};

/// Semi-major axis, m.
pub const A_M: f64 = 6_378_137.0;
/// Flattening.
pub const F: f64 = 1.0 / 298.257_223_563;
/// Semi-minor axis, m.
pub const B_M: f64 = A_M * (1.0 - F);
/// First eccentricity squared.
pub const E2: f64 = F * (2.0 - F);
/// Second eccentricity squared.
pub const EP2: f64 = E2 / ((1.0 - F) * (1.0 - F));

/// A point by geodetic coordinates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Geodetic {
    /// Geodetic latitude, rad, north positive, ±π/2.
    pub latitude_rad: f64,
    /// Longitude, rad, east positive, (−π, π].
    pub longitude_rad: f64,
    /// Height above the ellipsoid, m.
    pub height_m: f64,
}

impl Geodetic {
    /// From degrees and metres, as people write them.
    pub fn from_degrees(latitude_deg: f64, longitude_deg: f64, height_m: f64) -> Self {
        Self { latitude_rad: latitude_deg.to_radians(), longitude_rad: longitude_deg.to_radians(), height_m }
    }

    /// Earth-fixed Cartesian position, m.
    pub fn to_cartesian(self) -> Vec3 {
        let (sin_lat, cos_lat) = self.latitude_rad.sin_cos();
        let (sin_lon, cos_lon) = self.longitude_rad.sin_cos();
        let n = A_M / (1.0 - E2 * sin_lat * sin_lat).sqrt();
        let p = (n + self.height_m) * cos_lat;
        Vec3::new(p * cos_lon, p * sin_lon, (n * (1.0 - E2) + self.height_m) * sin_lat)
    }

    /// From an Earth-fixed Cartesian position, m. Height from −10 km to 50 000 km.
    ///
    /// On the axis the longitude is 0 and the latitude ±90°.
    pub fn from_cartesian(position_m: &Vec3) -> Self {
        let meridian = Meridian::of::<2>(position_m);
        Self {
            latitude_rad: meridian.sin_lat.atan2(meridian.cos_lat),
            longitude_rad: position_m.y.atan2(position_m.x),
            height_m: meridian.height_m,
        }
    }

    /// Unit vector up, along the outward normal of the ellipsoid.
    pub fn up(self) -> Vec3 {
        let (sin_lat, cos_lat) = self.latitude_rad.sin_cos();
        let (sin_lon, cos_lon) = self.longitude_rad.sin_cos();
        Vec3::new(cos_lat * cos_lon, cos_lat * sin_lon, sin_lat)
    }
}

/// A point's place in its meridian plane, found without trigonometric functions.
struct Meridian {
    sin_lat: f64,
    cos_lat: f64,
    height_m: f64,
}

impl Meridian {
    #[inline]
    fn of<const PASSES: usize>(position_m: &Vec3) -> Self {
        let (x, y, z) = (position_m.x, position_m.y, position_m.z);
        let p = (x * x + y * y).sqrt();
        // Parametric latitude of the point below, by Bowring's second start, good at any height.
        let r = (p * p + z * z).sqrt();
        let (mut sin_b, mut cos_b) = unit(B_M * z * (r + EP2 * B_M), A_M * p * r);
        let (mut sin_lat, mut cos_lat) = (0.0, 1.0);
        for pass in 0..PASSES {
            if pass > 0 {
                (sin_b, cos_b) = unit((1.0 - F) * sin_lat, cos_lat);
            }
            (sin_lat, cos_lat) = unit(z + EP2 * B_M * sin_b * sin_b * sin_b, p - E2 * A_M * cos_b * cos_b * cos_b);
        }
        // This form keeps its digits at every latitude, poles included.
        let height_m = p * cos_lat + z * sin_lat - A_M * (1.0 - E2 * sin_lat * sin_lat).sqrt();
        Self { sin_lat, cos_lat, height_m }
    }
}

#[inline]
fn unit(s: f64, c: f64) -> (f64, f64) {
    let norm = (s * s + c * c).sqrt();
    if norm > 0.0 { (s / norm, c / norm) } else { (0.0, 1.0) }
}

/// Height above the ellipsoid of a Cartesian point, m. Inertial or Earth-fixed axes.
///
/// One pass of Bowring: the height is stationary in latitude, so what one pass leaves there costs
/// less than 0.1 µm from −10 km to 50 000 km.
#[inline]
pub fn height_m(position_m: &Vec3) -> f64 {
    Meridian::of::<1>(position_m).height_m
}

/// Unit vector along the outward normal of the ellipsoid through a Cartesian point.
///
/// Inertial or Earth-fixed axes; the answer is in the same ones. Geodetic nadir is its opposite.
pub fn up(position_m: &Vec3) -> Vec3 {
    let meridian = Meridian::of::<2>(position_m);
    let p = position_m.x.hypot(position_m.y);
    if p == 0.0 {
        return Vec3::new(0.0, 0.0, meridian.sin_lat);
    }
    let c = meridian.cos_lat / p;
    Vec3::new(c * position_m.x, c * position_m.y, meridian.sin_lat)
}

/// Distance of the surface from the Earth's centre at a geocentric latitude, m.
pub fn surface_radius_m(geocentric_latitude_rad: f64) -> f64 {
    let (s, c) = geocentric_latitude_rad.sin_cos();
    1.0 / ((c / A_M).powi(2) + (s / B_M).powi(2)).sqrt()
}

/// Radius of curvature in the meridian, m, at a geodetic latitude.
pub fn meridian_radius_m(latitude_rad: f64) -> f64 {
    let s = latitude_rad.sin();
    A_M * (1.0 - E2) / (1.0 - E2 * s * s).powf(1.5)
}

/// Radius of curvature in the prime vertical, m, at a geodetic latitude.
pub fn prime_vertical_radius_m(latitude_rad: f64) -> f64 {
    let s = latitude_rad.sin();
    A_M / (1.0 - E2 * s * s).sqrt()
}

/// Geodetic minus geocentric latitude of a surface point, rad, at a geodetic latitude.
pub fn latitude_difference_rad(latitude_rad: f64) -> f64 {
    let (s, c) = latitude_rad.sin_cos();
    latitude_rad - ((1.0 - E2) * s).atan2(c)
}

/// Where a ray first meets the surface of constant `height_m` above the ellipsoid.
///
/// `origin_m` must lie above that surface; `direction` need not be of unit length. Both in the
/// same axes, inertial or Earth-fixed; so is the answer, m. `None` when the ray misses or points
/// away. The surface of constant height is not an ellipsoid: the one with both axes lengthened by
/// the height (0.14 m off at 100 km) gives the start, Newton on the true height the rest,
/// to better than 1 µm of height.
pub fn ray_to_height(origin_m: &Vec3, direction: &Vec3, target_height_m: f64) -> Option<Vec3> {
    let d = direction / length(direction);
    let mut range_m = ray_to_ellipsoid(origin_m, &d, A_M + target_height_m, B_M + target_height_m)?;
    for _ in 0..12 {
        let point = origin_m + d * range_m;
        let excess_m = Meridian::of::<2>(&point).height_m - target_height_m;
        if excess_m.abs() < 1e-6 {
            return Some(point);
        }
        range_m -= excess_m / up(&point).dot(&d);
    }
    None // a grazing ray that touches the approximate surface but not the true one
}

/// Distance along a unit ray to the nearer crossing of an ellipsoid of revolution, m.
fn ray_to_ellipsoid(origin_m: &Vec3, d: &Vec3, a_m: f64, b_m: f64) -> Option<f64> {
    let scale = Vec3::new(1.0 / a_m, 1.0 / a_m, 1.0 / b_m);
    let o = origin_m.component_mul(&scale);
    let u = d.component_mul(&scale);
    let uu = u.norm_squared();
    let ou = o.dot(&u);
    let discriminant = ou * ou - uu * (o.norm_squared() - 1.0);
    if discriminant < 0.0 {
        return None;
    }
    let range_m = (-ou - discriminant.sqrt()) / uu;
    (range_m > 0.0).then_some(range_m)
}
