//! The smear that was allowed for, to stand beside the smear that was.

use nalgebra::Vector2;
use serde::{Deserialize, Serialize};

use super::camera::Camera;

/// Allowances, each 3σ or a bound, that make up a camera's smear budget; vibration is the camera's own.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Serialize)]
pub struct Budget {
    /// Film's mean speed off the image's, as a ratio.
    pub film_rate: f64,
    /// Film's unevenness about its mean, as a ratio.
    pub film_uneven: f64,
    /// Roll rate beyond the local orbital frame's, rad/s.
    pub roll_rate_rad_s: f64,
    /// Pitch rate likewise, rad/s.
    pub pitch_rate_rad_s: f64,
    /// Yaw off the one that lays image motion along the film, rad.
    pub yaw_rad: f64,
    /// Ground above or below the height that the film-rate programme assumed, m.
    pub relief_m: f64,
}

impl Default for Budget {
    /// The demonstration's: film 1 % and 0.5 %, rates 0.02 and 0.01 °/s, yaw 0.7°, relief 1.5 km.
    fn default() -> Self {
        Self {
            film_rate: 0.01,
            film_uneven: 0.005,
            roll_rate_rad_s: 0.02_f64.to_radians(),
            pitch_rate_rad_s: 0.01_f64.to_radians(),
            yaw_rad: 0.7_f64.to_radians(),
            relief_m: 1_500.0,
        }
    }
}

impl Budget {
    /// Smear allowed (along, across) at the format's centre, root of the sum of squares without vibration, m:
    /// what the frame's own smear, which is told without it too, may come to.
    ///
    /// `image_m_s` is the speed of the image at the centre, `range_m` the distance to the ground.
    pub fn smear_m(&self, camera: &Camera, image_m_s: f64, exposure_s: f64, range_m: f64) -> Vector2<f64> {
        let travel_m = image_m_s * exposure_s;
        let turn_m = camera.focal_length_m * exposure_s;
        let along = [
            travel_m * self.film_rate,
            travel_m * self.film_uneven,
            turn_m * self.pitch_rate_rad_s,
            travel_m * self.relief_m / range_m,
        ];
        let across = [turn_m * self.roll_rate_rad_s, travel_m * self.yaw_rad.sin()];
        let root = |parts: &[f64]| parts.iter().map(|part| part * part).sum::<f64>().sqrt();
        Vector2::new(root(&along), root(&across))
    }
}
