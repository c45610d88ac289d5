//! The command load: what the ground sends, byte by byte, and what is refused.
//!
//! | bytes | field |
//! | --- | --- |
//! | 2 | `W1`: a load of this format's version |
//! | 2 | load counter; must rise from one accepted load to the next |
//! | 24 | [`Ephemeris`]: epoch tick, phase, phase per tick (u32), half acceleration, inclination, squared radius ratio (f32) |
//! | 2 | number of entries |
//! | 8 each | entry: tick (u32), kind (u8), a (u8), b (u16) |
//! | 2 | CRC-16/CCITT-FALSE over everything before |
//!
//! All numbers are big-endian. A load takes effect whole or not at all. What is refused is judged in
//! [`mod@super::check`].

use crate::attitude::{mode::Hold, orbit::Ephemeris};
use crc::{CRC_16_IBM_3740, Crc};
use heapless::Vec;

/// Most entries a load may hold.
pub const MAX_ENTRIES: usize = 320;
/// Bytes of the longest load.
pub const MAX_BYTES: usize = HEADER_BYTES + MAX_ENTRIES * ENTRY_BYTES + 2;
const HEADER_BYTES: usize = 30;
const ENTRY_BYTES: usize = 8;
const MARK: [u8; 2] = *b"W1";
/// CRC-16/CCITT-FALSE, catalogued as CRC-16/IBM-3740.
static CHECKSUM: Crc<u16> = Crc::<u16>::new(&CRC_16_IBM_3740);

/// One time-tagged command.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Entry {
    /// Base tick at which it acts.
    pub tick: u32,
    /// What it does.
    pub command: Command,
}

/// What an entry can do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Command {
    /// Expose from this tick on. `interval_ticks` paces a framing camera and is zero for a strip camera.
    CameraOn {
        /// Slit or shutter setting; 255 leaves the choice to the sequencer.
        slit: u8,
        /// Ticks between frames.
        interval_ticks: u16,
    },
    /// Stop exposing.
    CameraOff,
    /// Image speed of the motion-compensation programme, in the camera's speed steps.
    Speed(u16),
    /// Attitude hold wanted.
    Hold(Hold),
    /// Film cut and sealed. Cannot be undone.
    Secure,
    /// V/h under the camera at this time, worked out apart from the image speeds: in units of 10 nrad/s, 24 bits.
    Expect(u32),
    /// Receiver on, or off until the next such command. Off has effect only between
    /// [`HELD_OPEN_S`](crate::contact::HELD_OPEN_S) after the last telecommand and the time after which the receiver
    /// opens by itself.
    Receiver(bool),
    /// Silence after which the receiver opens by itself, minutes.
    OpenAfter(u16),
    /// Silence after which the vehicle makes itself safe and tries its other receiver, minutes.
    SafeAfter(u16),
}

/// A decoded load, not yet judged against the vehicle's state.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// Counter.
    pub counter: u16,
    /// Orbit constants.
    pub ephemeris: Ephemeris,
    /// Commands in order of time.
    pub entries: Vec<Entry, MAX_ENTRIES>,
}

/// Why a load, or another telecommand, was refused. Entries count from zero.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum LoadError {
    /// Fewer or more bytes than the entry count asks for.
    Length,
    /// Does not begin with the mark of this version.
    Mark,
    /// Check sum does not match.
    Checksum,
    /// More entries than the store holds.
    TooMany,
    /// Unknown kind or value in this entry.
    Entry(u16),
    /// Orbit constants that are not numbers or out of range.
    Ephemeris,
    /// The counter does not rise.
    Counter,
    /// This entry is earlier than the one before it.
    Order(u16),
    /// This entry's time has passed.
    Past(u16),
    /// Camera switched on while on, or off while off, at this entry.
    Camera(u16),
    /// Camera on for longer than the vehicle allows, from this entry.
    TooLong(u16),
    /// Camera left on at the end.
    LeftOn,
    /// What came by radio is no telecommand packet for this vehicle.
    Packet,
    /// This entry's time lies further ahead than a mission lasts: a past time that has rolled over.
    Far(u16),
    /// The film that is left does not reach for this camera-on without going into the reserve.
    Film(u16),
    /// This entry does not fit the state of the mission: camera before capture, in another hold than fine or after the
    /// film is cut; hold left while the camera is on; film cut twice.
    Phase(u16),
    /// Receiver off from this entry on for longer than the vehicle allows, off twice, or left off at the end.
    Receiver(u16),
    /// A time of silence out of its bounds.
    Timer(u16),
    /// A telecommand's sequence count repeats, or falls behind one that was taken.
    Sequence,
    /// No load waits that bears this counter and check sum.
    Commit,
    /// The waiting load was not put in force in time.
    Expired,
    /// The clock is not corrected while the camera is on.
    Busy,
}

impl Load {
    /// Reads a load from its bytes.
    ///
    /// # Errors
    /// [`LoadError`] for anything that is not a well-formed load; nothing is half read.
    pub fn decode(bytes: &[u8]) -> Result<Self, LoadError> {
        let view = View::of(bytes)?;
        let entries = view.entries().collect();
        Ok(Self { counter: view.counter, ephemeris: view.ephemeris, entries })
    }

    /// Writes a load; the ground and tests use it.
    pub fn encode(&self) -> Vec<u8, MAX_BYTES> {
        let mut out = Vec::new();
        // The buffer holds the longest load, so no write can fail.
        self.write(&mut |bytes| {
            let _ = out.extend_from_slice(bytes);
        });
        let sum = CHECKSUM.checksum(&out);
        let _ = out.extend_from_slice(&sum.to_be_bytes());
        out
    }

    /// The check sum at the load's end, by which a commit names it.
    pub fn checksum(&self) -> u16 {
        let mut digest = CHECKSUM.digest();
        self.write(&mut |bytes| digest.update(bytes));
        digest.finalize()
    }

    /// Puts out all that the check sum covers, piece by piece.
    fn write(&self, put: &mut impl FnMut(&[u8])) {
        let e = &self.ephemeris;
        put(&MARK);
        put(&self.counter.to_be_bytes());
        for word in [e.epoch_tick, e.phase, e.phase_per_tick] {
            put(&word.to_be_bytes());
        }
        for number in [e.half_acceleration_rad_s2, e.inclination_rad, e.radius_ratio2] {
            put(&number.to_be_bytes());
        }
        put(&(self.entries.len() as u16).to_be_bytes());
        for entry in &self.entries {
            let (kind, a, b) = entry.command.code();
            put(&entry.tick.to_be_bytes());
            put(&[kind, a]);
            put(&b.to_be_bytes());
        }
    }
}

/// A well-formed load where its bytes lie: nothing is copied before it is judged.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View<'a> {
    /// Counter.
    pub counter: u16,
    /// Orbit constants.
    pub ephemeris: Ephemeris,
    /// Check sum.
    pub sum: u16,
    /// Bytes of the entries.
    entries: &'a [u8],
}

impl<'a> View<'a> {
    /// Looks at the bytes of a load.
    ///
    /// # Errors
    /// [`LoadError`] for anything that is not a well-formed load.
    #[inline(never)]
    pub fn of(bytes: &'a [u8]) -> Result<Self, LoadError> {
        if bytes.len() < HEADER_BYTES + 2 {
            return Err(LoadError::Length);
        }
        if bytes.first_chunk() != Some(&MARK) {
            return Err(LoadError::Mark);
        }
        let (body, sum) = bytes.split_last_chunk::<2>().ok_or(LoadError::Length)?;
        let sum = u16::from_be_bytes(*sum);
        if CHECKSUM.checksum(body) != sum {
            return Err(LoadError::Checksum);
        }
        let mut reader = Reader { bytes: body };
        reader.take::<2>()?;
        let counter = reader.u16()?;
        let ephemeris = Ephemeris {
            epoch_tick: reader.u32()?,
            phase: reader.u32()?,
            phase_per_tick: reader.u32()?,
            half_acceleration_rad_s2: reader.f32()?,
            inclination_rad: reader.f32()?,
            radius_ratio2: reader.f32()?,
        };
        let count = usize::from(reader.u16()?);
        if count > MAX_ENTRIES {
            return Err(LoadError::TooMany);
        }
        if reader.bytes.len() != count * ENTRY_BYTES {
            return Err(LoadError::Length);
        }
        let view = Self { counter, ephemeris, sum, entries: reader.bytes };
        match view.entries().count() {
            read if read == count => Ok(view),
            // The first entry that cannot be read ends them.
            read => Err(LoadError::Entry(read as u16)),
        }
    }

    /// The entries, in order.
    pub fn entries(&self) -> impl Iterator<Item = Entry> + 'a {
        let mut reader = Reader { bytes: self.entries };
        core::iter::from_fn(move || reader.entry())
    }

    /// Puts the load in a store, in place of what was there.
    #[inline(never)]
    pub fn copy_into(&self, store: &mut Load) {
        store.counter = self.counter;
        store.ephemeris = self.ephemeris;
        store.entries.clear();
        for entry in self.entries() {
            // There are no more than the store holds.
            let _ = store.entries.push(entry);
        }
    }
}

impl Command {
    fn code(self) -> (u8, u8, u16) {
        match self {
            Self::CameraOn { slit, interval_ticks } => (1, slit, interval_ticks),
            Self::CameraOff => (2, 0, 0),
            Self::Speed(step) => (3, 0, step),
            Self::Hold(Hold::Fine) => (4, 0, 0),
            Self::Hold(Hold::Coarse) => (4, 1, 0),
            Self::Hold(Hold::Drift) => (4, 2, 0),
            Self::Hold(Hold::Turned) => (4, 3, 0),
            Self::Secure => (5, 0, 0),
            Self::Expect(v_over_h) => (6, (v_over_h >> 16) as u8, v_over_h as u16),
            Self::Receiver(on) => (7, on as u8, 0),
            Self::OpenAfter(minutes) => (8, 0, minutes),
            Self::SafeAfter(minutes) => (8, 1, minutes),
        }
    }

    fn from_code(kind: u8, a: u8, b: u16) -> Option<Self> {
        Some(match (kind, a, b) {
            (1, slit, interval_ticks) => Self::CameraOn { slit, interval_ticks },
            (2, 0, 0) => Self::CameraOff,
            (3, 0, step) => Self::Speed(step),
            (4, 0, 0) => Self::Hold(Hold::Fine),
            (4, 1, 0) => Self::Hold(Hold::Coarse),
            (4, 2, 0) => Self::Hold(Hold::Drift),
            (4, 3, 0) => Self::Hold(Hold::Turned),
            (5, 0, 0) => Self::Secure,
            (6, high, low) => Self::Expect(u32::from(high) << 16 | u32::from(low)),
            (7, 0, 0) => Self::Receiver(false),
            (7, 1, 0) => Self::Receiver(true),
            (8, 0, minutes) => Self::OpenAfter(minutes),
            (8, 1, minutes) => Self::SafeAfter(minutes),
            _ => return None,
        })
    }
}

/// Takes numbers off the front of a slice.
struct Reader<'a> {
    bytes: &'a [u8],
}

impl Reader<'_> {
    fn take<const N: usize>(&mut self) -> Result<[u8; N], LoadError> {
        let (head, rest) = self.bytes.split_first_chunk::<N>().ok_or(LoadError::Length)?;
        self.bytes = rest;
        Ok(*head)
    }

    fn u16(&mut self) -> Result<u16, LoadError> {
        Ok(u16::from_be_bytes(self.take()?))
    }

    fn u32(&mut self) -> Result<u32, LoadError> {
        Ok(u32::from_be_bytes(self.take()?))
    }

    fn f32(&mut self) -> Result<f32, LoadError> {
        Ok(f32::from_be_bytes(self.take()?))
    }

    /// The next entry, as long as there is one that can be read.
    fn entry(&mut self) -> Option<Entry> {
        let tick = self.u32().ok()?;
        let [kind, a] = self.take().ok()?;
        let command = Command::from_code(kind, a, self.u16().ok()?)?;
        Some(Entry { tick, command })
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use proptest::prelude::*;

    fn load(commands: &[(u32, Command)]) -> Load {
        Load {
            counter: 4,
            ephemeris: Ephemeris {
                epoch_tick: 0,
                phase: 1,
                phase_per_tick: 527_000_000,
                half_acceleration_rad_s2: 1e-11,
                inclination_rad: 1.43,
                radius_ratio2: 0.93,
            },
            entries: commands.iter().map(|&(tick, command)| Entry { tick, command }).collect(),
        }
    }

    const ON: Command = Command::CameraOn { slit: 1, interval_ticks: 0 };

    #[test]
    fn a_load_comes_back_as_it_was_written() {
        let sent = load(&[
            (20, Command::Speed(341)),
            (100, ON),
            (3_000, Command::CameraOff),
            (4_000, Command::Hold(Hold::Coarse)),
            (5_000, Command::Receiver(false)),
            (6_000, Command::Receiver(true)),
            (7_000, Command::OpenAfter(120)),
            (7_000, Command::SafeAfter(600)),
            (8_000, Command::Expect(0x12_3456)),
            (9_000, Command::Secure),
        ]);
        let bytes = sent.encode();
        assert_eq!(Load::decode(&bytes), Ok(sent.clone()));
        assert_eq!(bytes.last_chunk(), Some(&sent.checksum().to_be_bytes()));
    }

    proptest! {
        #[test]
        fn one_flipped_bit_is_always_refused(bit in 0_usize..(8 * 64)) {
            let mut bytes = load(&[(20, Command::Speed(341)), (100, ON), (3_000, Command::CameraOff), (4_000, Command::Hold(Hold::Fine))]).encode();
            prop_assert_eq!(bytes.len(), 64);
            bytes[bit / 8] ^= 1 << (bit % 8);
            prop_assert!(Load::decode(&bytes).is_err());
        }

        #[test]
        fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
            if let Ok(load) = Load::decode(&bytes) {
                let again = load.encode();
                prop_assert_eq!(again.as_slice(), bytes.as_slice());
            }
        }
    }
}
