//! Orbits that stay up and come back.

use jiff::Timestamp;

use crate::scenario::Scenario;
use crate::scenario::parts::time::Utc;
use crate::scenario::read::context::Context;

/// Gravitational parameter of the Earth, m³/s² (WGS-84).
const GM_M3_S2: f64 = 3.986_004_418e14;
/// Equatorial radius, m (WGS-84).
const RADIUS_M: f64 = 6_378_137.0;
/// Lowest perigee above the equatorial radius, m: below, no orbit lasts a revolution.
const LOWEST_PERIGEE_M: f64 = 120_000.0;
/// Oldest element set, days: SGP4's error grows by kilometres a day.
const OLDEST_DAYS: f64 = 30.0;

/// Size of an orbit, for later checks.
#[derive(Clone, Copy, Debug)]
pub(super) struct Size {
    pub semi_major_axis_m: f64,
}

impl Size {
    /// Mean height, m.
    pub fn height_m(self) -> f64 {
        self.semi_major_axis_m - RADIUS_M
    }

    /// Ground speed under a circular orbit of that size, without the Earth's rotation, m/s.
    pub fn ground_speed_m_s(self) -> f64 {
        (GM_M3_S2 / self.semi_major_axis_m.powi(3)).sqrt() * RADIUS_M
    }
}

pub(super) fn check(scenario: &Scenario, element_set: Option<&sgp4::Elements>, cx: &mut Context) -> Option<Size> {
    let orbit = &scenario.orbit;
    if let Some(state) = &orbit.state {
        return from_state(&state.position_m, &state.velocity_m_s, cx);
    }
    if let Some(elements) = &orbit.elements {
        return judge("orbit.elements", elements.semi_major_axis_m, elements.eccentricity, cx);
    }
    let set = element_set?;
    epoch(set, scenario.run.start, cx);
    let mean_motion_rad_s = set.mean_motion * core::f64::consts::TAU / 86_400.0;
    judge("orbit.element_set", (GM_M3_S2 / mean_motion_rad_s.powi(2)).cbrt(), set.eccentricity, cx)
}

fn from_state(position_m: &[f64; 3], velocity_m_s: &[f64; 3], cx: &mut Context) -> Option<Size> {
    let key = "orbit.state";
    let position = nalgebra::Vector3::from(*position_m);
    let velocity = nalgebra::Vector3::from(*velocity_m_s);
    let radius = position.norm();
    if radius < RADIUS_M {
        let message = format!("{key}.position_km lies {:.1} km from the Earth's centre, inside it", radius / 1e3);
        let help = "Give the position in km from the Earth's centre, in TEME of the start.";
        cx.refuse(&format!("{key}.position_km"), message, "allowed: more than 6378.137 km from the centre", help);
        return None;
    }
    let energy = velocity.norm_squared() / 2.0 - GM_M3_S2 / radius;
    if energy >= 0.0 {
        let message = format!("{key} is a hyperbolic orbit: {:.3} km/s is escape speed or more", velocity.norm() / 1e3);
        let escape = (2.0 * GM_M3_S2 / radius).sqrt() / 1e3;
        let label = format!("allowed: slower than {escape:.3} km/s at this distance");
        let help = "The vehicle would not come back. Check that the velocity is inertial, in km/s.";
        cx.refuse(&format!("{key}.velocity_km_s"), message, label, help);
        return None;
    }
    let semi_major_axis = -GM_M3_S2 / (2.0 * energy);
    let momentum = position.cross(&velocity).norm();
    let eccentricity = (1.0 - momentum.powi(2) / (GM_M3_S2 * semi_major_axis)).max(0.0).sqrt();
    judge(key, semi_major_axis, eccentricity, cx)
}

fn judge(key: &str, semi_major_axis_m: f64, eccentricity: f64, cx: &mut Context) -> Option<Size> {
    let perigee_m = semi_major_axis_m * (1.0 - eccentricity) - RADIUS_M;
    if perigee_m >= LOWEST_PERIGEE_M {
        return Some(Size { semi_major_axis_m });
    }
    let message = format!("{key} has its perigee at {:.1} km", perigee_m / 1e3);
    let help = "Height of perigee is semi-major axis × (1 − eccentricity) − 6378.137 km. Lower down the air ends the \
                orbit within a revolution, and the models used here do not hold. Raise the orbit or make it rounder.";
    cx.refuse(key, message, "allowed: perigee at 120 km or more", help);
    None
}

fn epoch(set: &sgp4::Elements, start: Utc, cx: &mut Context) {
    let seconds = set.datetime.and_utc().timestamp();
    let Ok(epoch) = Timestamp::from_second(seconds) else {
        return;
    };
    let days = start.since_s(Utc(epoch)) / 86_400.0;
    if days.abs() > OLDEST_DAYS {
        let message = format!("orbit.element_set is of {epoch}, {:.1} days from the start of the run", days.abs());
        let help = "SGP4 loses kilometres a day. Use a fresher set, or move run.start to its epoch.";
        cx.refuse("orbit.element_set", message, format!("allowed: within {OLDEST_DAYS} days of run.start"), help);
    }
}
