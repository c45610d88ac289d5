//! Studies made on the ground before anything flies.

pub mod camera;
