//! When something has failed: outputs safe, a record that survives the reset, a reset.

use crate::hw::{fault, gpio};
use core::sync::atomic::{AtomicU32, Ordering};
use stillframe_wire::PostMortem;

/// Marks a record as one, against the rubbish that memory holds after power-on.
const MARK: u32 = 0x5f_4d_50_31;
#[cfg(not(feature = "never-panic"))]
const PANIC: u32 = 1;
const HARD_FAULT: u32 = 2;
const WATCHDOG: u32 = 3;
const STACK_GUARD: u32 = 4;

/// Steps taken, for the record.
pub static STEPS: AtomicU32 = AtomicU32::new(0);

/// The record of the last failure, if there is one.
pub fn post_mortem() -> Option<PostMortem> {
    let [mark, cause, pc, lr, cfsr, steps, count, sum] = fault::record();
    let sound = mark == MARK && sum == check(cause, pc, lr, cfsr, steps, count);
    sound.then_some(PostMortem { cause, pc, lr, cfsr, steps, count })
}

fn check(cause: u32, pc: u32, lr: u32, cfsr: u32, steps: u32, count: u32) -> u32 {
    [cause, pc, lr, cfsr, steps, count].iter().fold(MARK, |sum, word| sum.rotate_left(5) ^ word)
}

fn fail(cause: u32, pc: u32, lr: u32) -> ! {
    cortex_m::interrupt::disable();
    gpio::all_low();
    let count = post_mortem().map_or(0, |record| record.count).saturating_add(1);
    let (cfsr, steps) = (fault::fault_status(), STEPS.load(Ordering::Relaxed));
    fault::set_record([MARK, cause, pc, lr, cfsr, steps, count, check(cause, pc, lr, cfsr, steps, count)]);
    fault::reset()
}

/// The watchdog ran out. Program counter and link register tell where the board was then.
pub fn watchdog(pc: u32, lr: u32) -> ! {
    fail(WATCHDOG, pc, lr)
}

/// A hard fault. With the stack pointer outside the stack it is the stack that ran over.
pub fn hard_fault(stack_sound: bool, pc: u32, lr: u32) -> ! {
    fail(if stack_sound { HARD_FAULT } else { STACK_GUARD }, pc, lr)
}

#[cfg(not(feature = "never-panic"))]
#[panic_handler]
fn panic(_: &core::panic::PanicInfo) -> ! {
    fail(PANIC, 0, 0)
}

#[cfg(feature = "never-panic")]
#[panic_handler]
fn panic(_: &core::panic::PanicInfo) -> ! {
    crate::hw::never_reached()
}
