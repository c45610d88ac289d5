#![no_std]
#![forbid(unsafe_code)]
//! What passes between a board that runs the flight code and whatever drives it.
//!
//! - [`message`]: what is said, in both directions, and the version of it;
//! - [`mod@frame`]: how a message becomes bytes on a line that may lose, repeat or change some of them;
//! - [`packet`]: telemetry and telecommands as space packets;
//! - [`settings`]: the controller's settings as a row of numbers;
//! - [`server`]: what a board does with each message;
//! - [`pace`]: steps at the pace of the board's own timer.
//!
//! Everything here is data: ordnance outputs, when there are any, are numbers in a message and nothing else.

pub mod frame;
pub mod message;
pub mod pace;
pub mod packet;
pub mod server;
pub mod settings;

pub use frame::{FrameError, MAX_FRAME, Unframer, frame};
pub use message::{Cost, FromBoard, PinEdge, PinImage, PostMortem, Refusal, Stats, ToBoard, VERSION};
pub use server::{LINK_LOSS_TICKS, Machine, Server};
