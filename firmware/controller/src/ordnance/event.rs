//! The eight items of the chain, in the order in which they may fire.

/// An item of the ordnance chain.
#[derive(Clone, Copy, Debug, Eq, Hash, Ord, PartialEq, PartialOrd)]
#[repr(u8)]
pub enum Event {
    /// The cover over the capsule's bay is let go.
    CoverRelease = 0,
    /// The capsule is let go from the vehicle.
    CapsuleSeparation = 1,
    /// The capsule is spun up.
    Spin = 2,
    /// The retro motor is lit.
    RetroIgnition = 3,
    /// The spin is taken off.
    Despin = 4,
    /// The burnt motor is let go.
    MotorRelease = 5,
    /// The drogue is thrown.
    Drogue = 6,
    /// The main canopy is let out.
    Main = 7,
}

/// Events in all.
pub const EVENTS: u8 = 8;

impl Event {
    /// All of them, in order.
    pub const ALL: [Self; EVENTS as usize] = [
        Self::CoverRelease,
        Self::CapsuleSeparation,
        Self::Spin,
        Self::RetroIgnition,
        Self::Despin,
        Self::MotorRelease,
        Self::Drogue,
        Self::Main,
    ];

    /// Its number, from zero.
    pub const fn index(self) -> u8 {
        self as u8
    }

    /// The event of a number; none past the last.
    pub fn at(index: u8) -> Option<Self> {
        Self::ALL.get(usize::from(index)).copied()
    }

    /// Its bit in a row of eight, the first event lowest.
    pub const fn bit(self) -> u8 {
        1 << self as u8
    }

    /// Bits of all events before it.
    pub const fn before(self) -> u8 {
        self.bit() - 1
    }

    /// From here on there is no way back: the capsule comes down whatever is done, and a step that does not
    /// show itself done is not waited for beyond its time.
    pub fn past_return(self) -> bool {
        self > Self::RetroIgnition
    }

    /// Name for people and files.
    pub const fn name(self) -> &'static str {
        match self {
            Self::CoverRelease => "cover release",
            Self::CapsuleSeparation => "capsule separation",
            Self::Spin => "spin",
            Self::RetroIgnition => "retro ignition",
            Self::Despin => "despin",
            Self::MotorRelease => "motor release",
            Self::Drogue => "drogue",
            Self::Main => "main",
        }
    }
}

/// Who fires an event.
#[derive(Clone, Copy, Debug, Eq, Hash, PartialEq)]
pub enum Side {
    /// The vehicle's computer: cover release and capsule separation, each on its own order.
    Vehicle,
    /// The capsule's own sequencer: everything after, by its own clock.
    Capsule,
}

impl Side {
    /// Number of its first event.
    pub const fn first(self) -> u8 {
        match self {
            Self::Vehicle => 0,
            Self::Capsule => 2,
        }
    }

    /// Bits of its events.
    pub const fn events(self) -> u8 {
        match self {
            Self::Vehicle => Event::Spin.before(),
            Self::Capsule => !Event::Spin.before(),
        }
    }

    /// Number after its last event.
    pub const fn end(self) -> u8 {
        match self {
            Self::Vehicle => 2,
            Self::Capsule => EVENTS,
        }
    }
}
