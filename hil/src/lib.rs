//! The bench: the flight code on a board, real, emulated or stood in for, in the loop with the plant.
//!
//! - [`mod@line`]: what carries bytes to a board and back;
//! - [`board`]: question and answer over a line that may fail;
//! - [`scenario`]: the short flight that the bench is made for;
//! - [`lockstep`]: the plant waits for the board, and every answer is compared with the desk's;
//! - [`compare`]: to the bit, and the name of what differs;
//! - [`stream`]: a run's sensors and answers in a file, for replays;
//! - [`replay`]: such a stream fed again;
//! - [`wiring`]: wires, swapped and reversed ones too;
//! - [`phasing`]: every sensor moved, every answer's sign looked at;
//! - [`wire_faults`]: flights over a line that damages what passes;
//! - [`real_time`]: the wall clock's pace; [`board_paced`]: the pace of the board's own timer;
//! - [`upsets`]: bits turned over in the emulated board, through [`debug_port`];
//! - [`cost`]: what steps cost; [`image`]: what an image takes up; [`measures`]: both, to be compared;
//! - [`log`]: what the board logs, in its place in the flight;
//! - [`report`]: results as tables and pages; [`summary`]: what a run came to, as JSON;
//! - [`cli`]: the `stillframe-bench` command, thin.
//!
//! Ordnance outputs are numbers in a message here, never a pin.

pub mod board;
pub mod board_paced;
pub mod cli;
pub mod compare;
pub mod cost;
pub mod debug_port;
pub mod image;
pub mod line;
pub mod lockstep;
pub mod log;
pub mod measures;
pub mod phasing;
pub mod real_time;
pub mod replay;
pub mod report;
pub mod scenario;
pub mod stream;
pub mod summary;
pub mod upsets;
pub mod wire_faults;
pub mod wiring;
