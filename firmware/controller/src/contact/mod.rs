//! Contact with the ground: which receiver listens, and what silence leads to.
//!
//! ```text
//!  last telecommand      20 min                  open after                  safe after
//!         |---- on --------|-- as programmed -------|------- on ----------------|-- on, other receiver first,
//!         |                                                                     |   vehicle makes itself safe
//! ```
//!
//! Silence is counted in controller cycles, not by the clock, so that no step or drift of the clock touches it. It ends
//! by a telecommand that is sound, addressed to this vehicle and in sequence; nothing else ends it: no noise, no frame
//! for others, no command stored on board. Both times have bounds that are constants of the program. Whatever a load
//! or a setting asks, the receiver is on again [`OPEN_MOST_S`] after the last telecommand at the latest, and
//! [`SAFE_MOST_S`] after it the receivers begin to take turns.
//!
//! The turns: other receiver two hours, first one two hours, then four hours each, eight, sixteen, thirty-two, and
//! thirty-two from there on. A contact of length D that comes back every G or sooner falls whole into a turn of the good
//! receiver as soon as turns are no shorter than G + D. That it is so at the latest after the time
//! [`turns_end_s`] tells is what bounds the return of contact; the bound is tried in this module's tests over every
//! timer and window there can be.

use crate::{io::Listen, settings_group};

settings_group! {
    /// Contact: what silence leads to, where a load says nothing else.
    ContactSettings = "contact" {
        open_after_min: u32 = 360, 30 ..= 720, "min", "Silence after which the receiver opens by itself.";
        safe_after_min: u32 = 1800, 60 ..= 2880, "min", "Silence after which the camera stays off, hold is coarse and the receivers take turns. Half as long again as the longest gap between contacts, or more.";
    }
}

/// After a telecommand the receiver stays on for this long whatever the programme says, s: longer than a pass.
pub const HELD_OPEN_S: u32 = 1_200;
/// Least silence after which the receiver opens by itself, s.
pub const OPEN_LEAST_S: u32 = 1_800;
/// Most silence after which the receiver opens by itself, s.
pub const OPEN_MOST_S: u32 = 43_200;
/// Least silence after which the vehicle makes itself safe, s.
pub const SAFE_LEAST_S: u32 = 3_600;
/// Most silence after which the vehicle makes itself safe, s.
pub const SAFE_MOST_S: u32 = 172_800;
/// First turn of a receiver, s. Turns double after both have had theirs.
pub const TURN_S: u32 = 7_200;
/// Times that turns double.
pub const DOUBLINGS: u32 = 4;

/// Length of the last round, which repeats, s.
const LAST_ROUND_S: u32 = 2 * (TURN_S << DOUBLINGS);
/// Silence beyond which it is not counted on but a round taken back, s (34 years): a count that stood at its end would
/// keep the turns from changing.
const COUNTED_MOST_S: u32 = 1 << 30;

/// What is asked of the contact logic, by settings and by the load. Any values: they are brought inside their bounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wanted {
    /// Receiver on.
    pub on: bool,
    /// Silence after which the receiver opens by itself, s.
    pub open_after_s: u32,
    /// Silence after which the vehicle makes itself safe, s.
    pub safe_after_s: u32,
}

impl Wanted {
    /// Inside the bounds.
    pub fn bounded(self) -> Self {
        Self {
            open_after_s: self.open_after_s.clamp(OPEN_LEAST_S, OPEN_MOST_S),
            safe_after_s: self.safe_after_s.clamp(SAFE_LEAST_S, SAFE_MOST_S),
            ..self
        }
    }
}

/// One of the two receivers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Which {
    /// The one that listens at launch.
    #[default]
    Main,
    /// The other one.
    Alternate,
}

impl Which {
    /// The other one of the two.
    pub const fn other(self) -> Self {
        match self {
            Self::Main => Self::Alternate,
            Self::Alternate => Self::Main,
        }
    }

    /// It listens.
    pub const fn listens(self) -> Listen {
        match self {
            Self::Main => Listen::Main,
            Self::Alternate => Listen::Alternate,
        }
    }
}

/// Silence, and what follows from it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Contact {
    /// Whole seconds since the last telecommand, counted in cycles.
    silent_s: u32,
    /// Receiver over which it came.
    in_use: Which,
    listen: Listen,
    lost: bool,
}

impl Contact {
    /// A telecommand came: sound, for this vehicle, in sequence.
    pub fn heard(&mut self) {
        self.in_use = match self.listen {
            Listen::Main => Which::Main,
            Listen::Alternate => Which::Alternate,
            Listen::Off => self.in_use,
        };
        self.silent_s = 0;
        self.lost = false;
        self.listen = self.in_use.listens();
    }

    /// The ground asks for this receiver.
    pub fn choose(&mut self, which: Which) {
        self.in_use = which;
        self.listen = which.listens();
    }

    /// A second of cycles has gone by.
    pub fn second(&mut self, wanted: Wanted) {
        self.silent_s = if self.silent_s < COUNTED_MOST_S { self.silent_s + 1 } else { COUNTED_MOST_S - LAST_ROUND_S };
        let wanted = wanted.bounded();
        self.lost = self.silent_s >= wanted.safe_after_s;
        self.listen = if self.lost {
            self.turn(self.silent_s.saturating_sub(wanted.safe_after_s)).listens()
        } else if wanted.on || self.silent_s < HELD_OPEN_S || self.silent_s >= wanted.open_after_s {
            self.in_use.listens()
        } else {
            Listen::Off
        };
    }

    /// Whose turn it is, `since_s` after the turns began: each round is a turn of the other receiver and one of the one
    /// in use.
    fn turn(&self, since_s: u32) -> Which {
        let (start_s, length_s) = round(since_s);
        let into_s = since_s.saturating_sub(start_s);
        // From the last round on they repeat.
        let other = (into_s / length_s.max(1)).is_multiple_of(2);
        if other { self.in_use.other() } else { self.in_use }
    }

    /// Receiver over which the last telecommand came.
    pub fn in_use(&self) -> Which {
        self.in_use
    }

    /// Which receiver is to listen.
    pub fn listen(&self) -> Listen {
        self.listen
    }

    /// The silence has lasted too long: the vehicle makes itself safe.
    pub fn lost(&self) -> bool {
        self.lost
    }

    /// Whole seconds since the last telecommand.
    pub fn silent_s(&self) -> u32 {
        self.silent_s
    }
}

/// Begin of the round that runs `since_s` after the first one's begin, and length of its turns, s.
fn round(since_s: u32) -> (u32, u32) {
    let mut start_s = 0;
    let mut length_s = TURN_S;
    for _ in 0..DOUBLINGS {
        let end_s = 2 * length_s + start_s;
        if since_s < end_s {
            break;
        }
        (start_s, length_s) = (end_s, 2 * length_s);
    }
    (start_s, length_s)
}

/// Time after the turns' begin by which each receiver has had a whole turn of `whole_s` or longer, s; none if turns
/// never become so long. With n doublings of the first turn T needed it is 2T(2ⁿ⁺¹ − 1).
pub fn turns_end_s(whole_s: u32) -> Option<u32> {
    let mut end_s = 0;
    let mut length_s = TURN_S;
    for _ in 0..=DOUBLINGS {
        end_s += 2 * length_s;
        if whole_s <= length_s {
            return Some(end_s);
        }
        length_s *= 2;
    }
    None
}

#[cfg(test)]
mod tests;
