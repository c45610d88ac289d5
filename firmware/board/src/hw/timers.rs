//! Timers: TIM2 counts what a step costs where cycles are not counted, the processor's own timer makes the base tick.
//!
//! The base tick is not left to one of the chip's timers, because the emulator's do not keep their period.

use super::{clock, tim2};
use core::sync::atomic::{AtomicU32, Ordering};
use cortex_m::peripheral::{scb::SystemHandler, syst::SystClkSource};
use cortex_m_rt::exception;
use stillframe_controller::io::TICKS_PER_S;

static TICKS: AtomicU32 = AtomicU32::new(0);

/// Starts both.
pub fn start() {
    tim2().cr1().write(|w| w.cen().set_bit());
    // SAFETY: start-up; nothing else uses the processor's timer.
    let mut core = unsafe { cortex_m::Peripherals::steal() };
    core.SYST.set_clock_source(SystClkSource::Core);
    core.SYST.set_reload(clock::processor_timer_hz() / TICKS_PER_S - 1);
    core.SYST.clear_current();
    // SAFETY: the priority is set before the interrupt is enabled.
    unsafe { core.SCB.set_priority(SystemHandler::SysTick, 2 << 4) };
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

#[exception]
fn SysTick() {
    TICKS.store(TICKS.load(Ordering::Relaxed).wrapping_add(1), Ordering::Relaxed);
    crate::watchdog::tick();
}
