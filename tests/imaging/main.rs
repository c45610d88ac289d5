//! Imaging against values from outside the project, and against its own invariants.
//!
//! Constants of the outside checks: R = 6378.137 km, GM = 398600.4418 km³/s², ω = 7.292115e-5 rad/s.

mod design_numbers;
mod finite_difference;
mod frame;
mod light;
mod motion;
mod picture;
mod property;
mod resolution;
mod setup;
mod smear;
mod speed;
mod sweep;
