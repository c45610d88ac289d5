//! The way home: eight charges in order, and what stands between the battery and each of them.
//!
//! Five inhibits, held in separate places, stand in series before every charge. The first two lie outside this processor,
//! which can read but not remove them:
//!
//! | inhibit | where | removed by |
//! | --- | --- | --- |
//! | contacts | carrier's loop, and for the capsule the vehicle's: in the firing path | leaving the carrier, leaving the vehicle |
//! | recovery battery | its switch | the receiver's own decoder, on an order that never passes through here |
//! | arming relay | its coil | two orders, the second with the token that telemetry echoed; for a while |
//! | line and commit switch | two outputs | the event being next by three sources, and asked for |
//! | the moment | readings | film sealed, attitude and rates in their limits; spin; time and deceleration |
//!
//! - [`event`]: the chain; [`order`]: what the ground can say; [`arming`], [`place`], [`readiness`], [`chute`]: one
//!   inhibit each; [`fire`]: the proofs, and what only they can make;
//! - [`sequencer`]: the stepped machine, one for the vehicle's computer and one for the capsule's;
//! - [`vehicle`] and [`capsule`]: the machine with its surroundings.

pub mod arming;
pub mod capsule;
pub mod chute;
pub mod event;
pub mod fire;
pub mod order;
pub mod place;
pub mod readiness;
pub mod sequencer;
pub mod settings;
pub mod status;
pub mod vehicle;

pub use event::{Event, Side};
pub use sequencer::{Input, Sequencer};
pub use settings::OrdnanceSettings;
pub use status::{Alarm, Alarms, Status};

#[cfg(test)]
mod tests;
