//! Who interrupts whom, and how interrupts are held off.
//!
//! | priority | who |
//! | --- | --- |
//! | 0 | base tick, and with it the watchdog |
//! | 1 | bytes of the link |
//! | 2 | edges of valves and shutter |
//! | 15 | the work, which the others call for; below it the processor sleeps |
//!
//! Interrupts are held off by raising the base priority, never by masking them all, so that whatever hangs, also with
//! interrupts held off, hangs below the watchdog. Nothing at priorities 0 and 1 enters a critical section: what they
//! share is atomic.
//!
//! The work is an interrupt itself, the least urgent. Were it the main program, it would have to look for work and
//! sleep with interrupts masked, so that none slips in between; so there is nothing between looking and sleeping.

use cortex_m::{
    peripheral::{SCB, scb::SystemHandler},
    register::{basepri, basepri_max},
};
use stm32f4::stm32f405::{self as pac, NVIC};

/// Bytes of the link.
pub const LINK: u8 = 1;
/// Edges of valves and shutter.
pub const EDGES: u8 = 2;
const TICK: u8 = 0;
const WORK: u8 = 15;

/// The chip has the upper four bits of a priority.
const fn bits(priority: u8) -> u8 {
    priority << 4
}

/// Sets the priorities of the processor's own interrupts.
pub fn start() {
    // SAFETY: start-up, before anything relies on an interrupt being held off.
    unsafe {
        let mut core = cortex_m::Peripherals::steal();
        core.SCB.set_priority(SystemHandler::SysTick, bits(TICK));
        core.SCB.set_priority(SystemHandler::PendSV, bits(WORK));
    }
}

/// Lets one of the chip's interrupts through.
pub fn enable(interrupt: pac::Interrupt, priority: u8) {
    // SAFETY: start-up, as above.
    unsafe {
        let mut core = cortex_m::Peripherals::steal();
        core.NVIC.set_priority(interrupt, bits(priority));
        NVIC::unmask(interrupt);
    }
}

/// Calls for a turn of the work, as soon as nothing more urgent is going on.
pub fn call_for_work() {
    SCB::set_pendsv();
}

/// Holds off all but the base tick until [`resume`]; for the counting of instructions only.
pub fn hold() {
    // SAFETY: raising the base priority only ever holds off more.
    basepri_max::write(bits(LINK));
}

/// Ends [`hold`].
pub fn resume() {
    // SAFETY: only ever called outside critical sections.
    unsafe { basepri::write(0) };
}

struct Section;
critical_section::set_impl!(Section);

// SAFETY: one core; whatever enters a critical section runs at the edges' priority or below it, and is held off.
unsafe impl critical_section::Impl for Section {
    unsafe fn acquire() -> critical_section::RawRestoreState {
        let before = basepri::read();
        basepri_max::write(bits(EDGES));
        before
    }

    unsafe fn release(before: critical_section::RawRestoreState) {
        // SAFETY: back to what it was at the matching `acquire`.
        unsafe { basepri::write(before) };
    }
}
