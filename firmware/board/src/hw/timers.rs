//! Timers: TIM2 counts what a step costs where cycles are not counted, the processor's own timer makes the base tick
//! and drives the watchdog.
//!
//! Neither is left to one of the chip's timers with an interrupt, because the emulator's do not keep their period.

use super::{clock, priority, tim2};
use core::sync::atomic::{AtomicU32, Ordering};
use cortex_m::peripheral::{SYST, syst::SystClkSource};
use stillframe_controller::io::TICKS_PER_S;

/// Looks at the processor's timer that [`let_tick_pass`] takes at most: far more than go by before the tick comes.
const PATIENCE: u32 = 1_000_000;

static TICKS: AtomicU32 = AtomicU32::new(0);

/// Starts both.
pub fn start() {
    tim2().cr1().write(|w| w.cen().set_bit());
    // SAFETY: start-up; nothing else uses the processor's timer.
    let mut core = unsafe { cortex_m::Peripherals::steal() };
    core.SYST.set_clock_source(SystClkSource::Core);
    core.SYST.set_reload(clock::processor_timer_hz() / TICKS_PER_S - 1);
    core.SYST.clear_current();
    core.SYST.enable_interrupt();
    core.SYST.enable_counter();
}

/// Counts of TIM2, wrapping: ticks of the timers' clock.
pub fn fine() -> u32 {
    tim2().cnt().read().bits()
}

/// Base ticks since start-up, wrapping.
pub fn ticks() -> u32 {
    TICKS.load(Ordering::Relaxed)
}

/// Waits for the base tick if it is due in less than 200 µs, so that it does not come into what is counted next.
pub fn let_tick_pass() {
    let near = clock::processor_timer_hz() / 5_000;
    let _ = (0..PATIENCE).any(|_| SYST::get_current() > near);
}

// The handler is told the stack pointer, above which the processor has left where it was interrupted.
core::arch::global_asm!(
    ".section .text.SysTick, \"ax\"",
    ".global SysTick",
    ".type SysTick,%function",
    ".thumb_func",
    "SysTick:",
    "mrs r0, msp",
    "b {handler}",
    ".size SysTick, . - SysTick",
    handler = sym tick,
);

unsafe extern "C" fn tick(stack: u32) {
    TICKS.store(TICKS.load(Ordering::Relaxed).wrapping_add(1), Ordering::Relaxed);
    if crate::watchdog::starved() {
        let (lr, pc) = super::stack::interrupted_at(stack);
        crate::failure::watchdog(pc, lr);
    }
    priority::call_for_work();
}
