//! Studies made on the ground before anything flies.

pub mod attitude;
pub mod camera;
pub mod day_plan;
pub mod film_rates;
