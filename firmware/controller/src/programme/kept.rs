//! The programme through a reset: the load in force, how far it has come, and what it has put in force.

use super::{Commanded, NOTHING, Programme, load::Load, receiver::PROCESSES};

/// What is kept of a programme. A load that waits for its commit is not: the ground sees that it is gone.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptProgramme {
    load: Load,
    counter: Option<u16>,
    /// Check sum it came with.
    sum: u16,
    next: u16,
    state: Commanded,
    suspended: bool,
    counts: [Option<u16>; PROCESSES.len()],
}

impl Programme {
    /// What is to be kept now. The camera's state is not part of it.
    pub fn to_keep(&self) -> KeptProgramme {
        KeptProgramme {
            load: self.load.clone(),
            counter: self.counter,
            sum: self.sum,
            next: self.next as u16,
            state: Commanded { camera_on: false, ..self.state },
            suspended: self.suspended,
            counts: self.counts(),
        }
    }

    /// The programme that was kept, camera off: a burst that was under way is not taken up again.
    pub fn wake(kept: &KeptProgramme) -> Self {
        let mut programme = Self {
            load: kept.load.clone(),
            counter: kept.counter,
            sum: kept.sum,
            next: usize::from(kept.next),
            state: Commanded { camera_on: false, ..kept.state },
            suspended: kept.suspended,
            ..Self::default()
        };
        programme.receiver.take_counts(kept.counts);
        programme.look_ahead();
        programme
    }

    /// Whether the load in force still has the check sum it came with.
    pub fn sound(&self) -> bool {
        self.counter.is_none() || self.sum == self.load.checksum()
    }

    /// Turns over the lowest bit of an entry's time: memory gone wrong, for those who try what follows from it.
    pub fn turn_over(&mut self, entry: usize) {
        if let Some(entry) = self.load.entries.get_mut(entry) {
            entry.tick ^= 1;
        }
    }
}

impl KeptProgramme {
    /// Puts out all that a check sum must cover, piece by piece.
    pub(crate) fn put(&self, put: &mut impl FnMut(&[u8])) {
        put(&self.load.checksum().to_be_bytes());
        put(&self.sum.to_be_bytes());
        put(&self.next.to_be_bytes());
        let state = &self.state;
        let told = |value: Option<u16>| value.map_or(0, |value| u32::from(value) + 1);
        for word in [
            told(self.counter),
            u32::from(state.slit),
            u32::from(state.interval_ticks),
            u32::from(state.speed_step),
            state.hold as u32,
            u32::from(state.secure),
            u32::from(state.receiver),
            told(state.open_after_min),
            told(state.safe_after_min),
            u32::from(self.suspended),
        ] {
            put(&word.to_be_bytes());
        }
        for count in self.counts {
            put(&told(count).to_be_bytes());
        }
    }
}

impl Default for KeptProgramme {
    fn default() -> Self {
        Self { state: NOTHING, ..Programme::default().to_keep() }
    }
}
