//! TIM5 calls when an edge is due. Microseconds since the tick's beginning come from TIM2, which never stops.

use super::{clock, priority, put, tim5, timers};
use core::num::NonZeroU32;
use stillframe_drivers::edges::EdgeTimer;
use stm32f4::stm32f405::{Interrupt, interrupt};

/// The timer behind the edges of valves and shutter.
///
/// An edge comes late by the interrupt's entry and what holds it off: a few µs at 16 MHz, 20 µs while a message of
/// the log is written.
#[derive(Debug)]
pub struct Alarm {
    began: u32,
    per_us: NonZeroU32,
}

impl Alarm {
    /// Sets the timer up, disarmed.
    pub fn start() -> Self {
        let per_us = NonZeroU32::new(clock::timer_hz() / 1_000_000).unwrap_or(NonZeroU32::MIN);
        put(tim5().psc(), per_us.get() - 1);
        priority::enable(Interrupt::TIM5, priority::EDGES);
        Self { began: timers::fine(), per_us }
    }
}

impl EdgeTimer for Alarm {
    fn restart(&mut self) {
        self.began = timers::fine();
    }

    fn now_us(&self) -> u16 {
        let us = timers::fine().wrapping_sub(self.began) / self.per_us;
        us.min(u32::from(u16::MAX)) as u16
    }

    fn arm(&mut self, at_us: u16) {
        let timer = tim5();
        let wait_us = u32::from(at_us.saturating_sub(self.now_us())).max(1);
        timer.cr1().write(|w| w.urs().set_bit());
        put(timer.arr(), wait_us);
        timer.egr().write(|w| w.ug().set_bit());
        timer.sr().write(|w| w.uif().clear_bit());
        timer.dier().write(|w| w.uie().set_bit());
        timer.cr1().write(|w| w.urs().set_bit().opm().set_bit().cen().set_bit());
    }

    fn disarm(&mut self) {
        stop();
    }
}

fn stop() {
    tim5().cr1().write(|w| w.urs().set_bit());
    tim5().sr().write(|w| w.uif().clear_bit());
}

#[interrupt]
fn TIM5() {
    stop();
    crate::machine::edge_due();
}
