//! Osculating Keplerian elements and Cartesian states of closed orbits.
//!
//! Vallado, *Fundamentals of Astrodynamics and Applications*, ch. 2. Circular and equatorial
//! orbits leave angles undefined; then the argument of perigee is 0 (counted from the node) and
//! the node 0 (counted from x), and the other angles take up what is left.

use super::Vec3;
use super::gravity::GM_M3_S2;
use std::f64::consts::TAU;

/// Below this eccentricity perigee is taken to be at the node; below this sine of inclination the
/// node is taken to be at x. Rounding alone gives about 1e-15.
const UNDEFINED: f64 = 1e-11;

/// A position and velocity in inertial axes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// Position, m.
    pub position_m: Vec3,
    /// Velocity, m/s.
    pub velocity_m_s: Vec3,
}

/// Osculating elements of an ellipse.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Elements {
    /// Semi-major axis, m.
    pub semi_major_axis_m: f64,
    /// Eccentricity, [0, 1).
    pub eccentricity: f64,
    /// Inclination, rad, [0, π].
    pub inclination_rad: f64,
    /// Right ascension of the ascending node, rad.
    pub node_rad: f64,
    /// Argument of perigee, rad.
    pub perigee_rad: f64,
    /// True anomaly, rad.
    pub true_anomaly_rad: f64,
}

impl Elements {
    /// The Cartesian state on this ellipse.
    pub fn to_state(&self) -> State {
        let e = self.eccentricity;
        let p = self.semi_major_axis_m * (1.0 - e * e);
        let cos_nu = self.true_anomaly_rad.cos();
        let (sin_u, cos_u) = (self.perigee_rad + self.true_anomaly_rad).sin_cos();
        let (sin_w, cos_w) = self.perigee_rad.sin_cos();
        let (sin_o, cos_o) = self.node_rad.sin_cos();
        let (sin_i, cos_i) = self.inclination_rad.sin_cos();
        let node = Vec3::new(cos_o, sin_o, 0.0);
        let ahead = Vec3::new(-sin_o * cos_i, cos_o * cos_i, sin_i);
        let r = p / (1.0 + e * cos_nu);
        let speed = (GM_M3_S2 / p).sqrt();
        State {
            position_m: (node * cos_u + ahead * sin_u) * r,
            velocity_m_s: (node * -(sin_u + e * sin_w) + ahead * (cos_u + e * cos_w)) * speed,
        }
    }

    /// The ellipse through a state; `None` when the orbit is not closed or has no plane.
    pub fn from_state(state: &State) -> Option<Self> {
        let (r, v) = (&state.position_m, &state.velocity_m_s);
        let radius = r.norm_squared().sqrt();
        let h = r.cross(v);
        let h_norm = h.norm_squared().sqrt();
        let energy = 0.5 * v.norm_squared() - GM_M3_S2 / radius;
        if !(energy < 0.0 && h_norm > 0.0) {
            return None;
        }
        let w = h / h_norm;
        let sin_i = w.x.hypot(w.y);
        let node_rad = if sin_i < UNDEFINED { 0.0 } else { w.x.atan2(-w.y) };
        let (sin_o, cos_o) = node_rad.sin_cos();
        let node = Vec3::new(cos_o, sin_o, 0.0);
        let ahead = w.cross(&node);
        let e_vector = v.cross(&h) / GM_M3_S2 - r / radius;
        let eccentricity = e_vector.norm_squared().sqrt();
        let perigee_rad = if eccentricity < UNDEFINED { 0.0 } else { e_vector.dot(&ahead).atan2(e_vector.dot(&node)) };
        let latitude_argument = r.dot(&ahead).atan2(r.dot(&node));
        Some(Self {
            semi_major_axis_m: -GM_M3_S2 / (2.0 * energy),
            eccentricity,
            inclination_rad: sin_i.atan2(w.z),
            node_rad: node_rad.rem_euclid(TAU),
            perigee_rad: perigee_rad.rem_euclid(TAU),
            true_anomaly_rad: (latitude_argument - perigee_rad).rem_euclid(TAU),
        })
    }

    /// Distance of perigee from the Earth's centre, m.
    pub fn perigee_radius_m(&self) -> f64 {
        self.semi_major_axis_m * (1.0 - self.eccentricity)
    }

    /// Kepler period, s.
    pub fn period_s(&self) -> f64 {
        TAU * (self.semi_major_axis_m.powi(3) / GM_M3_S2).sqrt()
    }
}

/// True anomaly, rad, from mean anomaly, rad, and eccentricity below 1.
pub fn true_from_mean_rad(mean_rad: f64, eccentricity: f64) -> f64 {
    let e = eccentricity;
    let half = 0.5 * eccentric_from_mean_rad(mean_rad, e);
    2.0 * ((1.0 + e).sqrt() * half.sin()).atan2((1.0 - e).sqrt() * half.cos())
}

/// Eccentric anomaly, rad, from mean anomaly, rad: Kepler's equation E − e sin E = M.
///
/// Newton kept inside the bracket [M − e, M + e], so that it ends for every e below 1.
pub fn eccentric_from_mean_rad(mean_rad: f64, eccentricity: f64) -> f64 {
    let (mut low, mut high) = (mean_rad - eccentricity, mean_rad + eccentricity);
    let mut anomaly = mean_rad + eccentricity * mean_rad.sin();
    for _ in 0..60 {
        let excess = anomaly - eccentricity * anomaly.sin() - mean_rad;
        if excess > 0.0 {
            high = anomaly
        } else {
            low = anomaly
        }
        let newton = anomaly - excess / (1.0 - eccentricity * anomaly.cos());
        let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        if (next - anomaly).abs() <= 1e-15 * anomaly.abs().max(1.0) {
            return next;
        }
        anomaly = next;
    }
    anomaly
}
