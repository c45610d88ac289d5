//! Serial lines: the first carries the link, the second the log.

use super::{clock, priority, put, usart1, usart2};
use stillframe_drivers::ring::Ring;
use stm32f4::stm32f405::{Interrupt, interrupt};

/// Speed of both lines, baud.
pub const BAUD: u32 = 1_000_000;

/// Bytes that came in on the link. Longer than the longest frame: one frame is under way at a time.
pub static LINK: Ring<4_096> = Ring::new();
/// Bytes of the log that are to go out. What finds no room is dropped: a log never holds up the flight code.
pub static LOG: Ring<1_024> = Ring::new();

/// Starts both lines: 1 Mbaud, 8 bits, no parity, one stop bit.
pub fn start() {
    let clock_hz = clock::clock_hz();
    // The divisor is in sixteenths: with 16-fold oversampling it is simply the ratio of the two clocks.
    put(usart1().brr(), divisor(clock_hz));
    usart1().cr1().write(|w| w.ue().set_bit().te().set_bit().re().set_bit().rxneie().set_bit());
    // The second line hangs on the slow bus, which runs at half the clock when that comes from the crystal.
    let slow_hz = if clock_hz > 42_000_000 { clock_hz / 2 } else { clock_hz };
    put(usart2().brr(), divisor(slow_hz));
    usart2().cr1().write(|w| w.ue().set_bit().te().set_bit());
    priority::enable(Interrupt::USART1, priority::LINK);
}

fn divisor(clock_hz: u32) -> u16 {
    (clock_hz / BAUD) as u16
}

/// Sends a byte on the link, waiting for room in the transmitter: at most 10 µs.
pub fn write(byte: u8) {
    while usart1().sr().read().txe().bit_is_clear() {}
    put(usart1().dr(), u16::from(byte));
}

/// Sends what the log holds, as far as the transmitter takes it without waiting.
pub fn drain_log() {
    while usart2().sr().read().txe().bit_is_set() {
        match LOG.pop() {
            Some(byte) => put(usart2().dr(), u16::from(byte)),
            None => return,
        }
    }
}

#[interrupt]
fn USART1() {
    if usart1().sr().read().rxne().bit_is_set() {
        let byte = usart1().dr().read().bits() as u8;
        LINK.push(byte);
        // Only the end of a frame is worth a turn of the work; the base tick calls for one anyway.
        if byte == 0 {
            priority::call_for_work();
        }
    } else {
        // An overrun without a byte: reading the data register clears it.
        let _ = usart1().dr().read();
    }
}
