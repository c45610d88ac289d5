//! A board in this process: the board's own server on the host's processor, at the end of a line of bytes.
//!
//! It shows that bench, link and flight code fit together, and it is fast. It says nothing about the processor, the
//! compiler for it, or the pins.

use super::Line;
use std::{
    collections::VecDeque,
    io::{self, Read, Write},
    time::{Duration, Instant},
};
use stillframe_controller::io::Actuators;
use stillframe_wire::{
    Cost, FromBoard, PostMortem, Stats, frame,
    server::{Machine, Server},
};

/// The machine under the stand-in: a clock, and outputs that are only remembered.
#[derive(Debug)]
pub struct Desk {
    began: Instant,
    /// Outputs as last set.
    pub outputs: Actuators,
    /// How often outputs were set.
    pub times_put_out: u64,
}

impl Default for Desk {
    fn default() -> Self {
        Self { began: Instant::now(), outputs: Actuators::SAFE, times_put_out: 0 }
    }
}

impl Machine for Desk {
    fn clock_hz(&self) -> u32 {
        1_000_000_000
    }

    fn start(&mut self) {
        self.began = Instant::now();
    }

    /// Nanoseconds of the host's clock.
    fn cost(&mut self) -> Cost {
        Cost::TimerTicks(u32::try_from(self.began.elapsed().as_nanos()).unwrap_or(u32::MAX))
    }

    fn put_out(&mut self, actuators: &Actuators) {
        self.outputs.clone_from(actuators);
        self.times_put_out += 1;
    }

    fn stats(&self, _: &mut Stats) {}

    fn post_mortem(&self) -> Option<PostMortem> {
        None
    }
}

/// A stand-in for a board.
#[derive(Debug, Default)]
pub struct StandIn {
    server: Server,
    /// What it runs on.
    pub desk: Desk,
    answers: VecDeque<u8>,
}

impl StandIn {
    /// After its reset.
    pub fn new() -> Self {
        Self::default()
    }

    /// Base ticks go by in which nothing reaches the board.
    pub fn silence(&mut self, ticks: u32) {
        for _ in 0..ticks {
            if let Some(answer) = self.server.tick(&mut self.desk) {
                self.answer(&answer);
            }
        }
    }

    fn take(&mut self, bytes: &[u8]) {
        for &byte in bytes {
            if let Some(answer) = self.server.byte(byte, &mut self.desk) {
                self.answer(&answer);
            }
        }
    }

    fn answer(&mut self, answer: &FromBoard) {
        // Every answer fits: the longest is a tenth of a frame.
        if let Ok(bytes) = frame(answer) {
            self.answers.extend(bytes);
        }
    }

    /// Serves the other end of a stream until it closes.
    ///
    /// # Errors
    /// If the stream fails otherwise.
    pub fn serve(&mut self, stream: &mut (impl Read + Write)) -> io::Result<()> {
        let mut bytes = [0; 4_096];
        loop {
            match stream.read(&mut bytes)? {
                0 => return Ok(()),
                count => self.take(&bytes[..count]),
            }
            let (a, b) = self.answers.as_slices();
            stream.write_all(a)?;
            stream.write_all(b)?;
            stream.flush()?;
            self.answers.clear();
        }
    }
}

impl Line for StandIn {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.take(bytes);
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], _: Duration) -> io::Result<usize> {
        self.answers.read(into)
    }

    fn idle(&mut self, ticks: u32) {
        self.silence(ticks);
    }
}
