//! Frames: a zero, the COBS-encoded message with its check sum, a zero.
//!
//! | bytes | what |
//! | --- | --- |
//! | 1 | 0x00: ends whatever was torn before |
//! | n | COBS of (message in postcard form, then CRC-32/ISO-HDLC, little end first) |
//! | 1 | 0x00 |
//!
//! The check sum is over the protocol's version, one byte that is not sent, and the message: a peer of another version
//! finds every frame unsound instead of misreading it. Only greetings, whose messages begin with a zero, leave the version
//! out of the check sum. They are what every version, this and later, reads of every other: the question is the one
//! byte 00, the answer 00, the version of who answers, and whatever that version adds.
//!
//! A zero never stands inside a frame (S. Cheshire and M. Baker, *Consistent Overhead Byte Stuffing*, IEEE/ACM
//! Trans. Networking 7(2), 1999), so that after any damage the next zero begins a clean frame.

use crate::message::VERSION;
use cobs::{DecodeResult, DecoderState, EncoderState, PushResult};
use crc::{CRC_32_ISO_HDLC, Crc, Table};
use heapless::Vec;
use serde::{Serialize, de::DeserializeOwned};

/// Longest frame, both zeros included.
pub const MAX_FRAME: usize = 3_072;
const MAX_MESSAGE: usize = MAX_FRAME - MAX_FRAME / 254 - 8;
const CHECKSUM: Crc<u32, Table<1>> = Crc::<u32, Table<1>>::new(&CRC_32_ISO_HDLC);

/// Why bytes are no message.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum FrameError {
    /// Longer than [`MAX_FRAME`].
    TooLong,
    /// Not a COBS encoding, or too short to hold a check sum.
    Torn,
    /// Check sum does not match.
    Checksum,
    /// A sound frame, but its content is not a message of this version.
    Content,
    /// The greeting of a peer that speaks this version.
    Version(u8),
}

/// Writes a message as a frame.
///
/// # Errors
/// [`FrameError::TooLong`] if the message does not fit.
#[inline(never)]
pub fn frame<T: Serialize>(message: &T) -> Result<Vec<u8, MAX_FRAME>, FrameError> {
    let mut plain = [0_u8; MAX_MESSAGE];
    let used = postcard::to_slice(message, &mut plain).map_err(|_| FrameError::TooLong)?.len();
    let sum = checksum(plain.get(..used).ok_or(FrameError::TooLong)?);
    let room = plain.get_mut(used..used + 4).ok_or(FrameError::TooLong)?;
    for (byte, sum) in room.iter_mut().zip(sum.to_le_bytes()) {
        *byte = sum;
    }
    let plain = plain.get(..used + 4).ok_or(FrameError::TooLong)?;
    let mut out = Vec::new();
    stuff(plain, &mut out).ok_or(FrameError::TooLong)?;
    Ok(out)
}

/// Writes a zero, the COBS encoding and a zero; `None` if they do not fit.
///
/// Byte by byte through the library's state machine: its whole-slice encoder indexes in ways that the compiler
/// cannot prove free of panics.
#[inline(never)]
fn stuff(plain: &[u8], out: &mut Vec<u8, MAX_FRAME>) -> Option<()> {
    let mut encoder = EncoderState::default();
    // The encoder's indices count from its own first byte, which follows the opening zero.
    const FIRST: usize = 1;
    out.extend_from_slice(&[0, 0]).ok()?;
    let mut ends_full = false;
    for &byte in plain {
        ends_full = false;
        match encoder.push(byte) {
            PushResult::AddSingle(byte) => out.push(byte).ok()?,
            PushResult::ModifyFromStartAndSkip((at, code)) => {
                *out.get_mut(FIRST + at)? = code;
                out.push(0).ok()?;
            }
            PushResult::ModifyFromStartAndPushAndSkip((at, code, byte)) => {
                *out.get_mut(FIRST + at)? = code;
                out.extend_from_slice(&[byte, 0]).ok()?;
                ends_full = true;
            }
        }
    }
    if ends_full {
        // A full run of 254 bytes at the end needs no empty run after it; its place serves as the closing zero.
        return Some(());
    }
    let (at, code) = encoder.finalize();
    *out.get_mut(FIRST + at)? = code;
    out.push(0).ok()
}

/// First byte of a greeting: the number of `Hello`, the first message of either direction.
const GREETING: u8 = 0;

/// Check sum of a message: of the version and it, or of it alone if it is a greeting.
fn checksum(message: &[u8]) -> u32 {
    let mut digest = CHECKSUM.digest();
    if message.first() != Some(&GREETING) {
        digest.update(&[VERSION]);
    }
    digest.update(message);
    digest.finalize()
}

/// Collects bytes and gives messages.
#[derive(Clone, Debug, Default)]
pub struct Unframer {
    bytes: Vec<u8, MAX_FRAME>,
    overrun: bool,
    /// Frames that were no message, since the start; saturates.
    pub bad: u32,
}

impl Unframer {
    /// Nothing received yet.
    pub const fn new() -> Self {
        Self { bytes: Vec::new(), overrun: false, bad: 0 }
    }

    /// Takes a byte; at the end of a frame gives its message, or why it is none. Empty frames give nothing.
    pub fn push<T: DeserializeOwned>(&mut self, byte: u8) -> Option<Result<T, FrameError>> {
        if byte != 0 {
            self.overrun |= self.bytes.push(byte).is_err();
            return None;
        }
        if self.bytes.is_empty() {
            return None;
        }
        let result = if self.overrun { Err(FrameError::TooLong) } else { decode(&mut self.bytes) };
        self.bytes.clear();
        self.overrun = false;
        if result.is_err() {
            self.bad = self.bad.saturating_add(1);
        }
        Some(result)
    }
}

#[inline(never)]
fn decode<T: DeserializeOwned>(bytes: &mut [u8]) -> Result<T, FrameError> {
    let used = unstuff(bytes).ok_or(FrameError::Torn)?;
    let plain = bytes.get(..used).ok_or(FrameError::Torn)?;
    let (message, sum) = plain.split_last_chunk::<4>().ok_or(FrameError::Torn)?;
    if checksum(message) != u32::from_le_bytes(*sum) {
        return Err(FrameError::Checksum);
    }
    if let [GREETING, version, ..] = message
        && *version != VERSION
    {
        return Err(FrameError::Version(*version));
    }
    match postcard::take_from_bytes::<T>(message) {
        Ok((value, [])) => Ok(value),
        _ => Err(FrameError::Content),
    }
}

/// Takes the COBS encoding off in place; the number of bytes left.
#[inline(never)]
fn unstuff(bytes: &mut [u8]) -> Option<usize> {
    let mut decoder = DecoderState::default();
    let mut length = 0_usize;
    for at in 0..bytes.len() {
        let byte = *bytes.get(at)?;
        if let DecodeResult::DataContinue(decoded) = decoder.feed(byte).ok()? {
            // What comes out is never ahead of what went in.
            *bytes.get_mut(length)? = decoded;
            length += 1;
        }
    }
    matches!(decoder.feed(0), Ok(DecodeResult::DataComplete)).then_some(length)
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use proptest::prelude::*;

    fn stuffed(plain: &[u8]) -> std::vec::Vec<u8> {
        let mut out = Vec::new();
        stuff(plain, &mut out).unwrap();
        out.to_vec()
    }

    /// Worked examples of the COBS paper and of general use, between their zeros.
    #[test]
    fn known_encodings() {
        assert_eq!(stuffed(&[0]), [0, 1, 1, 0]);
        assert_eq!(stuffed(&[0, 0]), [0, 1, 1, 1, 0]);
        assert_eq!(stuffed(&[0x11, 0x22, 0, 0x33]), [0, 3, 0x11, 0x22, 2, 0x33, 0]);
        let run: std::vec::Vec<u8> = (1..=254).collect();
        assert_eq!(stuffed(&run).len(), 257, "254 bytes take 255, without a closing 01");
        let longer: std::vec::Vec<u8> = (1..=255).collect();
        let out = stuffed(&longer);
        assert_eq!((out[1], &out[256..]), (0xff, &[2, 0xff, 0][..]));
    }

    /// CRC-32/ISO-HDLC of "123456789" is CBF43926.
    #[test]
    fn known_check_sum() {
        assert_eq!(CHECKSUM.checksum(b"123456789"), 0xcbf4_3926);
    }

    proptest! {
        #[test]
        fn stuffing_comes_off_again(plain in proptest::collection::vec(any::<u8>(), 1..600)) {
            let mut out = stuffed(&plain);
            let end = out.len() - 1;
            prop_assert!(out[1..end].iter().all(|&byte| byte != 0));
            let body = &mut out[1..end];
            let used = unstuff(body).unwrap();
            prop_assert_eq!(&body[..used], plain.as_slice());
        }

        #[test]
        fn any_bytes_are_a_message_or_counted_as_bad(bytes in proptest::collection::vec(any::<u8>(), 0..5_000)) {
            let mut unframer = Unframer::new();
            for &byte in &bytes {
                if let Some(result) = unframer.push::<(u32, u8)>(byte) {
                    prop_assert!(result.is_ok() || unframer.bad > 0);
                }
            }
        }

        #[test]
        fn one_flipped_bit_is_never_a_message(value in (1..u32::MAX, any::<u16>()), bit in 0_usize..200) {
            let mut bytes = frame(&value).unwrap();
            let bit = bit % (8 * bytes.len());
            bytes[bit / 8] ^= 1 << (bit % 8);
            let mut unframer = Unframer::new();
            for &byte in &bytes {
                if let Some(Ok(read)) = unframer.push::<(u32, u16)>(byte) {
                    // A flip in the opening zero leaves the frame itself whole.
                    prop_assert!(bit < 8 && read == value);
                }
            }
        }
    }
}
