//! What the vehicle says of itself: one snapshot a second.

use crate::{
    attitude,
    health::flags::Flags,
    io::Listen,
    keep::ComputerStatus,
    ordnance,
    programme::{load::LoadError, receiver::PROCESSES, waiting::LoadName},
};

/// The vehicle's own view. Everything here is measured or assumed on board; nothing is truth.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Telemetry {
    /// Tick of the snapshot, as the clock reads.
    pub tick: u32,
    /// Attitude loop.
    pub attitude: attitude::Status,
    /// What is wrong.
    pub flags: Flags,
    /// Camera commanded on.
    pub camera_commanded: bool,
    /// Exposing: the shutter or capping shutter has been told to be open.
    pub exposing: bool,
    /// Commanded image speed, in speed steps.
    pub speed_step: u16,
    /// Metered film speed, m/s.
    pub film_speed_m_s: f32,
    /// Film metered since the start, m.
    pub film_metered_m: f32,
    /// The film has been cut and sealed as commanded.
    pub film_secured: bool,
    /// Frames begun.
    pub frames: u32,
    /// Load in force (0: none).
    pub load_counter: u16,
    /// Loads and other telecommands refused.
    pub loads_refused: u16,
    /// Why the last one was refused.
    pub last_refusal: Option<LoadError>,
    /// Gas left by the tank's gauges, kg.
    pub gas_left_kg: f32,
    /// Gas used by the valves' on-time, kg.
    pub gas_used_kg: f32,
    /// Gas balance: gone by the gauges less used by the valves, kg.
    pub gas_residual_kg: f32,
    /// Momentum balance of the last window, N·m·s.
    pub momentum_residual_nms: [f32; 3],
    /// What went through in that window, N·m·s.
    pub momentum_through_nms: [f32; 3],
    /// Film balance: share by which metered film exceeds what supply and take-up reel show by their turns; none until
    /// enough has run.
    pub film_residual: [Option<f32>; 2],
    /// Contact and telecommands.
    pub uplink: Uplink,
    /// Ordnance sequence.
    pub ordnance: ordnance::Status,
    /// Resets and cycles that did not end in time.
    pub computer: ComputerStatus,
}

/// Contact with the ground, and what came of its telecommands.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Uplink {
    /// Which receiver listens.
    pub listen: Listen,
    /// Whole seconds since the last telecommand.
    pub silent_s: u32,
    /// Silence has lasted too long: the vehicle has made itself safe.
    pub lost: bool,
    /// Telecommands taken: sound, for this vehicle, in sequence.
    pub telecommands: u16,
    /// Their last sequence counts, by process.
    pub counts: [Option<u16>; PROCESSES.len()],
    /// Load in force.
    pub in_force: Option<LoadName>,
    /// Load that waits for its commit.
    pub waiting: Option<LoadName>,
    /// Stored commands discarded because their time had passed, or because nothing was to be carried out.
    pub late: u16,
    /// What the ground's correlation adds to the clock's reading, ticks.
    pub clock_ahead_ticks: i32,
}

impl Telemetry {
    /// Before the first second.
    pub fn at_start(attitude: attitude::Status) -> Self {
        Self {
            tick: 0,
            attitude,
            flags: Flags::default(),
            camera_commanded: false,
            exposing: false,
            speed_step: 0,
            film_speed_m_s: 0.0,
            film_metered_m: 0.0,
            film_secured: false,
            frames: 0,
            load_counter: 0,
            loads_refused: 0,
            last_refusal: None,
            gas_left_kg: 0.0,
            gas_used_kg: 0.0,
            gas_residual_kg: 0.0,
            momentum_residual_nms: [0.0; 3],
            momentum_through_nms: [0.0; 3],
            film_residual: [None; 2],
            uplink: Uplink::default(),
            ordnance: ordnance::Status::default(),
            computer: ComputerStatus::default(),
        }
    }
}
