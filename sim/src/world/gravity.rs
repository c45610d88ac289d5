//! The Earth's pull: point mass with the zonal harmonics J2, J3 and J4.
//!
//! Zonal terms do not depend on longitude, so inertial axes serve as long as their z axis is the
//! Earth's. Left out: sectoral and tesseral terms (some hundreds of metres in low orbit, from
//! memory; they move the picture, not the smear), Sun and Moon.

use super::{Vec3, length};

/// Gravitational parameter with the atmosphere, m³/s² (WGS-84, NGA.STND.0036).
pub const GM_M3_S2: f64 = 3.986_004_418e14;
/// Radius that goes with the harmonics, m. EGM96 uses 6 378 136.3 m; the WGS-84 semi-major axis
/// differs by 1.1e-7, far below the accuracy claimed here, and keeps one radius everywhere.
pub const REFERENCE_RADIUS_M: f64 = 6_378_137.0;
/// J2 = −√5·C̄20 of EGM96 (tide free; Lemoine et al., NASA/TP-1998-206861).
pub const J2: f64 = 1.082_626_683_553e-3;
/// J3 = −√7·C̄30 of EGM96, C̄30 = 0.957 254 173 792e-6.
pub const J3: f64 = -2.532_656_485_33e-6;
/// J4 = −3·C̄40 of EGM96, C̄40 = 0.539 873 863 789e-6.
pub const J4: f64 = -1.619_621_591_367e-6;

/// A zonal field. [`Zonal::EGM96`] is the one flown; tests take terms away.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zonal {
    /// Gravitational parameter, m³/s².
    pub gm_m3_s2: f64,
    /// Reference radius, m.
    pub radius_m: f64,
    /// Unnormalised zonal coefficient of degree 2.
    pub j2: f64,
    /// Unnormalised zonal coefficient of degree 3.
    pub j3: f64,
    /// Unnormalised zonal coefficient of degree 4.
    pub j4: f64,
}

impl Zonal {
    /// EGM96 coefficients with the WGS-84 gravitational parameter.
    pub const EGM96: Self = Self { gm_m3_s2: GM_M3_S2, radius_m: REFERENCE_RADIUS_M, j2: J2, j3: J3, j4: J4 };

    /// The same without harmonics.
    pub const POINT_MASS: Self = Self { j2: 0.0, j3: 0.0, j4: 0.0, ..Self::EGM96 };

    /// Acceleration, m/s², at an inertial or Earth-fixed position, m, in the same axes.
    ///
    /// Gradient of the potential below; with u = z/r it splits into a part along r and one along z.
    #[inline]
    pub fn acceleration_m_s2(&self, position_m: &Vec3) -> Vec3 {
        let r2 = position_m.norm_squared();
        let inverse_r = 1.0 / r2.sqrt();
        let u = position_m.z * inverse_r;
        let u2 = u * u;
        let q = self.radius_m * inverse_r;
        let (c2, c3, c4) = (self.j2 * q * q, self.j3 * q * q * q, self.j4 * q * q * q * q);
        let pull = self.gm_m3_s2 * inverse_r * inverse_r;
        // With P_n' the derivative: radial −1 + Σ c_n[(n+1)P_n + u·P_n'] = −1 + Σ c_n·P'_(n+1),
        // axial −Σ c_n·P_n'.
        let radial =
            -1.0 + c2 * (7.5 * u2 - 1.5) + c3 * u * (17.5 * u2 - 7.5) + c4 * ((39.375 * u2 - 26.25) * u2 + 1.875);
        let axial = -(c2 * 3.0 * u + c3 * (7.5 * u2 - 1.5) + c4 * u * (17.5 * u2 - 7.5));
        let along_r = pull * radial * inverse_r;
        Vec3::new(along_r * position_m.x, along_r * position_m.y, along_r * position_m.z + pull * axial)
    }

    /// Potential energy per unit mass, J/kg, negative, at a position, m.
    pub fn potential_j_kg(&self, position_m: &Vec3) -> f64 {
        let r = length(position_m);
        let u = position_m.z / r;
        let u2 = u * u;
        let q = self.radius_m / r;
        let p2 = 0.5 * (3.0 * u2 - 1.0);
        let p3 = 0.5 * u * (5.0 * u2 - 3.0);
        let p4 = ((35.0 * u2 - 30.0) * u2 + 3.0) / 8.0;
        let sum = self.j2 * q * q * p2 + self.j3 * q.powi(3) * p3 + self.j4 * q.powi(4) * p4;
        -self.gm_m3_s2 / r * (1.0 - sum)
    }

    /// Energy per unit mass of a free orbit, J/kg; constant without drag.
    pub fn energy_j_kg(&self, position_m: &Vec3, velocity_m_s: &Vec3) -> f64 {
        0.5 * velocity_m_s.norm_squared() + self.potential_j_kg(position_m)
    }

    /// First-order secular rates from J2 for mean elements (Kozai, *Astron. J.* 64, 367, 1959).
    pub fn secular_rates(&self, a_m: f64, e: f64, inclination_rad: f64) -> SecularRates {
        let n = (self.gm_m3_s2 / a_m.powi(3)).sqrt();
        let p = a_m * (1.0 - e * e);
        let k = 1.5 * n * self.j2 * (self.radius_m / p).powi(2);
        let (s, c) = inclination_rad.sin_cos();
        SecularRates { node_rad_s: -k * c, perigee_rad_s: 0.5 * k * (4.0 - 5.0 * s * s) }
    }
}

/// How fast the mean node and perigee move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SecularRates {
    /// Right ascension of the ascending node, rad/s.
    pub node_rad_s: f64,
    /// Argument of perigee, rad/s.
    pub perigee_rad_s: f64,
}
