//! Timers: TIM2 counts what a step costs where cycles are not counted, TIM3 makes the base tick.

use super::{clock, put, tim2, tim3};
use core::sync::atomic::{AtomicU32, Ordering};
use stillframe_controller::io::TICK_US;
use stm32f4::stm32f405::{Interrupt, interrupt};

static TICKS: AtomicU32 = AtomicU32::new(0);

/// Starts both.
pub fn start() {
    tim2().cr1().write(|w| w.cen().set_bit());
    let timer = tim3();
    put(timer.psc(), microseconds());
    put(timer.arr(), TICK_US - 1);
    timer.egr().write(|w| w.ug().set_bit());
    timer.sr().write(|w| w.uif().clear_bit());
    timer.dier().write(|w| w.uie().set_bit());
    timer.cr1().write(|w| w.cen().set_bit());
    super::enable(Interrupt::TIM3, 2);
}

/// Prescaler for a count of microseconds.
fn microseconds() -> u32 {
    (clock::timer_hz() / 1_000_000).saturating_sub(1)
}

/// Counts of TIM2, wrapping: ticks of the timers' clock.
pub fn fine() -> u32 {
    tim2().cnt().read().bits()
}

/// Base ticks since start-up, wrapping.
pub fn ticks() -> u32 {
    TICKS.load(Ordering::Relaxed)
}

#[interrupt]
fn TIM3() {
    tim3().sr().write(|w| w.uif().clear_bit());
    TICKS.store(TICKS.load(Ordering::Relaxed).wrapping_add(1), Ordering::Relaxed);
    crate::watchdog::tick();
}
