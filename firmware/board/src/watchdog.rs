//! A watchdog that only work done feeds.
//!
//! In the loop it is fed by a finished step and by nothing else; out of it, or with outputs gone safe because the
//! link is silent, by every turn of the work. The chip's own watchdog is fed together with one that counts base ticks
//! in an interrupt above everything else: that one bites first and can say where the board hung, and an emulator has
//! no other.

use crate::hw;
use core::sync::atomic::{AtomicU32, Ordering};

/// Base ticks without food after which the board resets: half a second.
const LIMIT_TICKS: u32 = 50;

static HUNGRY_TICKS: AtomicU32 = AtomicU32::new(0);

/// Starts the chip's watchdog: it runs out after 0.7 to 1.9 s, by the spread of its own oscillator.
pub fn start() {
    let iwdg = hw::iwdg();
    hw::put(iwdg.kr(), 0x5555);
    // A 32nd of 17 to 47 kHz, thousand counts.
    hw::put(iwdg.pr(), 3);
    hw::put(iwdg.rlr(), 1_000);
    hw::put(iwdg.kr(), 0xcccc);
    feed();
}

/// Work has been done.
pub fn feed() {
    HUNGRY_TICKS.store(0, Ordering::Relaxed);
    hw::put(hw::iwdg().kr(), 0xaaaa);
}

/// A base tick went by: called from the timer's interrupt. `true` if that was one too many without food.
pub fn starved() -> bool {
    let hungry = HUNGRY_TICKS.load(Ordering::Relaxed).saturating_add(1);
    HUNGRY_TICKS.store(hungry, Ordering::Relaxed);
    hungry > LIMIT_TICKS
}
