//! An ordnance circuit: battery switch, contacts, arming relay, firing lines and commit switch in series, and what of
//! them can be read back.
//!
//! What lies between the processor and a charge, as built or as a fault has left it. The vehicle carries one of these and
//! the capsule another. Nothing here is a design for a real circuit.

use stillframe_controller::{
    io::{OrdnanceDrive, OrdnanceSample},
    ordnance::{Event, Side},
};

/// Voltage of a charged recovery battery, V.
const BATTERY_V: f32 = 28.0;

/// What is wrong with a circuit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct CircuitFaults {
    /// The arming relay's contacts are welded: it never opens.
    pub relay_welded: bool,
    /// The arming relay never closes.
    pub relay_open: bool,
    /// The commit switch is welded.
    pub commit_welded: bool,
    /// This event's firing line is closed and stays so.
    pub line_closed: Option<Event>,
    /// This event fires, and its contact never tells.
    pub unshown: Option<Event>,
    /// This event's charge burns its wire and does nothing.
    pub dud: Option<Event>,
}

/// What stands around a circuit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Around {
    /// The vehicle has left its carrier.
    pub off_carrier: bool,
    /// The capsule has left the vehicle; only the capsule's circuit has that contact.
    pub left: bool,
    /// The recovery battery's switch is closed.
    pub battery_on: bool,
    /// The capsule tells through the umbilical that it is armed.
    pub capsule_armed: bool,
}

/// The circuit.
#[derive(Clone, Debug, PartialEq)]
pub struct Circuit {
    side: Side,
    /// Faults in force.
    pub faults: CircuitFaults,
    arm: bool,
    commit: bool,
    lines: u8,
    abort: bool,
    retained: (u16, u32),
    spent: u8,
    done: u8,
}

impl Circuit {
    /// As built, nothing spent.
    pub fn new(side: Side) -> Self {
        Self {
            side,
            faults: CircuitFaults::default(),
            arm: false,
            commit: false,
            lines: 0,
            abort: false,
            retained: (0, 0),
            spent: 0,
            done: 0,
        }
    }

    /// What the processor reads.
    pub fn sample(&self, around: &Around) -> OrdnanceSample {
        OrdnanceSample {
            off_carrier: around.off_carrier,
            recovery_v: if around.battery_on { BATTERY_V } else { 0.0 },
            relay_closed: self.relay_closed(),
            commit_closed: self.commit_closed(),
            lines_closed: self.lines_closed(),
            spent: self.spent,
            done: self.done & !self.faults.unshown.map_or(0, Event::bit),
            abort_latched: [self.abort; 2],
            capsule_armed: around.capsule_armed,
            retained: self.retained.0,
            retained_ticks: self.retained.1,
        }
    }

    fn relay_closed(&self) -> bool {
        // An abort's latch breaks the coil: a relay that is welded does not mind.
        self.faults.relay_welded || self.arm && !self.abort && !self.faults.relay_open
    }

    fn commit_closed(&self) -> bool {
        self.faults.commit_welded || self.commit
    }

    fn lines_closed(&self) -> u8 {
        self.lines | self.faults.line_closed.map_or(0, Event::bit)
    }

    /// Bits of the events that have had their effect.
    pub fn done(&self) -> u8 {
        self.done
    }

    /// The processor's outputs take effect for a tick; the events that fire in it, which may be several if lines are closed
    /// that should not be.
    pub fn drive(&mut self, drive: &OrdnanceDrive, around: &Around) -> impl Iterator<Item = Event> + use<> {
        (self.arm, self.commit, self.lines) = (drive.arm(), drive.commits(), drive.lines());
        self.retained = (drive.retain(), drive.retain_ticks());
        self.abort |= drive.abort();
        let contacts = around.off_carrier && (self.side == Side::Vehicle || around.left);
        let current = contacts && around.battery_on && self.relay_closed() && !self.abort && self.commit_closed();
        let fired = if current { self.lines_closed() & self.side.events() & !self.spent } else { 0 };
        self.spent |= fired;
        let worked = fired & !self.faults.dud.map_or(0, Event::bit);
        self.done |= worked;
        Event::ALL.into_iter().filter(move |event| worked & event.bit() != 0)
    }

    /// The processor was reset: its outputs fall; latches and what memory retains stay.
    pub fn reset(&mut self) {
        (self.arm, self.commit, self.lines) = (false, false, 0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FLYING: Around = Around { off_carrier: true, left: false, battery_on: true, capsule_armed: false };

    fn welded() -> Circuit {
        let mut circuit = Circuit::new(Side::Vehicle);
        circuit.faults = CircuitFaults {
            relay_welded: true,
            commit_welded: true,
            line_closed: Some(Event::CapsuleSeparation),
            ..CircuitFaults::default()
        };
        circuit
    }

    /// By the series itself: with every contact welded, the battery's switch and the carrier's loop alone hold.
    #[test]
    fn everything_stands_in_series() {
        let fired = |around: Around| welded().drive(&OrdnanceDrive::REST, &around).next();
        assert_eq!(fired(FLYING), Some(Event::CapsuleSeparation));
        assert_eq!(fired(Around { battery_on: false, ..FLYING }), None);
        assert_eq!(fired(Around { off_carrier: false, ..FLYING }), None);
        let mut capsule = Circuit::new(Side::Capsule);
        capsule.faults = CircuitFaults { line_closed: Some(Event::Spin), ..welded().faults };
        assert_eq!(capsule.drive(&OrdnanceDrive::REST, &FLYING).next(), None, "the capsule has not left");
        let left = Around { left: true, ..FLYING };
        assert_eq!(capsule.drive(&OrdnanceDrive::REST, &left).next(), Some(Event::Spin));
        assert_eq!(capsule.drive(&OrdnanceDrive::REST, &left).next(), None, "spent");
    }

    #[test]
    fn a_rest_circuit_reads_as_on_the_pad() {
        let circuit = Circuit::new(Side::Vehicle);
        assert_eq!(circuit.sample(&Around::default()), OrdnanceSample::default());
        let mut unshown = welded();
        unshown.faults.unshown = Some(Event::CapsuleSeparation);
        assert_eq!(unshown.drive(&OrdnanceDrive::REST, &FLYING).count(), 1);
        let sample = unshown.sample(&FLYING);
        assert_eq!((sample.spent, sample.done), (Event::CapsuleSeparation.bit(), 0));
    }
}
