//! How far off a predicted place, and the time of being there, may be.
//!
//! Three things move the vehicle along its track against the prediction, in closed form after N revolutions:
//!
//! - its place at the start;
//! - an error δa of the semi-major axis: 3π·N·δa (the period goes as a^1.5: each revolution of 2πa is late by 1.5·δa/a
//!   of itself);
//! - an error of the air's density by a share p: 1.5π·N²·p·Δa with Δa the fall of the semi-major axis in a revolution (the
//!   same with δa growing evenly: half of 3π·N²). 15 % over 16 revolutions with Δa of 230 m make 42 km.
//!
//! Across the track the prediction is better by orders of magnitude and counts as exact.

use crate::{passes::prediction::Prediction, scenario::parts::plan::Planning};
use std::f64::consts::{PI, TAU};

/// One-sigma figures at the start, and how they grow.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Uncertainty {
    /// Sigmas that times are padded by.
    pub sigmas: f64,
    /// Place along the track at the start, one sigma, m.
    pub along_track_m: f64,
    /// Semi-major axis at the start, one sigma, m.
    pub semi_major_axis_m: f64,
    /// Density of the air, one sigma, as a share.
    pub density: f64,
    /// Rate of the clock, one sigma, as a share.
    pub clock_drift: f64,
    /// Fall of the semi-major axis in a revolution, m.
    pub decay_per_rev_m: f64,
    /// Mean motion, rad/s.
    pub mean_motion_rad_s: f64,
    /// Orbit radius, m.
    pub radius_m: f64,
}

/// What the along-track uncertainty is made of, one sigma each, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AlongTrack {
    /// From the place at the start.
    pub place_m: f64,
    /// From the semi-major axis.
    pub period_m: f64,
    /// From the air's density.
    pub density_m: f64,
}

impl AlongTrack {
    /// All together, m: independent of each other.
    pub fn sum_m(&self) -> f64 {
        (self.place_m.powi(2) + self.period_m.powi(2) + self.density_m.powi(2)).sqrt()
    }
}

impl Uncertainty {
    /// From a scenario's planning and the orbit that the ground predicts.
    pub fn new(planning: &Planning, prediction: &Prediction) -> Self {
        let mean_motion_rad_s = prediction.mean_motion_rad_s();
        Self {
            sigmas: planning.sigmas,
            along_track_m: planning.along_track_m,
            semi_major_axis_m: planning.semi_major_axis_m,
            density: planning.density,
            clock_drift: planning.clock_drift,
            decay_per_rev_m: prediction.decay_per_rev_m(mean_motion_rad_s),
            mean_motion_rad_s,
            radius_m: prediction.start_radius_m(),
        }
    }

    /// Along the track at a time, one sigma.
    pub fn along_track(&self, time_s: f64) -> AlongTrack {
        let revolutions = time_s.max(0.0) * self.mean_motion_rad_s / TAU;
        AlongTrack {
            place_m: self.along_track_m,
            period_m: 3.0 * PI * revolutions * self.semi_major_axis_m,
            density_m: 1.5 * PI * revolutions.powi(2) * self.density * self.decay_per_rev_m,
        }
    }

    /// Of the clock at a time, one sigma, s.
    pub fn clock_s(&self, time_s: f64) -> f64 {
        self.clock_drift * time_s.max(0.0)
    }

    /// Of the moment at which the vehicle is over a place, by its own clock, one sigma, s.
    pub fn time_s(&self, time_s: f64) -> f64 {
        let speed_m_s = self.mean_motion_rad_s * self.radius_m;
        let track_s = if speed_m_s > 0.0 { self.along_track(time_s).sum_m() / speed_m_s } else { 0.0 };
        track_s.hypot(self.clock_s(time_s))
    }

    /// Time by which something planned at `time_s` is begun early and ended late, s.
    pub fn padding_s(&self, time_s: f64) -> f64 {
        self.sigmas * self.time_s(time_s)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn only(along_track_m: f64, semi_major_axis_m: f64, density: f64, clock_drift: f64) -> Uncertainty {
        Uncertainty {
            sigmas: 3.0,
            along_track_m,
            semi_major_axis_m,
            density,
            clock_drift,
            decay_per_rev_m: 232.0,
            mean_motion_rad_s: TAU / 5_350.0,
            radius_m: 6.613e6,
        }
    }

    /// Worked by hand: 1.5π · 16² · 0.15 · 232 m = 41.98 km; 3π · 16 · 10 m = 1.508 km; 1.2 ppm of a day 0.104 s.
    #[test]
    fn growth_is_the_closed_form() {
        let t = 16.0 * 5_350.0;
        assert!((only(0.0, 0.0, 0.15, 0.0).along_track(t).sum_m() - 41_984.0).abs() < 5.0);
        assert!((only(0.0, 10.0, 0.0, 0.0).along_track(t).sum_m() - 1_508.0).abs() < 0.5);
        assert!((only(0.0, 0.0, 0.0, 1.2e-6).time_s(86_400.0) - 0.103_68).abs() < 1e-9);
        // 500 m at 7766 m/s, three sigma.
        assert!((only(500.0, 0.0, 0.0, 0.0).padding_s(t) - 0.193_1).abs() < 1e-3);
    }

    #[test]
    fn parts_add_as_squares_and_never_shrink() {
        let all = only(500.0, 10.0, 0.15, 1.2e-6);
        let times: Vec<f64> = (0..50).map(|k| all.time_s(f64::from(k) * 1_800.0)).collect();
        assert!(times.windows(2).all(|pair| pair[1] >= pair[0]));
        assert_eq!(only(3.0, 0.0, 0.0, 0.0).along_track(1e5).sum_m(), 3.0);
    }
}
