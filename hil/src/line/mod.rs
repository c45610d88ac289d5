//! Lines to a board: anything that carries bytes both ways.
//!
//! - [`stream`]: Unix socket, TCP and serial port;
//! - [`emulator`]: the machine emulator, started and stopped here;
//! - [`stand_in`]: a board in this process, running the board's own server;
//! - [`pipes`]: the emulator's debug channel;
//! - [`faulty`]: a line that loses, repeats, cuts, swaps and flips what passes over another.

pub mod address;
pub mod emulator;
pub mod faulty;
pub mod pipes;
pub mod stand_in;
pub mod stream;

pub use address::{Address, How, Opened};

use std::{io, thread::sleep, time::Duration};
use stillframe_controller::io::TICK_US;

/// A line to a board.
pub trait Line: Send {
    /// Sends bytes, all of them.
    ///
    /// # Errors
    /// If the line is gone.
    fn send(&mut self, bytes: &[u8]) -> io::Result<()>;

    /// Waits up to `patience` for bytes and says how many came; 0: none.
    ///
    /// # Errors
    /// If the line is gone.
    fn receive(&mut self, into: &mut [u8], patience: Duration) -> io::Result<usize>;

    /// So many base ticks of the board go by in which nothing passes.
    fn idle(&mut self, ticks: u32) {
        sleep(Duration::from_micros(u64::from(TICK_US)) * ticks);
    }
}

impl Line for Box<dyn Line> {
    fn send(&mut self, bytes: &[u8]) -> io::Result<()> {
        (**self).send(bytes)
    }

    fn receive(&mut self, into: &mut [u8], patience: Duration) -> io::Result<usize> {
        (**self).receive(into, patience)
    }

    fn idle(&mut self, ticks: u32) {
        (**self).idle(ticks);
    }
}
