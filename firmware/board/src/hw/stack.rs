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
