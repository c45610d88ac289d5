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
//! All numbers are big-endian. A load takes effect whole or not at all.

use crate::{
    attitude::{mode::Hold, orbit::Ephemeris},
    exposure::ANY_SLIT,
    io::TICKS_PER_S,
};
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
const CHECKSUM: Crc<u16> = Crc::<u16>::new(&CRC_16_IBM_3740);

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

/// Why a load was refused. Entries count from zero.
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
    /// What came by radio is no telecommand packet for this store.
    Packet,
}

/// What the vehicle holds a load against.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Against {
    /// Present tick.
    pub tick: u32,
    /// Counter of the load in force, if there is one.
    pub counter: Option<u16>,
    /// Longest time the camera may stay on, s.
    pub longest_camera_s: f32,
    /// Number of slit or shutter settings.
    pub slits: u8,
    /// Largest image speed, in speed steps.
    pub most_speed: u16,
}

impl Load {
    /// Reads a load from its bytes.
    ///
    /// # Errors
    /// [`LoadError`] for anything that is not a well-formed load; nothing is half read.
    pub fn decode(bytes: &[u8]) -> Result<Self, LoadError> {
        if bytes.len() < HEADER_BYTES + 2 {
            return Err(LoadError::Length);
        }
        let mut reader = Reader { bytes };
        if reader.take::<2>()? != MARK {
            return Err(LoadError::Mark);
        }
        let (body, sum) = bytes.split_at_checked(bytes.len() - 2).ok_or(LoadError::Length)?;
        if CHECKSUM.checksum(body).to_be_bytes() != sum {
            return Err(LoadError::Checksum);
        }
        let counter = reader.u16()?;
        let ephemeris = Ephemeris {
            epoch_tick: reader.u32()?,
            phase: reader.u32()?,
            phase_per_tick: reader.u32()?,
            half_acceleration_rad_s2: reader.f32()?,
            inclination_rad: reader.f32()?,
            radius_ratio2: reader.f32()?,
        };
        let count = reader.u16()?;
        if usize::from(count) > MAX_ENTRIES {
            return Err(LoadError::TooMany);
        }
        if reader.bytes.len() != usize::from(count) * ENTRY_BYTES + 2 {
            return Err(LoadError::Length);
        }
        let mut entries = Vec::new();
        for number in 0..count {
            let entry = reader.entry(number)?;
            entries.push(entry).map_err(|_| LoadError::TooMany)?;
        }
        Ok(Self { counter, ephemeris, entries })
    }

    /// Writes a load; the ground and tests use it.
    pub fn encode(&self) -> Vec<u8, MAX_BYTES> {
        let mut out = Vec::new();
        let e = &self.ephemeris;
        // The buffer holds the longest load, so no write can fail.
        let _ = out.extend_from_slice(&MARK);
        let _ = out.extend_from_slice(&self.counter.to_be_bytes());
        for word in [e.epoch_tick, e.phase, e.phase_per_tick] {
            let _ = out.extend_from_slice(&word.to_be_bytes());
        }
        for number in [e.half_acceleration_rad_s2, e.inclination_rad, e.radius_ratio2] {
            let _ = out.extend_from_slice(&number.to_be_bytes());
        }
        let _ = out.extend_from_slice(&(self.entries.len() as u16).to_be_bytes());
        for entry in &self.entries {
            let (kind, a, b) = entry.command.code();
            let _ = out.extend_from_slice(&entry.tick.to_be_bytes());
            let _ = out.extend_from_slice(&[kind, a]);
            let _ = out.extend_from_slice(&b.to_be_bytes());
        }
        let sum = CHECKSUM.checksum(&out);
        let _ = out.extend_from_slice(&sum.to_be_bytes());
        out
    }

    /// Judges a load against the vehicle's state.
    ///
    /// # Errors
    /// The first thing wrong with it, naming the entry.
    pub fn check(&self, against: &Against) -> Result<(), LoadError> {
        self.check_ephemeris()?;
        if against.counter.is_some_and(|last| self.counter <= last) {
            return Err(LoadError::Counter);
        }
        let mut before = 0;
        let mut on_since: Option<(u16, u32)> = None;
        for (number, entry) in self.entries.iter().enumerate() {
            let number = number as u16;
            if entry.tick < before {
                return Err(LoadError::Order(number));
            }
            if entry.tick <= against.tick {
                return Err(LoadError::Past(number));
            }
            before = entry.tick;
            match entry.command {
                Command::CameraOn { .. } if on_since.is_some() => return Err(LoadError::Camera(number)),
                Command::CameraOn { slit, .. } if slit >= against.slits && slit != ANY_SLIT => {
                    return Err(LoadError::Entry(number));
                }
                Command::CameraOn { .. } => on_since = Some((number, entry.tick)),
                Command::CameraOff => {
                    let Some((first, since)) = on_since.take() else { return Err(LoadError::Camera(number)) };
                    if (entry.tick - since) as f32 > against.longest_camera_s * TICKS_PER_S as f32 {
                        return Err(LoadError::TooLong(first));
                    }
                }
                Command::Speed(step) if step > against.most_speed => return Err(LoadError::Entry(number)),
                Command::Secure if on_since.is_some() => return Err(LoadError::Camera(number)),
                Command::Speed(_) | Command::Hold(_) | Command::Secure | Command::Expect(_) => {}
            }
        }
        if on_since.is_some() { Err(LoadError::LeftOn) } else { Ok(()) }
    }

    fn check_ephemeris(&self) -> Result<(), LoadError> {
        let e = &self.ephemeris;
        // A turn in 80 minutes to a day; decay up to 1e-8 rad/s² (re-entry within hours).
        let rate_ok = (32_000_000..=700_000_000).contains(&e.phase_per_tick);
        let decay_ok = e.half_acceleration_rad_s2 > -1e-8 && e.half_acceleration_rad_s2 < 1e-8;
        let tilt_ok = e.inclination_rad >= 0.0 && e.inclination_rad <= core::f32::consts::PI;
        let radius_ok = e.radius_ratio2 > 0.02 && e.radius_ratio2 < 1.0;
        if rate_ok && decay_ok && tilt_ok && radius_ok { Ok(()) } else { Err(LoadError::Ephemeris) }
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

    fn entry(&mut self, number: u16) -> Result<Entry, LoadError> {
        let tick = self.u32()?;
        let [kind, a] = self.take()?;
        let command = Command::from_code(kind, a, self.u16()?).ok_or(LoadError::Entry(number))?;
        Ok(Entry { tick, command })
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use proptest::prelude::*;

    const AGAINST: Against =
        Against { tick: 10, counter: Some(3), longest_camera_s: 300.0, slits: 4, most_speed: 1000 };

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
        ]);
        assert_eq!(Load::decode(&sent.encode()), Ok(sent.clone()));
        assert_eq!(sent.check(&AGAINST), Ok(()));
    }

    #[test]
    fn what_could_harm_is_refused_by_name() {
        fn judge(commands: &[(u32, Command)]) -> Result<(), LoadError> {
            load(commands).check(&AGAINST)
        }
        assert_eq!(judge(&[(100, ON)]), Err(LoadError::LeftOn));
        assert_eq!(judge(&[(100, ON), (200, ON)]), Err(LoadError::Camera(1)));
        assert_eq!(judge(&[(100, Command::CameraOff)]), Err(LoadError::Camera(0)));
        assert_eq!(judge(&[(5, Command::Speed(1))]), Err(LoadError::Past(0)));
        assert_eq!(judge(&[(50, Command::Speed(1)), (40, Command::Speed(2))]), Err(LoadError::Order(1)));
        assert_eq!(judge(&[(100, ON), (30_101, Command::CameraOff)]), Err(LoadError::TooLong(0)));
        assert_eq!(judge(&[(100, Command::Speed(1001))]), Err(LoadError::Entry(0)));
        assert_eq!(
            {
                let against = Against { counter: Some(4), ..AGAINST };
                load(&[]).check(&against)
            },
            Err(LoadError::Counter)
        );
        let mut odd = load(&[]);
        odd.ephemeris.inclination_rad = f32::NAN;
        assert_eq!(odd.check(&AGAINST), Err(LoadError::Ephemeris));
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
