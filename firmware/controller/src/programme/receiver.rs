//! Loads out of the radio's byte stream.
//!
//! A load travels COBS-encoded between zero bytes (S. Cheshire and M. Baker, *Consistent Overhead Byte
//! Stuffing*, IEEE/ACM Trans. Networking 7(2), 1999), so that a torn frame costs only itself.

use super::load::{Load, LoadError, MAX_BYTES};
use heapless::Vec;

/// Collects the bytes of one frame.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Receiver {
    frame: Vec<u8, { MAX_BYTES + MAX_BYTES / 254 + 2 }>,
    overrun: bool,
}

impl Receiver {
    /// Takes one byte; a whole frame gives a load or the reason it is none. Empty frames (fill) give nothing.
    pub fn push(&mut self, byte: u8) -> Option<Result<Load, LoadError>> {
        if byte != 0 {
            if self.frame.push(byte).is_err() {
                self.overrun = true;
            }
            return None;
        }
        if self.frame.is_empty() {
            return None;
        }
        let result = if self.overrun { Err(LoadError::Length) } else { self.decode() };
        self.frame.clear();
        self.overrun = false;
        Some(result)
    }

    fn decode(&mut self) -> Result<Load, LoadError> {
        let report = cobs::decode_in_place(&mut self.frame).map_err(|_| LoadError::Length)?;
        let bytes = self.frame.get(..report).ok_or(LoadError::Length)?;
        Load::decode(bytes)
    }
}
