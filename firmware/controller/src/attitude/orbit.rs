//! Where the vehicle is along its orbit, by the on-board clock.
//!
//! The ground sends an [`Ephemeris`] with each load. Everything that depends on place (the steering that
//! takes out crab, the correction for the oblate horizon, the orbital rate) comes from it; nothing on board
//! measures position.

use super::rotation::Vec3;
use crate::{io::TICK_S, math};

/// Earth's rotation rate, rad/s (IERS Conventions 2010, TN 36).
const EARTH_RATE_RAD_S: f32 = 7.292_115e-5;
/// Flattening of the WGS-84 ellipsoid (NGA.STND.0036).
const FLATTENING: f32 = 1.0 / 298.257_22;

/// Orbit constants sent from the ground.
///
/// The argument of latitude is a 32-bit fraction of a turn and its rate a fixed-point number, so that days
/// of flight lose no precision.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ephemeris {
    /// Tick at which the constants hold.
    pub epoch_tick: u32,
    /// Argument of latitude at the epoch, 2⁻³² turn.
    pub phase: u32,
    /// Rise of the argument of latitude per tick, 2⁻⁴⁸ turn.
    pub phase_per_tick: u32,
    /// Half the growth of the argument-of-latitude rate, rad/s²: decay makes it positive.
    pub half_acceleration_rad_s2: f32,
    /// Inclination, rad, 0…π.
    pub inclination_rad: f32,
    /// Square of (equatorial radius ÷ orbit radius), 0.02…1.
    pub radius_ratio2: f32,
}

impl Ephemeris {
    /// Lengths of the pole's direction and of the rates this gives at `tick`.
    pub fn place(&self, tick: u32) -> Place {
        // Signed, so that an epoch still to come, or a clock set back, is no half age of the Earth away.
        let ticks = tick.wrapping_sub(self.epoch_tick) as i32;
        let turned = (i64::from(ticks).wrapping_mul(i64::from(self.phase_per_tick)) >> 16) as u32;
        let seconds = ticks as f32 * TICK_S;
        let extra_rad = self.half_acceleration_rad_s2 * seconds * seconds;
        let phase = self.phase.wrapping_add(turned);
        // A signed fraction keeps the angle inside ±π, where f32 resolves 0.2 µrad.
        let angle_rad = (phase as i32) as f32 * (core::f32::consts::PI / 2_147_483_648.0) + extra_rad;
        let rate_rad_s = self.phase_per_tick as f32 * (core::f32::consts::TAU / 281_474_976_710_656.0 / TICK_S)
            + 2.0 * self.half_acceleration_rad_s2 * seconds;
        let (sin_u, cos_u) = math::sin_cos(angle_rad);
        let (sin_i, cos_i) = math::sin_cos(self.inclination_rad);
        Place { sin_u, cos_u, sin_i, cos_i, rate_rad_s, radius_ratio2: self.radius_ratio2 }
    }
}

/// Place along the orbit at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    sin_u: f32,
    cos_u: f32,
    sin_i: f32,
    cos_i: f32,
    /// Orbital rate, rad/s; the local orbital frame turns at this rate about its own −y.
    pub rate_rad_s: f32,
    radius_ratio2: f32,
}

impl Place {
    /// Yaw that lays body x along the track of the ground under the camera, rad, and its rate, rad/s.
    ///
    /// The ground at the sub-point moves, in the local orbital frame, with
    /// (−n + ω cos i, ω sin i cos u)·R (ω: Earth's rate), so the camera must be yawed by the angle of
    /// (n − ω cos i, −ω sin i cos u). The same closed form as the crab angle of vertical photography.
    pub fn crab(&self) -> (f32, f32) {
        let along = self.rate_rad_s - EARTH_RATE_RAD_S * self.cos_i;
        let across = -EARTH_RATE_RAD_S * self.sin_i * self.cos_u;
        let across_rate = EARTH_RATE_RAD_S * self.sin_i * self.sin_u * self.rate_rad_s;
        let angle_rad = math::atan2(across, along);
        let rate_rad_s = across_rate * along / (along * along + across * across);
        (angle_rad, rate_rad_s)
    }

    /// Direction of the horizon's middle against the Earth's centre: small x and y components in the local
    /// orbital frame.
    ///
    /// Seen from a satellite the oblate limb is lopsided; its middle is displaced toward the equator by
    /// f·(R/r)²·sin 2φ (φ: geocentric latitude). The form agrees with tangent rays to the WGS-84 ellipsoid
    /// within 0.3 %.
    pub fn horizon_tilt(&self) -> (f32, f32) {
        let k = 2.0 * FLATTENING * self.radius_ratio2 * self.sin_i * self.sin_u;
        (-k * self.sin_i * self.cos_u, k * self.cos_i)
    }

    /// Orbital rate in the local orbital frame, rad/s.
    pub fn orbital_rate(&self) -> Vec3 {
        Vec3::new(0.0, -self.rate_rad_s, 0.0)
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    fn polar_200_km() -> Ephemeris {
        // n of a 200 km circular orbit, 1.18335354654e-3 rad/s.
        let turns_per_tick = 1.183_353_546_54e-3 * 0.01 / core::f64::consts::TAU;
        Ephemeris {
            epoch_tick: 1000,
            phase: 0,
            phase_per_tick: (turns_per_tick * 281_474_976_710_656.0) as u32,
            half_acceleration_rad_s2: 0.0,
            inclination_rad: core::f32::consts::FRAC_PI_2,
            radius_ratio2: (6378.137_f32 / 6578.137).powi(2),
        }
    }

    #[test]
    fn crab_at_the_node_of_a_polar_orbit_is_the_handbook_angle() {
        // atan(ω sin i/(n − ω cos i)) = 3.526248° for i = 90°, 200 km; evaluated independently.
        let (angle, _) = polar_200_km().place(1000).crab();
        assert!((angle.to_degrees() + 3.526_248).abs() < 1e-4, "{}", angle.to_degrees());
    }

    #[test]
    fn before_its_epoch_the_place_is_as_far_behind_as_it_is_ahead_after_it() {
        let e = polar_200_km();
        let (before, after) = (e.place(0), e.place(2000));
        assert!((before.sin_u + after.sin_u).abs() < 1e-6 && (before.cos_u - after.cos_u).abs() < 1e-6);
        assert_eq!(before.rate_rad_s, after.rate_rad_s);
    }

    #[test]
    fn crab_rate_is_the_slope_of_the_crab_angle() {
        let e = polar_200_km();
        let at = |tick| e.place(tick).crab();
        let slope = (at(150_000).0 - at(140_000).0) / 100.0;
        assert!((at(145_000).1 - slope).abs() < 2e-7, "{} {slope}", at(145_000).1);
    }

    #[test]
    fn horizon_tilt_at_45_degrees_agrees_with_tangent_rays() {
        // Tangent rays to WGS-84 from r = 6578.137 km at 45° geocentric latitude: 0.180293° toward south
        // (root find; Wertz, Spacecraft Attitude Determination and Control, eq. 4-24, agrees).
        let mut e = polar_200_km();
        e.phase = 1 << 29; // 45°
        let (x, y) = e.place(1000).horizon_tilt();
        assert!((x.to_degrees() + 0.180_293).abs() < 6e-4, "{}", x.to_degrees());
        assert!(y.abs() < 1e-7);
    }

    #[test]
    fn six_days_lose_nothing() {
        let e = polar_200_km();
        let ticks = 6 * 86_400 * 100_u32;
        let exact = 1.183_353_546_54e-3_f64 * f64::from(ticks) * 0.01;
        let place = e.place(1000 + ticks);
        let angle = f64::from(place.sin_u).atan2(f64::from(place.cos_u));
        let error = (angle - exact).rem_euclid(core::f64::consts::TAU);
        let error = error.min(core::f64::consts::TAU - error);
        // The rate's own resolution, 2⁻⁴⁸ turn a tick, allows 1.2e-6 rad.
        assert!(error < 2e-6, "{error}");
    }
}
