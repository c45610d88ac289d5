//! The hard fault's entry, and the record in memory that a reset keeps.

use core::sync::atomic::{AtomicU32, Ordering};

/// Words of the record.
pub const WORDS: usize = 8;

/// Not cleared at start-up; holds rubbish after power-on.
#[unsafe(link_section = ".uninit.post_mortem")]
static RECORD: [AtomicU32; WORDS] = [const { AtomicU32::new(0) }; WORDS];

/// The record as it lies in memory.
pub fn record() -> [u32; WORDS] {
    core::array::from_fn(|index| RECORD.get(index).map_or(0, |word| word.load(Ordering::Relaxed)))
}

/// Writes the record.
pub fn set_record(words: [u32; WORDS]) {
    for (to, word) in RECORD.iter().zip(words) {
        to.store(word, Ordering::Relaxed);
    }
    cortex_m::asm::dsb();
}

/// Resets the processor.
pub fn reset() -> ! {
    cortex_m::peripheral::SCB::sys_reset()
}

/// Configurable fault status.
pub fn fault_status() -> u32 {
    // SAFETY: reading the register has no effect.
    unsafe { (*cortex_m::peripheral::SCB::PTR).cfsr.read() }
}

// A stack that has run into its end cannot take another word, so that a handler that uses it locks the processor up:
// the stack pointer goes back to the top first, the old one is handed on.
core::arch::global_asm!(
    ".section .HardFault.entry, \"ax\"",
    ".global HardFault",
    ".type HardFault,%function",
    ".thumb_func",
    "HardFault:",
    "mrs r0, msp",
    "ldr r1, =_stack_start",
    "msr msp, r1",
    "b {handler}",
    ".ltorg",
    ".size HardFault, . - HardFault",
    handler = sym hard_fault,
);

unsafe extern "C" fn hard_fault(stack: u32) -> ! {
    let (lr, pc) = super::stack::interrupted_at(stack);
    crate::failure::hard_fault(super::stack::holds_frame(stack), pc, lr)
}
