//! The vehicle itself, in f64: what the sensors measure and the actuators move.

pub mod body;
