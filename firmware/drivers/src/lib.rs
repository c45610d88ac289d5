#![no_std]
#![forbid(unsafe_code)]
//! Valves, film drive, shutter and sensor readers on embedded-hal 1.0 traits.
//!
//! Every line is drawn so that low is safe: valves and latches shut, shutter closed, brakes and clamp on (they are
//! released by power), motors without duty. A chip in reset, whose pins float and are pulled low, is a safe board.
//!
//! - [`outputs`]: what the flight code asks for, put on the lines in a safe order, and what was put there;
//! - [`edges`]: openings and closings inside a tick, in the order of their times;
//! - [`line`](mod@line): an output line that knows its level;
//! - [`film`]: motors, brakes, clamp and platen;
//! - [`inputs`]: encoders, horizon sensor and safing sense;
//! - [`ring`]: bytes between an interrupt and the main loop.

pub mod edges;
pub mod film;
pub mod inputs;
pub mod line;
pub mod outputs;
pub mod ring;
