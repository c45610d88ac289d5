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

use cortex_m_rt::exception;
use hw::semihost::Channel;
use machine::Board;
use stillframe_wire::{FromBoard, Server, frame};

/// Sleeps. All work is called for by interrupts ([`hw::priority`]).
#[cortex_m_rt::entry]
fn main() -> ! {
    hw::priority::start();
    hw::priority::call_for_work();
    loop {
        cortex_m::asm::wfi();
    }
}

/// A turn of the work: what has come in is answered, ticks gone by are told. The first one brings the board up.
#[exception]
fn PendSV() {
    static mut SERVER: Server = Server::new();
    static mut BOARD: Option<Board> = None;
    let board = BOARD.get_or_insert_with(start);
    match board.channel {
        Some(channel) => serve_channel(channel, SERVER, board),
        None => serve_line(SERVER, board),
    }
    while board.tick_passed() {
        if let Some(answer) = SERVER.tick(board) {
            reply(&answer, board.channel);
        }
    }
    if board.safe {
        watchdog::feed();
    }
    hw::serial::drain_log();
    if board.channel.is_some() || !hw::serial::LOG.is_empty() {
        hw::priority::call_for_work();
    }
}

fn start() -> Board {
    let board = Board::start();
    #[cfg(feature = "faulty")]
    if hw::timers::ticks() == u32::MAX {
        faulty(0);
    }
    #[cfg(feature = "log")]
    log::started();
    board
}

/// Answers what has come in on the first line.
fn serve_line(server: &mut Server, board: &mut Board) {
    while let Some(byte) = hw::serial::LINK.pop() {
        if let Some(answer) = server.byte(byte, board) {
            reply(&answer, None);
        }
    }
}

/// Answers what comes in on an emulator's debug channel, until that is closed. Nothing else goes on while it waits, so
/// that real time needs the line.
fn serve_channel(channel: Channel, server: &mut Server, board: &mut Board) {
    let mut room = [0; 512];
    let bytes = channel.read(&mut room);
    if bytes.is_empty() {
        channel.close();
        board.channel = None;
    }
    for &byte in bytes {
        if let Some(answer) = server.byte(byte, board) {
            reply(&answer, Some(channel));
        }
    }
}

/// Sends an answer the way the questions come; one that does not fit a frame cannot be made.
#[inline(never)]
fn reply(answer: &FromBoard, channel: Option<Channel>) {
    match (&frame(answer), channel) {
        (Err(_), _) => {}
        (Ok(bytes), Some(channel)) => _ = channel.write(bytes),
        (Ok(bytes), None) => bytes.iter().for_each(|&byte| hw::serial::write(byte)),
    }
}

#[cfg(feature = "faulty")]
#[inline(never)]
fn faulty(depth: usize) {
    let places = [core::hint::black_box(depth); 3];
    if places[depth] != 7 {
        faulty(core::hint::black_box(depth + 1));
    }
    core::hint::black_box(places);
}
