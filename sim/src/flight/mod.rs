//! A flight: plant and controller in one closed loop, with everything written down.
//!
//! The way of one sensor sample, to be read in this order: [`crate::plant::Plant::sensors`] reads the
//! gyros → [`closed_loop::ClosedLoop::tick`] hands the [`Sensors`] to
//! [`stillframe_controller::Controller::step`] → the [`Actuators`] wait one tick →
//! [`crate::plant::Plant::tick`] opens the valve at its microsecond and turns the body → the next sample.
//!
//! - [`build`]: scenario and settings to plant, controller and load;
//! - [`settings`]: the controller's settings, read from their file or fitted to the vehicle;
//! - [`closed_loop`]: one tick of the loop;
//! - [`computer`]: the on-board computer as a thing that fails;
//! - [`pilot`]: who turns sensors into actuators in it: the desk, or a board;
//! - [`link`]: stations, contacts, what goes up and comes down, what the ground has heard;
//! - [`ground`] and [`outgoing`]: what the ground decides to send, and what that is;
//! - [`home`]: orders, circuits and capsule of the return;
//! - [`heard`]: the last telemetry a station heard, out of a results folder;
//! - [`frames`]: exposures gathered and judged;
//! - [`pictures`]: what some frames would show;
//! - [`place`]: what the ground knows of where the vehicle is;
//! - [`rows`]: the series and the events;
//! - [`tally`]: what the summary is made from;
//! - `torques`: the torque budget;
//! - [`fly()`]: the whole run, to a results folder.
//!
//! [`Sensors`]: stillframe_controller::io::Sensors
//! [`Actuators`]: stillframe_controller::io::Actuators

pub mod build;
pub mod closed_loop;
pub mod computer;
mod fly;
pub mod frames;
pub mod ground;
pub mod heard;
pub mod home;
pub mod link;
pub mod load_faults;
pub mod outgoing;
pub(crate) mod page;
pub mod pictures;
pub mod pilot;
pub mod place;
pub mod rows;
pub mod settings;
pub mod stray_orders;
pub mod summary;
pub mod tally;
mod torques;

pub use fly::{CAMERA_KEY, FlightError, Flown, Options, fly, fly_with};
