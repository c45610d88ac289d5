//! Talking to a board: one question, one answer, whatever the line does to the bytes in between.
//!
//! Every question may be asked again: the board answers a repeated step as before and does not take it twice
//! ([`stillframe_wire::server`]), and all other questions say the same when repeated.

use crate::{
    line::{Address, How, Line, Opened},
    log::{BoardLog, LogLine},
};
use std::{
    io,
    time::{Duration, Instant},
};
use stillframe_controller::{
    io::{Actuators, Sensors},
    settings::Settings,
    telemetry::Telemetry,
};
use stillframe_wire::{
    Cost, FrameError, FromBoard, PinImage, PostMortem, Refusal, Stats, ToBoard, Unframer, VERSION, frame,
    packet::{Packet, SnapshotError, read_snapshot},
    settings::{SettingsRow, keys},
};
use thiserror::Error;

/// Times a question is asked before the board is given up.
pub const ATTEMPTS: u32 = 8;
/// Added to the wait for an answer with every byte of the question.
const PER_BYTE: Duration = Duration::from_micros(200);

/// Why a board cannot be used.
#[derive(Debug, Error)]
pub enum BoardError {
    /// The line failed.
    #[error("the line to the board failed: {0}")]
    Line(#[from] io::Error),
    /// No answer.
    #[error(
        "the board did not answer {question} ({ATTEMPTS} times asked). Check that it is powered, runs the image, and that the line and its speed are right"
    )]
    Silent {
        /// What was asked.
        question: &'static str,
    },
    /// Answers that are no messages of this version.
    #[error(
        "what came back to {question} was no message of version {VERSION} of the link: the image is of another version (build and flash it anew), or the line's speed is wrong"
    )]
    Garbled {
        /// What was asked.
        question: &'static str,
    },
    /// The board speaks another version of the link.
    #[error(
        "the board speaks version {board} of the link and this program version {VERSION}: build image and bench from the same source, and flash the image anew"
    )]
    Version {
        /// The board's.
        board: u8,
    },
    /// A telemetry packet that is none.
    #[error("the board's telemetry packet cannot be read ({0:?}): build image and bench from the same source")]
    Telemetry(SnapshotError),
    /// The board's settings tables are others.
    #[error(
        "the board's settings tables ({board:08x}) are not this program's ({here:08x}): build image and bench from the same source"
    )]
    Tables {
        /// Check sum on the board.
        board: u32,
        /// Check sum here.
        here: u32,
    },
    /// The board refused.
    #[error("the board refused {question}: {refusal:?}")]
    Refused {
        /// What was asked.
        question: &'static str,
        /// Why.
        refusal: Refusal,
    },
    /// The settings or the load do not fit into a message.
    #[error("{0} does not fit into a message")]
    TooLong(&'static str),
}

/// What a line did to the conversation.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
pub struct Counts {
    /// Questions answered.
    pub exchanges: u64,
    /// Questions asked again.
    pub asked_again: u64,
    /// Most times the question for a single step had to be asked.
    pub most_attempts: u32,
    /// Frames that the board said were no message.
    pub refused_by_board: u64,
    /// Frames from the board that were no message.
    pub bad_from_board: u64,
    /// Answers that fitted no open question: late or repeated.
    pub stale: u64,
    /// Bytes sent.
    pub bytes_up: u64,
    /// Bytes received.
    pub bytes_down: u64,
}

/// What a board is, by its greeting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Greeting {
    /// Clock of its processor, Hz.
    pub clock_hz: u32,
}

/// A step's answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// What the vehicle is to do.
    pub actuators: Actuators,
    /// Snapshot, in the tick in which one is made.
    pub telemetry: Option<Telemetry>,
    /// What the step cost.
    pub cost: Cost,
}

/// A board at the end of a line.
pub struct Board {
    line: Box<dyn Line>,
    unframer: Unframer,
    patience: Duration,
    /// Bytes received and not yet looked at.
    waiting: Vec<u8>,
    sequence: u32,
    /// What a unit of step cost is.
    pub cost_unit: &'static str,
    /// The board's log, where there is one.
    pub log: Option<BoardLog>,
    /// What the line did so far.
    pub counts: Counts,
}

impl Board {
    /// Opens the line to a board and greets it.
    ///
    /// # Errors
    /// [`BoardError`].
    pub fn open(address: &Address, how: How) -> Result<(Self, Greeting), BoardError> {
        let mut board = Self::over(address.open(how)?);
        let greeting = board.greet()?;
        Ok((board, greeting))
    }

    /// A board at the end of an open line.
    pub fn over(opened: Opened) -> Self {
        Self {
            line: opened.line,
            unframer: Unframer::new(),
            patience: opened.patience,
            waiting: Vec::new(),
            sequence: 0,
            cost_unit: opened.cost_unit,
            log: opened.log,
            counts: Counts::default(),
        }
    }

    /// Asks the board who it is.
    ///
    /// # Errors
    /// [`BoardError`], also if it was built from other settings tables.
    pub fn greet(&mut self) -> Result<Greeting, BoardError> {
        match self.ask("the greeting", &ToBoard::Hello)? {
            FromBoard::Hello { keys: board, .. } if board != keys() => Err(BoardError::Tables { board, here: keys() }),
            FromBoard::Hello { clock_hz, .. } => Ok(Greeting { clock_hz }),
            _ => Err(BoardError::Garbled { question: "the greeting" }),
        }
    }

    /// Puts settings and load on the board and takes it into the loop. An empty load is none.
    ///
    /// # Errors
    /// [`BoardError`].
    pub fn begin(&mut self, settings: &Settings, load: &[u8]) -> Result<(), BoardError> {
        let row = SettingsRow::write(settings).ok_or(BoardError::TooLong("the settings file"))?;
        let load = heapless::Vec::from_slice(load).map_err(|_| BoardError::TooLong("the load"))?;
        self.ask("the settings", &ToBoard::Settings(row))?;
        self.ask("the load", &ToBoard::Load(load))?;
        self.ask("the beginning", &ToBoard::Begin)?;
        self.sequence = 0;
        Ok(())
    }

    /// One base tick on the board.
    ///
    /// # Errors
    /// [`BoardError`].
    pub fn step(&mut self, sensors: &Sensors) -> Result<Answer, BoardError> {
        let question = ToBoard::Step { sequence: self.sequence, sensors: sensors.clone() };
        match self.ask("a step", &question)? {
            FromBoard::Answer { actuators, telemetry, cost, .. } => {
                self.sequence = self.sequence.wrapping_add(1);
                Ok(Answer { actuators, telemetry: unpack(telemetry)?, cost })
            }
            _ => Err(BoardError::Garbled { question: "a step" }),
        }
    }

    /// Has the board's own timer make the ticks from now on: steps are then posted and answers heard.
    ///
    /// # Errors
    /// [`BoardError`].
    pub fn pace(&mut self) -> Result<(), BoardError> {
        self.ask("to keep its own pace", &ToBoard::Pace).map(|_| ())
    }

    /// Sends a step and does not wait for its answer; gives its number.
    ///
    /// # Errors
    /// [`BoardError`].
    pub fn post(&mut self, sensors: &Sensors) -> Result<u32, BoardError> {
        let sequence = self.sequence;
        let bytes = frame(&ToBoard::Step { sequence, sensors: sensors.clone() });
        let bytes = bytes.map_err(|_| BoardError::TooLong("a step"))?;
        self.counts.bytes_up += bytes.len() as u64;
        self.line.send(&bytes)?;
        self.sequence = self.sequence.wrapping_add(1);
        Ok(sequence)
    }

    /// The next answer to a posted step, with its number, if one comes before `until`. Refusals are counted.
    ///
    /// # Errors
    /// [`BoardError`].
    pub fn hear(&mut self, until: Instant) -> Result<Option<(u32, Answer)>, BoardError> {
        while let Some(heard) = self.next(until)? {
            match heard {
                Ok(FromBoard::Answer { sequence, actuators, telemetry, cost }) => {
                    self.counts.exchanges += 1;
                    return Ok(Some((sequence, Answer { actuators, telemetry: unpack(telemetry)?, cost })));
                }
                Ok(FromBoard::Refused(_)) => self.counts.refused_by_board += 1,
                Ok(_) => self.counts.stale += 1,
                Err(_) => self.counts.bad_from_board += 1,
            }
        }
        Ok(None)
    }

    /// The board's counters.
    ///
    /// # Errors
    /// [`BoardError`].
    pub fn stats(&mut self) -> Result<Stats, BoardError> {
        match self.ask("for its counters", &ToBoard::Stats)? {
            FromBoard::Stats(stats) => Ok(stats),
            _ => Err(BoardError::Garbled { question: "for its counters" }),
        }
    }

    /// The record of the board's last failure, if one survived its reset.
    ///
    /// # Errors
    /// [`BoardError`].
    pub fn post_mortem(&mut self) -> Result<Option<PostMortem>, BoardError> {
        match self.ask("for its post-mortem record", &ToBoard::PostMortem)? {
            FromBoard::PostMortem(record) => Ok(record),
            _ => Err(BoardError::Garbled { question: "for its post-mortem record" }),
        }
    }

    /// What was last written to the board's output lines; all low on a machine that has none.
    ///
    /// # Errors
    /// [`BoardError`].
    pub fn pins(&mut self) -> Result<PinImage, BoardError> {
        match self.ask("for its output lines", &ToBoard::Pins)? {
            FromBoard::Pins(pins) => Ok(pins),
            _ => Err(BoardError::Garbled { question: "for its output lines" }),
        }
    }

    /// What the board has logged since the last call. A log that can no longer be read says nothing more.
    pub fn log_lines(&mut self) -> Vec<LogLine> {
        self.log.as_mut().and_then(|log| log.take().ok()).unwrap_or_default()
    }

    /// Base ticks go by in which nothing passes.
    pub fn idle(&mut self, ticks: u32) {
        self.line.idle(ticks);
    }

    /// Takes the board out of the loop; its outputs go safe.
    ///
    /// # Errors
    /// [`BoardError`].
    pub fn end(&mut self) -> Result<(), BoardError> {
        self.ask("the end", &ToBoard::End).map(|_| ())
    }

    /// Asks until there is an answer.
    fn ask(&mut self, question: &'static str, message: &ToBoard) -> Result<FromBoard, BoardError> {
        let bytes = frame(message).map_err(|_| BoardError::TooLong(question))?;
        let bad_before = self.counts.bad_from_board;
        for attempt in 1..=ATTEMPTS {
            self.counts.asked_again += u64::from(attempt > 1);
            self.counts.bytes_up += bytes.len() as u64;
            self.line.send(&bytes)?;
            // Long messages take their time, and a busy machine gets more of it each time.
            let patience = (self.patience + PER_BYTE.min(self.patience) * bytes.len() as u32) * (1 << (attempt - 1));
            if let Some(answer) = self.listen(message, patience)? {
                self.counts.exchanges += 1;
                if matches!(message, ToBoard::Step { .. }) {
                    self.counts.most_attempts = self.counts.most_attempts.max(attempt);
                }
                if attempt > 1 {
                    self.hear_out()?;
                }
                return match answer {
                    FromBoard::Refused(refusal) => Err(BoardError::Refused { question, refusal }),
                    answer => Ok(answer),
                };
            }
        }
        let garbled = self.counts.bad_from_board > bad_before;
        Err(if garbled { BoardError::Garbled { question } } else { BoardError::Silent { question } })
    }

    /// Waits for the answer to `message`; none if it must be asked again.
    fn listen(&mut self, message: &ToBoard, patience: Duration) -> Result<Option<FromBoard>, BoardError> {
        let until = Instant::now() + patience;
        while let Some(heard) = self.next(until)? {
            match heard {
                Err(FrameError::Version(board)) => return Err(BoardError::Version { board }),
                Err(_) => {
                    self.counts.bad_from_board += 1;
                    return Ok(None);
                }
                Ok(FromBoard::Refused(Refusal::BadFrame)) => {
                    self.counts.refused_by_board += 1;
                    return Ok(None);
                }
                Ok(answer) if fits(message, &answer) => return Ok(Some(answer)),
                Ok(_) => self.counts.stale += 1,
            }
        }
        Ok(None)
    }

    /// Lets answers to repeated questions come in, so that they are not taken for those to the next one.
    fn hear_out(&mut self) -> Result<(), BoardError> {
        let until = Instant::now() + self.patience.min(Duration::from_millis(20));
        while self.next(until)?.is_some() {
            self.counts.stale += 1;
        }
        Ok(())
    }

    /// The next frame, if one ends before `until`.
    fn next(&mut self, until: Instant) -> Result<Option<Result<FromBoard, FrameError>>, BoardError> {
        let mut bytes = [0; 4_096];
        loop {
            for (index, &byte) in self.waiting.iter().enumerate() {
                if let Some(heard) = self.unframer.push(byte) {
                    self.waiting.drain(..=index);
                    return Ok(Some(heard));
                }
            }
            self.waiting.clear();
            let count = self.line.receive(&mut bytes, until.saturating_duration_since(Instant::now()))?;
            if count == 0 && Instant::now() >= until {
                return Ok(None);
            }
            self.counts.bytes_down += count as u64;
            self.waiting.extend_from_slice(&bytes[..count]);
        }
    }
}

/// The snapshot in a telemetry packet.
fn unpack(packet: Option<Packet>) -> Result<Option<Telemetry>, BoardError> {
    packet.map(|packet| read_snapshot(&packet).map(|(_, told)| told)).transpose().map_err(BoardError::Telemetry)
}

/// Whether `answer` is one to `message`, and not late or repeated.
fn fits(message: &ToBoard, answer: &FromBoard) -> bool {
    match (message, answer) {
        (ToBoard::Step { sequence, .. }, FromBoard::Answer { sequence: answered, .. }) => sequence == answered,
        (ToBoard::Hello, FromBoard::Hello { .. })
        | (ToBoard::Stats, FromBoard::Stats(_))
        | (ToBoard::Pins, FromBoard::Pins(_))
        | (ToBoard::PostMortem, FromBoard::PostMortem(_))
        | (ToBoard::Settings(_) | ToBoard::Load(_) | ToBoard::Begin | ToBoard::Pace | ToBoard::End, FromBoard::Done) => {
            true
        }
        (_, FromBoard::Refused(refusal)) => *refusal != Refusal::BadFrame,
        _ => false,
    }
}
