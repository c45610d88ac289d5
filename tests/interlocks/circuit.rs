//! The ordnance circuit and what surrounds it: switches, wires, contacts, the way down. Not the code that is looked at:
//! that is the flight code's sequencer, linked in as it flies.

use crate::stuck::{Faults, Part};
use stillframe_controller::{
    io::{OrdnanceDrive, OrdnanceSample},
    ordnance::{Event, Side},
};

/// The way down, in ticks after ignition.
#[derive(Clone, Copy, Debug)]
pub struct Fall {
    /// The deceleration switch closes.
    pub g_from: u8,
    /// It opens again.
    pub g_to: u8,
    /// From here on the capsule is inside the canopy's box; the backup timer runs out.
    pub box_from: u8,
}

/// State of circuit and surroundings.
#[derive(Clone, Copy, Debug, Default, Eq, Hash, PartialEq)]
pub struct Circuit {
    /// The vehicle has left its carrier.
    pub flown: bool,
    /// The capsule has left the vehicle.
    pub left: bool,
    /// The recovery battery's switch was told to close.
    pub battery: bool,
    arm: bool,
    commit: bool,
    lines: u8,
    /// Items that have fired.
    pub fired: u8,
    latches: bool,
    retained: u16,
    retained_ticks: u32,
    /// Ticks since the retro motor was lit.
    pub age: u8,
}

impl Circuit {
    /// What the processor reads.
    pub fn sample(&self, faults: &Faults, capsule_armed: bool) -> OrdnanceSample {
        let by_event = |bits: u8, part: fn(Event) -> Part| {
            Event::ALL
                .iter()
                .filter(|event| faults.of(part(**event), bits & event.bit() != 0))
                .fold(0, |b, e| b | e.bit())
        };
        let word = faults.of(Part::Word, true);
        OrdnanceSample {
            off_carrier: faults.of(Part::Carrier, self.flown),
            recovery_v: if faults.of(Part::Battery, self.battery) { 28.0 } else { 0.0 },
            relay_closed: self.relay(faults),
            commit_closed: faults.of(Part::Commit, self.commit),
            lines_closed: by_event(self.lines, Part::Line),
            spent: by_event(self.fired, Part::Wire),
            done: by_event(self.fired, Part::Effect),
            abort_latched: [Part::CoilLatch, Part::LineLatch].map(|part| faults.of(part, self.latches)),
            capsule_armed: faults.of(Part::CapsuleArmed, capsule_armed),
            retained: if word { self.retained } else { 0 },
            retained_ticks: if word { self.retained_ticks } else { 0 },
        }
    }

    fn relay(&self, faults: &Faults) -> bool {
        // The latch breaks the coil: a relay that is welded does not mind.
        faults.of(Part::Relay, self.arm && !faults.of(Part::CoilLatch, self.latches))
    }

    /// The processor's outputs take effect.
    pub fn drive(&mut self, drive: &OrdnanceDrive) {
        (self.arm, self.commit, self.lines) = (drive.arm(), drive.commits(), drive.lines());
        (self.retained, self.retained_ticks) = (drive.retain(), drive.retain_ticks());
        self.latches |= drive.abort();
    }

    /// The processor stops: all its outputs fall. Latches and retained memory stay.
    pub fn reset(&mut self) {
        (self.arm, self.commit, self.lines) = (false, false, 0);
    }

    /// A tick on the way down.
    pub fn fall(&mut self, fall: &Fall) {
        if self.fired & Event::RetroIgnition.bit() != 0 {
            self.age = (self.age + 1).min(fall.box_from);
        }
    }

    /// The deceleration switch.
    pub fn deceleration(&self, faults: &Faults, fall: &Fall) -> bool {
        faults.of(Part::Deceleration, (fall.g_from..fall.g_to).contains(&self.age))
    }

    /// The backup timer.
    pub fn timer(&self, faults: &Faults, fall: &Fall) -> bool {
        faults.of(Part::Timer, self.age >= fall.box_from)
    }

    /// Items through which current flows, and that have not fired before; they fire. Everything stands in series.
    pub fn current(&mut self, faults: &Faults, side: Side) -> u8 {
        let contacts =
            faults.of(Part::Carrier, self.flown) && (side == Side::Vehicle || faults.of(Part::Left, self.left));
        let path = contacts
            && faults.of(Part::Battery, self.battery)
            && self.relay(faults)
            && !faults.of(Part::LineLatch, self.latches)
            && faults.of(Part::Commit, self.commit);
        if !path {
            return 0;
        }
        let closed = Event::ALL.iter().filter(|e| faults.of(Part::Line(**e), self.lines & e.bit() != 0));
        let through = closed.fold(0, |bits, event| bits | event.bit());
        let fired = through & !self.fired;
        self.fired |= fired;
        through
    }
}
