//! From the height of the orbit to what moves across the film.

use crate::world::ellipsoid::A_M;
use crate::world::gravity::GM_M3_S2;

/// A round orbit over a round Earth that stands still: what sizes a camera. The Earth's turning is left to yaw and
/// film rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Height {
    /// Height above the equator's radius, m.
    pub altitude_m: f64,
    /// Angular rate of the ground seen from a vehicle that keeps looking down, `n·R/h`, rad/s: `V/h` less the orbital
    /// rate it turns at.
    pub v_over_h_rad_s: f64,
    /// Speed of the point below over the ground, `n·R`, m/s.
    pub ground_speed_m_s: f64,
}

impl Height {
    /// At a height, m.
    pub fn new(altitude_m: f64) -> Self {
        let radius_m = A_M + altitude_m;
        let ground_speed_m_s = (GM_M3_S2 / radius_m).sqrt() / radius_m * A_M;
        Self { altitude_m, v_over_h_rad_s: ground_speed_m_s / altitude_m, ground_speed_m_s }
    }

    /// Speed of the image, m/s.
    pub fn image_speed_m_s(&self, focal_length_m: f64) -> f64 {
        focal_length_m * self.v_over_h_rad_s
    }

    /// Ground covered by a length on film, m.
    pub fn ground_m(&self, focal_length_m: f64, on_film_m: f64) -> f64 {
        on_film_m * self.altitude_m / focal_length_m
    }
}
