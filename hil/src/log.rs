//! The board's log: defmt frames from its second serial line, turned into text with the board's own ELF, which holds the
//! words that the board does not send.
//!
//! Messages bear the number of steps taken since the board's reset, so that they fall into place in a flight whatever
//! the line's speed.

use defmt_decoder::{DecodeError, StreamDecoder, Table};
use schemars::JsonSchema;
use serde::Serialize;
use std::{
    fs::File,
    io::{self, Read},
    path::Path,
};
use stillframe_controller::io::TICKS_PER_S;

/// A message.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LogLine {
    /// Steps that the board had taken since its reset.
    pub steps: u64,
    /// `info`, `warn`, `error` and so on.
    pub level: String,
    /// Text.
    pub text: String,
}

/// A message in its place in a flight.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LogEntry {
    /// Time since the start of the run, s; 0 for what was logged before.
    pub time_s: f64,
    /// `info`, `warn`, `error` and so on.
    pub level: String,
    /// Text.
    pub text: String,
}

impl LogLine {
    /// In a flight that began when the board had taken so many steps.
    pub fn at(self, steps_before: u64) -> LogEntry {
        let ticks = self.steps.saturating_sub(steps_before);
        LogEntry { time_s: ticks as f64 / f64::from(TICKS_PER_S), level: self.level, text: self.text }
    }
}

/// A log as it grows: a file with the bytes of the board's second serial line.
pub struct BoardLog {
    file: File,
    decoder: Box<dyn StreamDecoder + Send + Sync>,
    recovers: bool,
    /// Messages that could not be read.
    pub damaged: u64,
}

impl BoardLog {
    /// Opens a log, with the ELF of the image that writes it.
    ///
    /// # Errors
    /// If either file cannot be read, or the image has no log.
    pub fn open(log: &Path, image: &Path) -> io::Result<Self> {
        let elf = std::fs::read(image)?;
        let no_log = |why: String| io::Error::other(format!("{}: {why}", image.display()));
        let table = Table::parse(&elf).map_err(|error| no_log(format!("its log cannot be read: {error}")))?;
        let table = table.ok_or_else(|| no_log("an image without log".into()))?;
        let file =
            File::open(log).map_err(|error| io::Error::new(error.kind(), format!("{}: {error}", log.display())))?;
        // The decoder borrows the table, and both live as long as the program: there is one board to a run.
        let table: &'static Table = Box::leak(Box::new(table));
        Ok(Self { file, decoder: table.new_stream_decoder(), recovers: table.encoding().can_recover(), damaged: 0 })
    }

    /// Messages that have come since the last call.
    ///
    /// # Errors
    /// If the file can no longer be read.
    pub fn take(&mut self) -> io::Result<Vec<LogLine>> {
        let mut bytes = [0; 4_096];
        let mut lines = Vec::new();
        loop {
            let count = self.file.read(&mut bytes)?;
            if count == 0 {
                return Ok(lines);
            }
            self.decoder.received(&bytes[..count]);
            self.decode(&mut lines);
        }
    }

    fn decode(&mut self, lines: &mut Vec<LogLine>) {
        loop {
            match self.decoder.decode() {
                Ok(frame) => lines.push(LogLine {
                    steps: frame.display_timestamp().and_then(|steps| steps.to_string().parse().ok()).unwrap_or(0),
                    level: frame.level().map_or("print", |level| level.as_str()).to_owned(),
                    text: frame.display_message().to_string(),
                }),
                Err(DecodeError::Malformed) if self.recovers => self.damaged += 1,
                Err(_) => return,
            }
        }
    }
}
