//! The processor's clock, and whether this is a real processor.

use super::{flash, put, rcc};
use core::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use cortex_m::peripheral::{DCB, DWT};

/// Internal oscillator, Hz.
const INTERNAL_HZ: u32 = 16_000_000;
/// From the crystal, Hz: a multiple of 16 MHz, so that 1 Mbaud and microseconds divide exactly.
const CRYSTAL_HZ: u32 = 64_000_000;
/// Clock of the emulator's timers, Hz.
const EMULATED_TIMER_HZ: u32 = 1_000_000_000;
/// Clock of the emulator's timer inside the processor, Hz.
const EMULATED_PROCESSOR_HZ: u32 = 168_000_000;
/// Longest wait for an oscillator, loops: some tens of milliseconds.
const PATIENCE: u32 = 200_000;

static CLOCK_HZ: AtomicU32 = AtomicU32::new(INTERNAL_HZ);
static EMULATED: AtomicBool = AtomicBool::new(false);
static RESET_FLAGS: AtomicU32 = AtomicU32::new(0);

/// Clock of processor and buses, Hz.
pub fn clock_hz() -> u32 {
    CLOCK_HZ.load(Ordering::Relaxed)
}

/// Clock at the timers' inputs, Hz.
pub fn timer_hz() -> u32 {
    if emulated() { EMULATED_TIMER_HZ } else { clock_hz() }
}

/// Clock of the timer inside the processor, Hz.
pub fn processor_timer_hz() -> u32 {
    if emulated() { EMULATED_PROCESSOR_HZ } else { clock_hz() }
}

/// Running in an emulator, as far as the cycle counter shows: it does not count there.
pub fn emulated() -> bool {
    EMULATED.load(Ordering::Relaxed)
}

/// Why the processor was reset, as its status register had it at start-up.
pub fn reset_flags() -> u32 {
    RESET_FLAGS.load(Ordering::Relaxed)
}

/// Cycles since start-up, wrapping; stands still in an emulator.
pub fn cycles() -> u32 {
    DWT::cycle_count()
}

/// Finds out where it runs, sets the clock and lets it reach the peripherals used.
pub fn start() {
    start_cycle_counter();
    if cfg!(feature = "crystal") && start_crystal() {
        CLOCK_HZ.store(CRYSTAL_HZ, Ordering::Relaxed);
    }
    let rcc = rcc();
    RESET_FLAGS.store(rcc.csr().read().bits(), Ordering::Relaxed);
    rcc.csr().modify(|_, w| w.rmvf().set_bit());
    rcc.ahb1enr().write(|w| w.gpioaen().set_bit().gpioben().set_bit().gpiocen().set_bit());
    rcc.apb1enr().write(|w| w.tim2en().set_bit().tim5en().set_bit().usart2en().set_bit());
    rcc.apb2enr().write(|w| w.usart1en().set_bit().tim8en().set_bit());
}

fn start_cycle_counter() {
    // SAFETY: start-up, nothing else runs yet; the counter has no effect on anything.
    let mut core = unsafe { cortex_m::Peripherals::steal() };
    DCB::enable_trace(&mut core.DCB);
    core.DWT.enable_cycle_counter();
    let before = cycles();
    cortex_m::asm::delay(100);
    EMULATED.store(cycles() == before, Ordering::Relaxed);
}

/// Crystal of 8 MHz, PLL to 64 MHz, slow bus at half of it. `false`, and all as before, if the crystal does not
/// start.
fn start_crystal() -> bool {
    let rcc = rcc();
    rcc.cr().modify(|_, w| w.hseon().set_bit());
    if !within_patience(|| rcc.cr().read().hserdy().bit_is_set()) {
        rcc.cr().modify(|_, w| w.hseon().clear_bit());
        return false;
    }
    // M 8, N 256, P 4 (01 in bit 16), source crystal (bit 22), Q 6: 8 MHz / 8 × 256 / 4.
    put(rcc.pllcfgr(), 8 | 256 << 6 | 1 << 16 | 1 << 22 | 6 << 24);
    rcc.cr().modify(|_, w| w.pllon().set_bit());
    if !within_patience(|| rcc.cr().read().pllrdy().bit_is_set()) {
        rcc.cr().modify(|_, w| w.pllon().clear_bit().hseon().clear_bit());
        return false;
    }
    // Two wait states above 60 MHz at 2.7 V and more, instruction and data caches and prefetch on.
    put(flash().acr(), 2 | 1 << 8 | 1 << 9 | 1 << 10);
    // APB1 at half the clock: its timers then count at the whole of it.
    rcc.cfgr().modify(|_, w| w.ppre1().div2().sw().pll());
    within_patience(|| rcc.cfgr().read().sws().is_pll())
}

fn within_patience(ready: impl Fn() -> bool) -> bool {
    (0..PATIENCE).any(|_| ready())
}
