#![no_std]
#![forbid(unsafe_code)]
// Tests compare with the host's own functions on purpose.
#![cfg_attr(test, allow(clippy::disallowed_methods))]
//! Stillframe's flight code: attitude hold, film transport, shutter sequencing and the stored programme of a
//! film-return survey satellite, in one stepped machine without heap, clock or I/O.
//!
//! Whoever drives it (a simulator, a board's timer, a replay, a test) calls [`Controller::step`] with
//! what the sensors say and does what the [`io::Actuators`] ask at the next tick's boundary. It cannot tell
//! who is driving.
//!
//! In the order in which a sample travels:
//! - [`io`]: the boundary, [`io::Sensors`] and [`io::Actuators`];
//! - [`controller`]: the order of work in a tick;
//! - [`health`]: inputs checked, gas guarded, balances closed, flags;
//! - [`packet`]: space packets, in which loads come up and telemetry goes down;
//! - [`contact`]: which receiver listens, and what silence leads to;
//! - [`programme`]: loads from the ground and time-tagged commands;
//! - [`attitude`]: estimate, steering, switching law, jets;
//! - [`exposure`] and [`film`]: shutter sequence and film transport;
//! - [`ordnance`]: the way home, and what stands between the battery and a charge;
//! - [`keep`]: what survives a reset of the processor;
//! - [`telemetry`]: what the vehicle says of itself;
//! - [`settings`] and [`settings_table`]: every number that can be set, with unit, range and meaning;
//! - [`math`]: the only door to elementary functions.

#[cfg(all(feature = "planted-sneak-path", target_os = "none"))]
compile_error!("the planted sneak path is there for tests to find; no board is built with it");

pub mod attitude;
pub mod contact;
pub mod controller;
pub mod exposure;
pub mod film;
pub mod health;
pub mod io;
pub mod keep;
pub mod math;
pub mod ordnance;
pub mod packet;
pub mod programme;
pub mod settings;
pub mod settings_table;
pub mod telemetry;

pub use controller::Controller;
