//! The defmt logger. Frames are written in a critical section, into memory only: tens of microseconds.

use crate::log::push;
use core::cell::{Cell, UnsafeCell};

#[defmt::global_logger]
struct Logger;

struct State {
    restore: Cell<critical_section::RestoreState>,
    encoder: UnsafeCell<defmt::Encoder>,
}

// SAFETY: touched only between `acquire` and `release`, inside a critical section, on a single core; what a critical
// section does not hold off logs nothing.
unsafe impl Sync for State {}

static STATE: State = State {
    restore: Cell::new(critical_section::RestoreState::invalid()),
    encoder: UnsafeCell::new(defmt::Encoder::new()),
};

// SAFETY: one core, and a critical section lasts from `acquire` to `release`, so that no second user can come between.
// A message inside another message's formatting would be the only way in; nothing here logs from a `Format`.
unsafe impl defmt::Logger for Logger {
    fn acquire() {
        // SAFETY: released with the same token in `release`.
        STATE.restore.set(unsafe { critical_section::acquire() });
        // SAFETY: inside the critical section: the only reference.
        unsafe { (*STATE.encoder.get()).start_frame(push) }
    }

    unsafe fn flush() {}

    unsafe fn release() {
        // SAFETY: as in `acquire`; the token is the one from there.
        unsafe {
            (*STATE.encoder.get()).end_frame(push);
            critical_section::release(STATE.restore.get());
        }
    }

    unsafe fn write(bytes: &[u8]) {
        // SAFETY: between `acquire` and `release`.
        unsafe { (*STATE.encoder.get()).write(bytes, push) }
    }
}
