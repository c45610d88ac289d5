//! Film transport: moves film by counted length, holds its tension, and stops before anything tears.
//!
//! [`Transport::step`] runs every base tick. [`Demand`] goes in from the exposure sequencer, [`Status`]
//! comes out; the drive acts one tick later. Film that has been counted is believed, never the command.
//!
//! - `meter`: encoder counts to metered film and speed;
//! - `reference`: where the film should be, in whole numbers on a limited ramp;
//! - `roller`: the roller's position loop;
//! - `reels`: size of the packs, tension, and the on-board balance of film;
//! - `watch`: what stops the film;
//! - `judge`: whether film is good to expose on;
//! - `transport`: the states;
//! - `secure`: cut and seal.

mod judge;
mod meter;
mod reels;
mod reference;
mod roller;
mod secure;
pub mod settings;
mod status;
#[cfg(test)]
mod tests;
mod transport;
mod watch;

pub use settings::FilmSettings;
pub use status::{Demand, Fault, State, Status};
pub use transport::{KeptFilm, Transport};
