#![no_std]
#![no_main]
//! The flight code on an STM32F405.
//!
//! As thin as can be: bytes come in on the first serial line, [`stillframe_wire::Server`] says what is to be done
//! with them, and what it asks for is put on the pins. Everything that decides anything is in the flight code.
//!
//! - [`pins`]: which pin does what, the only table from which pins are set up;
//! - [`machine`]: clock, cost, outputs and counters, as the server wants them;
//! - [`watchdog`]: resets a board that no longer finishes its steps;
//! - [`failure`]: what happens when something does: outputs safe, a record, a reset;
//! - [`hw`]: registers, and all `unsafe` of the image.

mod failure;
mod hw;
#[cfg(feature = "log")]
mod log;
mod machine;
mod pins;
mod watchdog;

use machine::Board;
use stillframe_wire::{FromBoard, Server, frame};

#[cortex_m_rt::entry]
fn main() -> ! {
    static mut SERVER: Server = Server::new();
    let mut board = Board::start();
    #[cfg(feature = "log")]
    log::started();
    loop {
        while let Some(byte) = hw::serial::LINK.pop() {
            if let Some(answer) = SERVER.byte(byte, &mut board) {
                send(&answer);
            }
        }
        while board.tick_passed() {
            SERVER.tick(&mut board);
        }
        if board.safe {
            watchdog::feed();
        }
        hw::serial::drain_log();
        hw::sleep_unless(|| !hw::serial::LINK.is_empty() || !hw::serial::LOG.is_empty() || board.tick_waits());
    }
}

/// Sends an answer; one that does not fit a frame cannot be made.
#[inline(never)]
fn send(answer: &FromBoard) {
    if let Ok(bytes) = frame(answer) {
        for &byte in &bytes {
            hw::serial::write(byte);
        }
    }
}
