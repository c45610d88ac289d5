//! An output line that knows its level.

use embedded_hal::digital::OutputPin;

/// An output line. Low is its safe state.
#[derive(Debug)]
pub struct Line<P> {
    pin: P,
    high: bool,
}

impl<P: OutputPin> Line<P> {
    /// Takes the pin over, without driving it yet.
    pub fn new(pin: P) -> Self {
        Self { pin, high: false }
    }

    /// Drives the line. It is written even if it should have the level already: a register that has been upset is
    /// put right within a tick.
    ///
    /// # Errors
    /// The pin's.
    pub fn set(&mut self, high: bool) -> Result<(), P::Error> {
        self.high = high;
        if high { self.pin.set_high() } else { self.pin.set_low() }
    }

    /// Level last written.
    pub fn is_high(&self) -> bool {
        self.high
    }

    /// The pin itself.
    pub fn into_pin(self) -> P {
        self.pin
    }
}
