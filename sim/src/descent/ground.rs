//! Places on the ground, and how far one lies from another.

use crate::world::Vec3;
use crate::world::ellipsoid::{Geodetic, meridian_radius_m, prime_vertical_radius_m};
use crate::world::frames::EarthRotation;

/// Direction that ground distances are told along, and the place they are told from.
///
/// Distances go along great circles of the normals, scaled by the ellipsoid's own radii at the origin: good to 1e-3
/// within 500 km and to a few parts in a thousand anywhere.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Along {
    /// Where offsets are counted from.
    pub origin: Geodetic,
    /// Direction of the track there, from north through east, rad.
    pub azimuth_rad: f64,
}

impl Along {
    /// East and north of a place, m.
    pub fn east_north_m(&self, place: &Geodetic) -> [f64; 2] {
        let (up, east, north) = axes(&self.origin);
        let there = place.up();
        let (e, n) = (there.dot(&east), there.dot(&north));
        let sine = e.hypot(n);
        if sine == 0.0 {
            return [0.0; 2];
        }
        let angle = sine.atan2(there.dot(&up));
        let (meridian, vertical) = self.radii_m();
        [vertical * angle * e / sine, meridian * angle * n / sine]
    }

    /// Along and across the track, m; across is positive to the right.
    pub fn offset_m(&self, place: &Geodetic) -> [f64; 2] {
        let [e, n] = self.east_north_m(place);
        let (s, c) = self.azimuth_rad.sin_cos();
        [e * s + n * c, e * c - n * s]
    }

    /// The place at an offset along and across.
    pub fn place(&self, [along_m, across_m]: [f64; 2]) -> Geodetic {
        let (s, c) = self.azimuth_rad.sin_cos();
        let (e, n) = (along_m * s + across_m * c, along_m * c - across_m * s);
        let (meridian, vertical) = self.radii_m();
        let (e, n) = (e / vertical, n / meridian);
        let angle = e.hypot(n);
        let (up, east, north) = axes(&self.origin);
        let there = if angle == 0.0 { up } else { up * angle.cos() + (east * e + north * n) * (angle.sin() / angle) };
        Geodetic { latitude_rad: there.z.clamp(-1.0, 1.0).asin(), longitude_rad: there.y.atan2(there.x), height_m: 0.0 }
    }

    fn radii_m(&self) -> (f64, f64) {
        (meridian_radius_m(self.origin.latitude_rad), prime_vertical_radius_m(self.origin.latitude_rad))
    }
}

fn axes(place: &Geodetic) -> (Vec3, Vec3, Vec3) {
    let up = place.up();
    let (s, c) = place.longitude_rad.sin_cos();
    let east = Vec3::new(-s, c, 0.0);
    (up, east, up.cross(&east))
}

/// The place below an inertial position.
pub fn below(position_m: &Vec3, t_s: f64, earth: &EarthRotation) -> Geodetic {
    Geodetic::from_cartesian(&earth.to_fixed(t_s, position_m))
}

/// Direction over the turning ground of an inertial velocity, from north through east, rad.
pub fn azimuth_rad(position_m: &Vec3, velocity_m_s: &Vec3, t_s: f64, earth: &EarthRotation) -> f64 {
    let over = earth.to_fixed(t_s, &earth.relative_velocity(position_m, velocity_m_s));
    let (_, east, north) = axes(&below(position_m, t_s, earth));
    over.dot(&east).atan2(over.dot(&north))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_and_its_offset_are_each_others_inverse() {
        let along = Along { origin: Geodetic::from_degrees(-41.0, 179.6, 0.0), azimuth_rad: 2.9 };
        for offset in [[0.0, 0.0], [12_345.0, -6_789.0], [-400_000.0, 90_000.0], [3e6, 1e6]] {
            let back = along.offset_m(&along.place(offset));
            assert!((back[0] - offset[0]).hypot(back[1] - offset[1]) < 1e-3, "{back:?} {offset:?}");
        }
    }

    /// WGS-84: a degree of latitude from 45° is 111.14 km, of longitude there 78.85 km (from the radii M = 6,367.4 km
    /// and N cos φ = 4,517.6 km of any table).
    #[test]
    fn a_degree_is_as_long_as_it_should_be() {
        let along = Along { origin: Geodetic::from_degrees(45.0, 10.0, 0.0), azimuth_rad: 0.0 };
        let north = along.offset_m(&Geodetic::from_degrees(46.0, 10.0, 0.0));
        assert!((north[0] - 111_140.0).abs() < 20.0 && north[1].abs() < 1e-6, "{north:?}");
        let east = along.offset_m(&Geodetic::from_degrees(45.0, 11.0, 0.0));
        assert!((east[1] - 78_850.0).abs() < 20.0, "{east:?}");
    }
}
