//! What the ground knows of where the vehicle is.
//!
//! Nothing but its own prediction, until a station has tracked the vehicle through a minute of one contact: a prediction
//! made anew is then as good as `[planning]` says of the first (common practice: ranging gives the place, the contacts
//! before it the period). Until the next one what is known grows old along the track.

use crate::{
    passes::{plan::uncertainty::Uncertainty, prediction::Prediction},
    scenario::parts::plan::Planning,
};
use nalgebra::Vector3;

/// The prediction made before the run, and how fast any prediction grows old.
#[derive(Clone, Debug)]
pub struct PlaceKnown {
    prediction: Prediction,
    growth: Uncertainty,
}

impl PlaceKnown {
    /// From what `[planning]` says of the orbit.
    pub fn new(planning: &Planning, prediction: &Prediction) -> Self {
        Self { prediction: prediction.clone(), growth: Uncertainty::new(planning, prediction) }
    }

    /// How far a place is ahead of the one predicted before the run, m along the track.
    pub fn ahead_m(&self, position_m: &Vector3<f64>, time_s: f64) -> f64 {
        self.prediction.ahead_m(position_m, time_s)
    }

    /// One sigma along the track of a prediction this old, m.
    pub fn sigma_m(&self, age_s: f64) -> f64 {
        self.growth.along_track(age_s).sum_m()
    }
}
