//! The log: defmt frames into a ring, from which the main loop sends them on the second line.

use crate::hw::{clock, serial::LOG};

// Time of a message: base ticks stepped since the reset, which is the flight's own time in every mode.
defmt::timestamp!("{=u32}", crate::failure::STEPS.load(core::sync::atomic::Ordering::Relaxed));

/// Says that the board is up, and why.
pub fn started() {
    let (clock_hz, emulated, flags) = (clock::clock_hz(), clock::emulated(), clock::reset_flags());
    defmt::info!("up at {=u32} Hz, emulated {=bool}, reset flags {=u32:#x}", clock_hz, emulated, flags);
    if let Some(record) = crate::failure::post_mortem() {
        defmt::error!("failed before: cause {=u32}, pc {=u32:#x}, count {=u32}", record.cause, record.pc, record.count);
    }
}

pub(crate) fn push(bytes: &[u8]) {
    for &byte in bytes {
        LOG.push(byte);
    }
}
