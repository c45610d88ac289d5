//! The true vehicle: what sensors look at and actuators push on.

pub mod film;
