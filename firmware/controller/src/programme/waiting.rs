//! What the ground's telecommands do to the programme: a load is held, and comes into force by a second telecommand.

use super::{
    Programme,
    check::Against,
    load::LoadError,
    receiver::Frame,
    telecommand::{Correlation, Order, Telecommand},
};
use crate::contact::Which;

/// A load waits for its commit no longer than this, s: passes over the same stations come again within it.
pub const WAIT_S: u32 = 43_200;

/// What is known of the load that waits in the second store.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Waiting {
    sum: u16,
    left_s: u32,
}

/// What the telecommands of a tick ask beyond the programme.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Received {
    /// Telecommands taken: sound, for this vehicle, in sequence.
    pub telecommands: u16,
    /// Clock correlation.
    pub correlation: Option<Correlation>,
    /// Receiver asked for.
    pub receiver: Option<Which>,
    /// A load has come into force.
    pub in_force: bool,
}

/// A load by what names it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct LoadName {
    /// Counter.
    pub counter: u16,
    /// Check sum.
    pub sum: u16,
    /// Entries.
    pub entries: u16,
}

impl Programme {
    /// Takes uplinked bytes.
    pub fn receive(&mut self, bytes: &[u8], against: &Against) -> Received {
        let mut received = Received::default();
        for &byte in bytes {
            match self.receiver.push(byte) {
                None => {}
                Some(Frame::Nothing(why)) => self.refuse(why),
                Some(Frame::Telecommand(content)) => {
                    received.telecommands = received.telecommands.saturating_add(1);
                    let outcome = content.and_then(|telecommand| self.obey(telecommand, against, &mut received));
                    if let Err(why) = outcome {
                        self.refuse(why);
                    }
                }
            }
        }
        received
    }

    fn obey(&mut self, telecommand: Telecommand, against: &Against, received: &mut Received) -> Result<(), LoadError> {
        match telecommand {
            Telecommand::Load => self.hold(against),
            Telecommand::Ordnance(order) => {
                self.keep(order);
                Ok(())
            }
            Telecommand::Order(Order::Commit { counter, sum }) => {
                self.commit(counter, sum, against)?;
                received.in_force = true;
                Ok(())
            }
            Telecommand::Order(Order::Drop) => {
                self.waiting = None;
                Ok(())
            }
            Telecommand::Order(Order::Correlate(_)) if self.state.camera_on => Err(LoadError::Busy),
            Telecommand::Order(Order::Correlate(correlation)) => {
                received.correlation = Some(correlation);
                Ok(())
            }
            Telecommand::Order(Order::Hail) => Ok(()),
            Telecommand::Order(Order::Listen(which)) => {
                received.receiver = Some(which);
                Ok(())
            }
        }
    }

    /// Counts a refusal.
    pub(super) fn refuse(&mut self, why: LoadError) {
        self.refused = self.refused.saturating_add(1);
        self.last_refusal = Some(why);
    }

    /// Holds the load that has just come, if it would be taken now; one that waited before goes. A load that would not be
    /// taken leaves everything as it was.
    fn hold(&mut self, against: &Against) -> Result<(), LoadError> {
        let view = self.receiver.load()?;
        view.check(&Against { counter: self.counter, ..*against })?;
        view.copy_into(&mut self.second_store);
        self.waiting = Some(Waiting { sum: view.sum, left_s: WAIT_S });
        self.last_refusal = None;
        Ok(())
    }

    /// Puts the waiting load in force if it is the one that is meant and would still be taken.
    fn commit(&mut self, counter: u16, sum: u16, against: &Against) -> Result<(), LoadError> {
        let waiting = self.waiting.ok_or(LoadError::Commit)?;
        if (self.second_store.counter, waiting.sum) != (counter, sum) {
            return Err(LoadError::Commit);
        }
        // If it is not taken now, it only becomes staler.
        self.waiting = None;
        self.second_store.check(&Against { counter: self.counter, ..*against })?;
        core::mem::swap(&mut self.load, &mut self.second_store);
        self.begin();
        Ok(())
    }

    /// A second of cycles has gone by.
    pub fn second(&mut self) {
        let Some(waiting) = &mut self.waiting else { return };
        waiting.left_s = waiting.left_s.saturating_sub(1);
        if waiting.left_s == 0 {
            self.waiting = None;
            self.refuse(LoadError::Expired);
        }
    }

    /// What waits for its commit, read back.
    pub fn waiting(&self) -> Option<LoadName> {
        self.waiting.map(|waiting| LoadName {
            counter: self.second_store.counter,
            sum: waiting.sum,
            entries: self.second_store.entries.len() as u16,
        })
    }

    /// The load in force.
    pub fn in_force(&self) -> Option<LoadName> {
        self.counter.map(|counter| LoadName { counter, sum: self.sum, entries: self.load.entries.len() as u16 })
    }

    /// Sequence counts taken last; see [`super::receiver::PROCESSES`].
    pub fn counts(&self) -> [Option<u16>; super::receiver::PROCESSES.len()] {
        self.receiver.counts()
    }

    /// Takes any sequence count next.
    pub fn forget_counts(&mut self) {
        self.receiver.forget_counts();
    }
}

#[cfg(test)]
pub(crate) mod tests;
