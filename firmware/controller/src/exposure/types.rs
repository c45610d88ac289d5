//! What goes into and comes out of the exposure sequencer.

use crate::film::{Demand, Status};
use crate::io::Edges;

/// Slit number that leaves the choice to the sequencer.
pub const ANY_SLIT: u8 = 255;

/// What the sequencer is told every tick.
#[derive(Clone, Copy, Debug)]
pub struct Input<'a> {
    /// On-board time, base ticks.
    pub tick: u32,
    /// The programme wants the camera on.
    pub camera_commanded_on: bool,
    /// Time between pictures that came with the camera-on (framing), ticks.
    pub cycle_ticks: u32,
    /// Speed of film or platen from the motion-compensation programme, steps.
    pub speed_step: u16,
    /// Slit or shutter time asked for; [`ANY_SLIT`] takes the exposure set, or the slit nearest to it.
    pub slit: u8,
    /// Tick before which the shutter stays shut although film may be running.
    pub not_before: u32,
    /// Health and attitude permit exposures.
    pub allowed: bool,
    /// Light sensed behind the shutter.
    pub shutter_open: bool,
    /// Angle of the sweep, rad (sweep).
    pub sweep_rad: f32,
    /// The film transport as of the last tick.
    pub film: &'a Status,
}

/// What the sequencer wants done in the coming tick.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Output {
    /// Asked of the film transport.
    pub demand: Demand,
    /// Clamp the film (framing). A braked transport clamps as well, whatever stands here.
    pub clamp: bool,
    /// Platen speed, steps (framing and sweep).
    pub platen_step: u16,
    /// Rate of the sweep's drive, steps (sweep).
    pub sweep_step: i16,
    /// Edges of the shutter.
    pub shutter: Edges,
    /// Slit in place (strip and sweep).
    pub slit: u8,
    /// A frame that ended in this tick.
    pub frame_event: Option<FrameMark>,
}

/// One frame, marked when it ends.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub struct FrameMark {
    /// Number, from 1, without gaps, over the whole mission.
    pub number: u32,
    /// Film counted when it began, roller counts.
    pub began_counts: i32,
    /// Tick in which its exposure began.
    pub began_tick: u32,
    /// Film counted when it ended.
    pub ended_counts: i32,
    /// Tick in which its exposure ended.
    pub ended_tick: u32,
    /// Speed step in force when it began.
    pub speed_step: u16,
    /// What became of it.
    pub outcome: Outcome,
}

/// What became of a frame.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Outcome {
    /// Whole, on valid film.
    Good,
    /// Whole, but film was not valid throughout, or reels and roller disagreed.
    Doubtful,
    /// Ended before its full length or exposure.
    CutShort,
}

/// What the sequencer is doing.
///
/// ```text
/// strip:    Off ─► RunUp ─► Exposing ─► RunDown ─► Off
/// framing:  Off ─► Ready ─► Advancing ─► Clamping ─► Settling ─► PlatenRun ─► Exposing ─► Releasing ─► Pacing
///                             ▲                                                                         │
///                             └─────────────────────────────────────────────────────────────────────────┘
/// sweep:    as framing, but Settling ─► Swinging ─► Exposing ─► Releasing, and the sweep returns meanwhile
///           any of these, camera off or not allowed ─► (Exposing is finished first) RunDown ─► Off
/// ```
///
/// Only `Sequencer::step` moves between them. Outside `Exposing` the shutter is told to shut every tick.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
pub enum Phase {
    /// Camera off, film at rest.
    #[default]
    Off,
    /// Strip: film on its way to valid speed.
    RunUp,
    /// Framing: reels released, loops coming into order.
    Ready,
    /// Framing: film moving on by one length.
    Advancing,
    /// Framing: clamp taking hold.
    Clamping,
    /// Framing: clamped film coming to rest.
    Settling,
    /// Framing: platen on its way to image speed.
    PlatenRun,
    /// Sweep: the line of sight swinging up to its rate, the platen to image speed.
    Swinging,
    /// Shutter open, or framing: shutter open, closing in this tick at the latest when its time is up.
    Exposing,
    /// Framing: clamp letting go, platen returning.
    Releasing,
    /// Framing: waiting for the next picture's time.
    Pacing,
    /// Camera off, film on its way to rest.
    RunDown,
}

/// Why the last camera-on ended.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
pub enum Ending {
    /// None has ended yet.
    #[default]
    None,
    /// The programme commanded it off.
    Commanded,
    /// Health or attitude no longer permitted it.
    NotAllowed,
    /// Film never became valid.
    NoValidFilm,
    /// Film was no longer valid.
    LostFilm,
    /// The transport stopped on a fault.
    FilmStopped,
    /// Film is down to its reserve.
    Reserve,
    /// Longest camera-on reached.
    TooLong,
    /// Most film in one camera-on used.
    TooMuchFilm,
    /// The light sensor contradicts the shutter.
    Shutter,
    /// The programme's speed step is outside its limits.
    BadSpeed,
    /// The sweep did not reach its end in time.
    Sweep,
}

/// What the sequencer says about itself.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
pub struct ExposureStatus {
    /// What it is doing.
    pub phase: Phase,
    /// Number of the frame under way, or of the last one.
    pub frame: u32,
    /// Frames that ended whole.
    pub whole: u32,
    /// Frames cut short.
    pub cut_short: u32,
    /// Why the last camera-on ended.
    pub ending: Ending,
    /// A camera-on that ended itself waits for the command to go off before the camera can come on again.
    pub waits_for_off: bool,
    /// The light sensor has contradicted the shutter; latched until acknowledged.
    pub shutter_fault: bool,
    /// Pictures that came later than their pace asked (framing); saturates.
    pub late: u16,
}
