//! How deep the stack has been.

use core::ptr;

/// What start-up paints the stack with.
const PAINT: u32 = cortex_m_rt::STACK_PAINT_VALUE;

unsafe extern "C" {
    static _stack_end: u32;
    static _stack_start: u32;
}

/// Lowest and highest address of the stack.
pub fn bounds() -> (u32, u32) {
    (&raw const _stack_end as u32, &raw const _stack_start as u32)
}

/// Deepest use and size, bytes.
pub fn used_and_size() -> (u32, u32) {
    let (low, high) = bounds();
    let mut at = low;
    // SAFETY: the linker script's stack, word by word, is memory of this program for all time.
    while at < high && unsafe { ptr::read_volatile(at as *const u32) } == PAINT {
        at += 4;
    }
    (high - at, high - low)
}

/// Whether what the processor pushes when it enters a handler lies inside the stack at this stack pointer: eight
/// words, or 26 with those of the floating-point unit.
pub fn holds_frame(stack: u32) -> bool {
    let (low, high) = bounds();
    stack >= low && stack.saturating_add(32) <= high
}

/// Link register and program counter from before a handler was entered with this stack pointer; zeros if that is not
/// inside the stack.
pub fn interrupted_at(stack: u32) -> (u32, u32) {
    let word = |offset: u32| {
        if holds_frame(stack) {
            // SAFETY: inside the stack, as just looked at, and aligned as the processor aligns its stack.
            unsafe { ptr::read_volatile((stack + offset) as *const u32) }
        } else {
            0
        }
    };
    (word(20), word(24))
}
