//! What survives a reset of the processor, and how the vehicle wakes from one.
//!
//! Once a second whoever drives the controller puts a [`Kept`] into a protected store (memory that holds through a reset
//! and is written in turn, so that one good copy is always left). It carries a check sum of its own: what does not match
//! is not used, and the vehicle wakes as on the pad, in flight by its separation sense, with no load, the camera off.
//!
//! Not kept, on purpose: the camera's state (off), valves (shut), film's motion (braked), the attitude (found again by
//! capture), whatever was armed. What stops film, camera or jets until the ground has looked is kept: a reset is no look.
//! Ordnance keeps its own word ([`crate::ordnance`]) and wakes disarmed whatever it says.

use crate::{
    attitude::{KeptDoubts, response::Verdict},
    contact::Contact,
    film::KeptFilm,
    health::gas::KeptGas,
    io::BANKS,
    programme::kept::KeptProgramme,
};
use crc::{CRC_32_ISO_HDLC, Crc};

/// CRC-32/ISO-HDLC, the one of Ethernet.
static CHECKSUM: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// Why the processor began anew.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum ResetCause {
    /// Power came on: the pad.
    #[default]
    Power,
    /// A watchdog, or a command of the processor to itself.
    Watchdog,
    /// The bus went below what the processor needs.
    BrownOut,
    /// Memory did not agree with itself.
    Memory,
}

/// The processor's own troubles, for telemetry.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct ComputerStatus {
    /// Resets since launch; saturates.
    pub resets: u16,
    /// Cause of the last one.
    pub cause: ResetCause,
    /// Control cycles that did not end in time since launch, or since what was kept was lost; saturates.
    pub overruns: u16,
    /// Load under which the bus broke down, zero for none: until another one comes into force, camera and film stay off.
    pub shed_under: Option<u16>,
    /// What was kept did not match its check sum at the last reset: the vehicle began without it.
    pub kept_refused: bool,
}

/// What is kept, with its check sum.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    pub(crate) state: KeptState,
    sum: u32,
}

/// What is kept.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct KeptState {
    pub programme: KeptProgramme,
    pub contact: Contact,
    pub telecommands: u16,
    pub clock_ahead: u32,
    pub separated_tick: Option<u32>,
    pub flying: bool,
    pub captured: bool,
    pub film: KeptFilm,
    pub frames: u32,
    pub shutter_fault: bool,
    pub doubts: KeptDoubts,
    /// Last reading of the clock, as it was read.
    pub last_tick: Option<u32>,
    pub gas: KeptGas,
    pub banks_lost: [Option<Verdict>; BANKS],
    pub computer: ComputerStatus,
}

impl Kept {
    pub(crate) fn new(state: KeptState) -> Self {
        let sum = state.checksum();
        Self { state, sum }
    }

    /// Whether it is as it was written.
    pub fn sound(&self) -> bool {
        self.sum == self.state.checksum()
    }

    /// The same with one bit of its check sum turned over: damage, for those who try what follows from it.
    #[must_use]
    pub fn damaged(mut self, bit: u32) -> Self {
        self.sum ^= 1 << (bit & 31);
        self
    }
}

impl KeptState {
    fn checksum(&self) -> u32 {
        let mut digest = CHECKSUM.digest();
        self.programme.put(&mut |bytes| digest.update(bytes));
        for word in [
            self.contact.silent_s(),
            self.contact.listen() as u32,
            self.contact.in_use() as u32,
            u32::from(self.telecommands),
            self.clock_ahead,
            u32::from(self.separated_tick.is_some()),
            self.separated_tick.unwrap_or(0),
            u32::from(self.flying),
            u32::from(self.captured),
            self.frames,
            u32::from(self.shutter_fault),
            u32::from(self.doubts.diverged),
            u32::from(self.doubts.yaw),
            u32::from(self.doubts.kick_reversed),
            u32::from(self.last_tick.is_some()),
            self.last_tick.unwrap_or(0),
            u32::from(self.computer.resets),
            self.computer.cause as u32,
            u32::from(self.computer.overruns),
            self.computer.shed_under.map_or(0, |counter| u32::from(counter) + 1),
        ] {
            digest.update(&word.to_be_bytes());
        }
        for lost in self.banks_lost {
            digest.update(&[lost.map_or(0, |why| why as u8 + 1)]);
        }
        self.film.put(&mut |bytes| digest.update(bytes));
        self.gas.put(&mut |bytes| digest.update(bytes));
        digest.finalize()
    }
}
