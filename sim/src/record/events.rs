//! What happened, as a list: one line an event, readable while the run goes on.

use std::fs::File;
use std::path::{Path, PathBuf};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::error::RecordError;
use super::table::Group;

/// What sort of thing happened.
#[derive(Clone, Copy, Debug, Deserialize, Eq, JsonSchema, Ord, PartialEq, PartialOrd, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum EventKind {
    /// The flight code changed its mode.
    Mode,
    /// The programme switched the camera on or off.
    Camera,
    /// A frame was exposed.
    Frame,
    /// The plant began to misbehave.
    FaultStart,
    /// The plant stopped misbehaving.
    FaultStop,
    /// A health flag rose or fell on board.
    Health,
    /// A station acquired the vehicle's signal.
    SignalAcquired,
    /// A station lost the vehicle's signal.
    SignalLost,
    /// The vehicle took a command load whole.
    LoadAccepted,
    /// The vehicle refused a command load whole.
    LoadRefused,
    /// The ground sent something, or saw what came of it.
    Uplink,
    /// An order, an event or an alarm of the ordnance chain.
    Ordnance,
    /// The film did something worth a line: break, jam, end of load.
    Film,
    /// A board logged something.
    BoardLog,
    /// Anything else.
    Note,
}

impl EventKind {
    /// Every kind.
    pub const ALL: [Self; 15] = [
        Self::Mode,
        Self::Camera,
        Self::Frame,
        Self::FaultStart,
        Self::FaultStop,
        Self::Health,
        Self::SignalAcquired,
        Self::SignalLost,
        Self::LoadAccepted,
        Self::LoadRefused,
        Self::Uplink,
        Self::Ordnance,
        Self::Film,
        Self::BoardLog,
        Self::Note,
    ];

    /// The word in the file.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Mode => "mode",
            Self::Camera => "camera",
            Self::Frame => "frame",
            Self::FaultStart => "fault_start",
            Self::FaultStop => "fault_stop",
            Self::Health => "health",
            Self::SignalAcquired => "signal_acquired",
            Self::SignalLost => "signal_lost",
            Self::LoadAccepted => "load_accepted",
            Self::LoadRefused => "load_refused",
            Self::Uplink => "uplink",
            Self::Ordnance => "ordnance",
            Self::Film => "film",
            Self::BoardLog => "board_log",
            Self::Note => "note",
        }
    }

    /// Whose knowledge such an event is.
    pub const fn knowledge(self) -> Group {
        match self {
            Self::Camera => Group::Commanded,
            Self::Mode | Self::Health | Self::LoadAccepted | Self::LoadRefused | Self::BoardLog => Group::Assumed,
            Self::SignalAcquired | Self::SignalLost | Self::Uplink => Group::Observed,
            Self::Frame | Self::FaultStart | Self::FaultStop | Self::Ordnance | Self::Film | Self::Note => Group::Truth,
        }
    }
}

/// One event.
#[derive(Clone, Debug, PartialEq)]
pub struct Event {
    /// Time since the start of the run, s.
    pub time_s: f64,
    /// What sort of thing happened.
    pub kind: EventKind,
    /// One line for people.
    pub text: String,
    /// Numbers that go with it; names end in their unit.
    pub numbers: Vec<(&'static str, f64)>,
}

impl Event {
    /// An event without numbers.
    pub fn new(time_s: f64, kind: EventKind, text: impl Into<String>) -> Self {
        Self { time_s, kind, text: text.into(), numbers: Vec::new() }
    }

    /// The same event with one more number; the name ends in the unit.
    #[must_use]
    pub fn with(mut self, name: &'static str, value: f64) -> Self {
        self.numbers.push((name, value));
        self
    }

    /// The numbers as `name=value; name=value`.
    pub fn numbers_as_text(&self) -> String {
        let parts: Vec<String> = self.numbers.iter().map(|(name, value)| format!("{name}={value}")).collect();
        parts.join("; ")
    }
}

#[derive(Serialize)]
struct Line<'a> {
    time_s: f64,
    kind: &'a str,
    knowledge: &'a str,
    text: &'a str,
    numbers: &'a str,
}

/// Writes `events.csv`: `time_s, kind, knowledge, text, numbers`.
pub struct EventWriter {
    path: PathBuf,
    csv: csv::Writer<File>,
}

impl EventWriter {
    /// Starts the file; none of that name may be there.
    ///
    /// # Errors
    /// If it cannot be made.
    pub fn create(path: &Path) -> Result<Self, RecordError> {
        let file = File::create_new(path).map_err(RecordError::io(path))?;
        Ok(Self { path: path.to_path_buf(), csv: csv::Writer::from_writer(file) })
    }

    /// Writes one line, all the way to the system: events are few and each may be the last.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn push(&mut self, event: &Event) -> Result<(), RecordError> {
        let line = Line {
            time_s: event.time_s,
            kind: event.kind.name(),
            knowledge: event.kind.knowledge().name(),
            text: &event.text,
            numbers: &event.numbers_as_text(),
        };
        self.csv.serialize(line).map_err(RecordError::csv(&self.path))?;
        self.csv.flush().map_err(RecordError::io(&self.path))
    }
}
