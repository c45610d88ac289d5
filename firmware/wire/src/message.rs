//! What is said between a board and its driver.
//!
//! The driver speaks first and the board answers; one message is under way at a time. Nothing a board is told
//! before [`ToBoard::Begin`] moves an output.

use crate::{
    packet::Packet,
    settings::{RowError, SettingsRow},
};
use heapless::{String, Vec};
use serde::{Deserialize, Serialize};
use stillframe_controller::{
    io::{Actuators, MAX_JETS, Sensors},
    programme::load::{LoadError, MAX_BYTES},
};

/// Version of these messages; rises with every change to any of them. It goes into every frame's check sum but that of
/// greetings, which every version can read ([`mod@crate::frame`]).
///
/// 1: the first; 2: greetings readable by other versions, telemetry as space packets; 3: the sweep of a
/// panoramic camera; 4: receivers, contact, turns; readbacks, outputs and status of the ordnance sequence.
pub const VERSION: u8 = 4;

/// Longest path of a pipe, bytes.
pub const MAX_PATH: usize = 96;

/// From the driver to the board.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[allow(clippy::large_enum_variant, reason = "no heap to box into; one message exists at a time")]
pub enum ToBoard {
    /// Who are you? Answered by [`FromBoard::Hello`]. First of the messages, and without content, in every version.
    Hello,
    /// Settings to be used from the next [`ToBoard::Begin`] on.
    Settings(SettingsRow),
    /// A command load for the next [`ToBoard::Begin`], as on the pad.
    Load(Vec<u8, MAX_BYTES>),
    /// Makes a new controller from settings and load. The board is then in the loop.
    Begin,
    /// One base tick: sensors in, actuators out.
    Step {
        /// Number of the exchange; comes back in the answer.
        sequence: u32,
        /// What the sensors say.
        sensors: Sensors,
    },
    /// Asks for [`Stats`].
    Stats,
    /// Asks for the record of the last failure, if one survived the reset.
    PostMortem,
    /// Leaves the loop: outputs go safe, the controller is dropped.
    End,
    /// Asks for [`FromBoard::Pins`]: what was last written to the output lines.
    Pins,
    /// From the answer on, talk over an emulator's debug channel: two pipes of the host's file system, opened through
    /// semihosting. Refused by a machine that has no such channel; on a real board without debugger it ends in a
    /// fault and a reset. The closing of the pipe towards the board ends it.
    Channel {
        /// Path of the pipe from which the board reads.
        to_board: String<MAX_PATH>,
        /// Path of the pipe into which the board writes.
        from_board: String<MAX_PATH>,
    },
    /// In the loop, from now until [`ToBoard::Begin`] or [`ToBoard::End`]: the board's own timer makes the ticks.
    /// Steps are not answered when they come. At every base tick the newest one is taken, or, if none has come,
    /// the last again ([`crate::pace`]), and its [`FromBoard::Answer`] is sent: an answer with the same number as the
    /// one before tells that sensors were held.
    Pace,
}

/// From the board to the driver.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[allow(clippy::large_enum_variant, reason = "no heap to box into; one message exists at a time")]
pub enum FromBoard {
    /// Answer to [`ToBoard::Hello`]. First of the answers, and begins with the version, in every version.
    Hello {
        /// [`VERSION`] of the board.
        version: u8,
        /// Check sum of the settings tables' keys.
        keys: u32,
        /// Clock of the processor, Hz.
        clock_hz: u32,
    },
    /// Done.
    Done,
    /// Not done, and why.
    Refused(Refusal),
    /// Answer to [`ToBoard::Step`].
    Answer {
        /// Number of the exchange.
        sequence: u32,
        /// What the controller asks for in the coming tick.
        actuators: Actuators,
        /// Telemetry packet, in the tick in which the controller makes a snapshot.
        telemetry: Option<Packet>,
        /// What the step cost.
        cost: Cost,
    },
    /// Answer to [`ToBoard::Stats`].
    Stats(Stats),
    /// Answer to [`ToBoard::PostMortem`].
    PostMortem(Option<PostMortem>),
    /// Answer to [`ToBoard::Pins`].
    Pins(PinImage),
}

/// Cost of a controller step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Cost {
    /// Processor cycles, from the cycle counter of a real board.
    Cycles(u32),
    /// Ticks of a timer, where there is no cycle counter: instructions times a constant, in an emulator that
    /// counts them.
    TimerTicks(u32),
}

/// Why a board does not do what it was told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Refusal {
    /// The frame was no message; the board has acted on nothing.
    BadFrame,
    /// The settings' numbers are wrong.
    Settings(RowError),
    /// The controller refused its settings as a whole.
    Controller,
    /// The load was refused.
    Load(LoadError),
    /// Not in the loop: [`ToBoard::Begin`] comes first.
    NotBegun,
    /// Ticks do not follow each other: this exchange repeats or skips.
    Sequence {
        /// Number that was expected.
        expected: u32,
    },
    /// This machine cannot do it.
    Unable,
}

/// Counters of a board since its reset.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stats {
    /// Steps taken.
    pub steps: u32,
    /// Frames that were no message.
    pub bad_frames: u32,
    /// Bytes lost because the receive ring was full.
    pub lost_bytes: u32,
    /// Deepest use of the stack, bytes.
    pub stack_used: u32,
    /// Size of the stack, bytes.
    pub stack_size: u32,
    /// Times that outputs went safe because the link fell silent.
    pub link_losses: u32,
    /// Cause of the last reset, as the processor's status register gives it.
    pub reset_flags: u32,
}

/// What a failing board leaves behind in memory that a reset keeps.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct PostMortem {
    /// 1 panic, 2 hard fault, 3 watchdog, 4 stack guard.
    pub cause: u32,
    /// Program counter, or 0.
    pub pc: u32,
    /// Link register, or 0.
    pub lr: u32,
    /// Configurable fault status register.
    pub cfsr: u32,
    /// Steps taken until then.
    pub steps: u32,
    /// Failures since power-on.
    pub count: u32,
}

/// What was last written to a board's output lines. High opens, releases or switches on: all lines low is safe.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct PinImage {
    /// Levels, one bit a line: 0–15 valves, 16–17 latch valves, 18 shutter, 19–20 slit, 21 transmitter, 22 brakes off,
    /// 23 clamp off, 24–26 roller, supply and take-up motor backwards.
    pub levels: u32,
    /// Duties of roller, supply and take-up motor and of the platen.
    pub duties: [u16; 4],
    /// Duty that is the whole of the supply voltage.
    pub duty_most: u16,
    /// Edges of the last tick, in the order in which they were done.
    pub edges: Vec<PinEdge, { 2 * (MAX_JETS + 1) }>,
    /// Ticks put out since the reset; wraps.
    pub ticks: u32,
}

/// An edge of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PinEdge {
    /// Line: 0–15 valves, 16 shutter.
    pub line: u8,
    /// To high: opening.
    pub open: bool,
    /// Time after the tick's boundary that was asked for, µs.
    pub asked_us: u16,
    /// Time at which it was done, µs; in lockstep, where the next tick may come at once, edges may be done early.
    pub done_us: u16,
}
