//! The plant: what the vehicle and its surroundings really do.
//!
//! [`Plant::sensors`] gives what the sensors say at a tick's boundary; [`Plant::tick`] takes what the
//! controller asked for and moves everything on by 10 ms. Nothing else passes between the two.
//!
//! - [`body`]: rigid body, one fourth-order step between torque edges;
//! - [`jets`] and [`gas`]: valves with delays, gas on its way to the nozzles, thrust, tank;
//! - [`film`]: reels, roller, drives, shutter;
//! - [`sweep`]: what turns a panoramic camera's line of sight;
//! - [`sensors`]: gyros and horizon sensor;
//! - [`torque`]: air, sunlight and magnetic field on the vehicle;
//! - [`mass`]: mass properties as film and gas move;
//! - [`ledger`]: the momentum balance;
//! - [`faults`]: what goes wrong, and when.

pub mod body;
pub mod faults;
pub mod film;
pub mod gas;
pub mod jets;
pub mod ledger;
pub mod mass;
pub mod ordnance;
pub mod power;
pub mod sensors;
pub mod sweep;
pub mod torque;
mod vehicle;

pub use vehicle::{Plant, PlantError, PlantParameters, TICK_S, Truth};
