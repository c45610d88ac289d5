//! The bench: the flight code on a board, real, emulated or stood in for, in the loop with the plant.
//!
//! - [`line`]: what carries bytes to a board and back;
//! - [`board`]: question and answer over a line that may fail;
//! - [`scenario`]: the short flight that the bench is made for;
//! - [`lockstep`]: the plant waits for the board, and every answer is compared with the desk's;
//! - [`compare`]: to the bit, and the name of what differs;
//! - [`stream`]: a run's sensors and answers in a file, for replays;
//! - [`replay`]: such a stream fed again;
//! - [`wiring`]: wires, swapped and reversed ones too;
//! - [`phasing`]: every sensor moved, every answer's sign looked at;
//! - [`wire_faults`]: flights over a line that damages what passes;
//! - [`cost`]: what steps cost;
//! - [`summary`]: what a run came to, as JSON;
//! - [`cli`]: the `stillframe-bench` command, thin.
//!
//! Ordnance outputs are numbers in a message here, never a pin.

pub mod board;
pub mod cli;
pub mod compare;
pub mod cost;
pub mod line;
pub mod lockstep;
pub mod phasing;
pub mod replay;
pub mod scenario;
pub mod stream;
pub mod summary;
pub mod wire_faults;
pub mod wiring;
