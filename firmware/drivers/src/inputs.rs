//! Sensor readers: encoders, horizon sensor, safing sense.

use embedded_hal::digital::InputPin;
use stillframe_controller::io::HorizonSample;

/// Follows a 16-bit counter that a quadrature encoder drives, and counts on in 32 bits.
///
/// Read at least once in 32,767 counts: the shorter way round is taken.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
pub struct Encoder {
    counts: u32,
    last: u16,
}

impl Encoder {
    /// Starts at zero, with the counter standing at `raw`.
    pub const fn new(raw: u16) -> Self {
        Self { counts: 0, last: raw }
    }

    /// Takes a reading and gives the counts since the start; wraps.
    pub fn read(&mut self, raw: u16) -> u32 {
        let moved = raw.wrapping_sub(self.last) as i16;
        self.last = raw;
        self.counts = self.counts.wrapping_add_signed(i32::from(moved));
        self.counts
    }
}

/// Length of a horizon sensor's record, bytes.
pub const HORIZON_BYTES: usize = 7;
/// Tilt of one count in a horizon sensor's record, rad.
pub const HORIZON_COUNT_RAD: f32 = 1e-5;
const LOCKED: u8 = 1;

/// Reads a horizon sensor's record: sequence, flags (bit 0: locked), roll and pitch in counts of 10 µrad, little end
/// first and signed, and a byte that makes the sum of all seven zero. This format is this project's own.
///
/// `None` if the sum is wrong.
pub fn horizon(record: &[u8; HORIZON_BYTES]) -> Option<HorizonSample> {
    let [sequence, flags, roll_low, roll_high, pitch_low, pitch_high, _] = *record;
    if record.iter().fold(0_u8, |sum, byte| sum.wrapping_add(*byte)) != 0 {
        return None;
    }
    let angle_rad = |low, high| f32::from(i16::from_le_bytes([low, high])) * HORIZON_COUNT_RAD;
    Some(HorizonSample {
        sequence,
        locked: flags & LOCKED != 0,
        roll_rad: angle_rad(roll_low, roll_high),
        pitch_rad: angle_rad(pitch_low, pitch_high),
    })
}

/// Readings in a row that must agree before a sense is believed to have opened: contacts bounce.
pub const SENSE_READINGS: u8 = 5;

/// A contact that is closed (low) while the vehicle sits on its carrier, with a pull-up.
///
/// Opening is believed after [`SENSE_READINGS`] readings in a row, closing at once: it is the safe side. An input that
/// cannot be read counts as closed.
#[derive(Debug)]
pub struct Sense<P> {
    pin: P,
    open_readings: u8,
}

impl<P: InputPin> Sense<P> {
    /// Believed closed until it has been read.
    pub fn new(pin: P) -> Self {
        Self { pin, open_readings: 0 }
    }

    /// Takes a reading; `true` if the contact is believed open.
    pub fn read(&mut self) -> bool {
        let open = self.pin.is_high().unwrap_or(false);
        self.open_readings = if open { self.open_readings.saturating_add(1).min(SENSE_READINGS) } else { 0 };
        self.open_readings >= SENSE_READINGS
    }

    /// The pin itself.
    pub fn into_pin(self) -> P {
        self.pin
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use embedded_hal_mock::eh1::{
        MockError,
        digital::{Mock, State, Transaction},
    };
    use std::{io::ErrorKind, vec::Vec};

    #[test]
    fn an_encoder_counts_over_its_ends_both_ways() {
        let mut encoder = Encoder::new(65_000);
        assert_eq!(encoder.read(65_535), 535);
        assert_eq!(encoder.read(100), 636);
        assert_eq!(encoder.read(65_500), 500);
        assert_eq!(encoder.read(64_990), 0_u32.wrapping_sub(10));
    }

    #[test]
    fn a_horizon_record_is_read_and_a_damaged_one_is_not() {
        // Sequence 7, locked, +0.05 rad (5,000 counts: 1388h), −0.01 rad (−1,000 counts: FC18h).
        let mut record = [7, 1, 0x88, 0x13, 0x18, 0xfc, 0];
        record[6] = 0_u8.wrapping_sub(record.iter().fold(0, |sum: u8, byte| sum.wrapping_add(*byte)));
        let sample = horizon(&record).unwrap();
        assert_eq!((sample.sequence, sample.locked), (7, true));
        assert!((sample.roll_rad - 0.05).abs() < 1e-7 && (sample.pitch_rad + 0.01).abs() < 1e-7);
        for byte in 0..HORIZON_BYTES {
            for bit in 0..8 {
                let mut damaged = record;
                damaged[byte] ^= 1 << bit;
                assert_eq!(horizon(&damaged), None);
            }
        }
    }

    #[test]
    fn a_sense_opens_after_five_readings_and_closes_at_once() {
        let (high, low) = (Transaction::get(State::High), Transaction::get(State::Low));
        let failing = Transaction::get(State::High).with_error(MockError::Io(ErrorKind::Other));
        let mut readings = std::vec![high.clone(); 4];
        readings.push(low);
        readings.extend(std::vec![high.clone(); 6]);
        readings.push(failing);
        readings.push(high);
        let count = readings.len();
        let mut sense = Sense::new(Mock::new(&readings));
        let believed: Vec<usize> = (0..count).filter(|_| sense.read()).collect();
        assert_eq!(believed, [9, 10]);
        sense.into_pin().done();
    }
}
