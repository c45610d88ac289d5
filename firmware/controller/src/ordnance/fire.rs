//! The order to give current, which nothing but the proofs of all inhibits can make.
//!
//! Every proof is a type whose only field is private to the file that gives it out:
//!
//! | proof | given out by | stands for |
//! | --- | --- | --- |
//! | [`Clear`] | this file | every contact that tells the pad, the carrier or the vehicle is behind |
//! | [`Powered`] | this file | the recovery battery's switch is closed, by the voltage behind it |
//! | [`Armed`] | [`super::arming`] | two orders with an echo between, not run out |
//! | [`InTurn`] | [`super::place`] | the next event by the count, the wires and the contacts |
//! | [`Ready`] | [`super::readiness`] | film sealed, attitude and rates or spin in their limits, time and deceleration |
//!
//! Nobody else can write one down:
//!
//! ```compile_fail,E0451
//! use stillframe_controller::ordnance::{event::Event, fire::Fire};
//! let fire = Fire { event: Event::Drogue };
//! ```
//!
//! ```compile_fail,E0423
//! use stillframe_controller::ordnance::fire::Clear;
//! let clear = Clear(());
//! ```
//!
//! Nor is there a way to keep one for later, for it cannot be copied:
//!
//! ```compile_fail,E0277
//! fn kept<T: Clone>() {}
//! kept::<stillframe_controller::ordnance::fire::Fire>();
//! ```

use super::{arming::Armed, event::Event, place::InTurn, readiness::Ready};

/// Proof that pad, carrier and, for the capsule, the vehicle are behind, by every contact that tells.
#[derive(Debug)]
pub struct Clear(());

impl Clear {
    /// The proof, if all of at least two contacts agree.
    pub(super) fn of(contacts: &[bool]) -> Option<Self> {
        (contacts.len() >= 2 && contacts.iter().all(|&open| open)).then_some(Self(()))
    }
}

/// Proof that the recovery battery stands on the ordnance bus. Its switch is thrown by the receiver's own decoder,
/// never by this processor.
#[derive(Debug)]
pub struct Powered(());

impl Powered {
    /// The proof, by the voltage behind the switch.
    pub(super) fn of(recovery_v: f32, least_v: f32) -> Option<Self> {
        (recovery_v >= least_v).then_some(Self(()))
    }
}

/// Current for one event, in this tick.
#[derive(Debug)]
pub struct Fire {
    event: Event,
}

impl Fire {
    /// From the proofs of all inhibits; they are used up by it. None if two of them speak of different events.
    pub(super) fn new(_: Clear, _: Powered, _: Armed, turn: &InTurn, ready: &Ready) -> Option<Self> {
        (turn.event() == ready.event()).then_some(Self { event: turn.event() })
    }

    /// The event.
    pub fn event(&self) -> Event {
        self.event
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_closed_contact_or_a_low_voltage_is_no_proof() {
        assert!(Clear::of(&[true, true]).is_some());
        assert!(Clear::of(&[true, false]).is_none() && Clear::of(&[true]).is_none() && Clear::of(&[]).is_none());
        assert!(Powered::of(28.0, 24.0).is_some());
        assert!(Powered::of(23.9, 24.0).is_none() && Powered::of(f32::NAN, 24.0).is_none());
    }
}
