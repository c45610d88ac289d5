//! An ordnance circuit: battery switch, contacts, arming relay, firing lines and commit switch in series, and what of
//! them can be read back.
//!
//! What lies between the processor and a charge, as built or as a fault has left it. The vehicle carries one of these and
//! the capsule another. Nothing here is a design for a real circuit.

use super::faults::FaultSchedule;
use crate::scenario::parts::fault::{CircuitName, FaultKind, OrdnanceEvent};
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
    /// The commit switch is welded.
    pub commit_welded: bool,
    /// This event's firing line is closed and stays so.
    pub line_closed: Option<Event>,
    /// This event fires, and its contact never tells.
    pub unshown: Option<Event>,
    /// This event's charge burns its wire and does nothing.
    pub dud: Option<Event>,
}

impl CircuitFaults {
    /// Those that act now on the circuit of `side`.
    pub fn acting(faults: &FaultSchedule, side: Side) -> Self {
        let mine = |name: CircuitName| matches!(name, CircuitName::Vehicle) == (side == Side::Vehicle);
        let own = |named: OrdnanceEvent| Some(named.event()).filter(|event| event.bit() & side.events() != 0);
        Self {
            relay_welded: faults.acting(|kind| matches!(kind, FaultKind::RelayWelded(named) if mine(named.circuit))),
            commit_welded: faults.acting(|kind| matches!(kind, FaultKind::CommitWelded(named) if mine(named.circuit))),
            line_closed: faults
                .find(|kind| if let FaultKind::LineClosed(named) = kind { own(named.event) } else { None }),
            unshown: faults
                .find(|kind| if let FaultKind::EventUnshown(named) = kind { own(named.event) } else { None }),
            dud: faults.find(|kind| if let FaultKind::DudCharge(named) = kind { own(named.event) } else { None }),
        }
    }
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
    /// What stands around it.
    pub around: Around,
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
    /// As built, nothing spent, on the pad.
    pub fn new(side: Side) -> Self {
        Self {
            side,
            around: Around::default(),
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
    pub fn sample(&self) -> OrdnanceSample {
        let around = &self.around;
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
        self.faults.relay_welded || self.arm && !self.abort
    }

    fn commit_closed(&self) -> bool {
        self.faults.commit_welded || self.commit
    }

    fn lines_closed(&self) -> u8 {
        self.lines | self.faults.line_closed.map_or(0, Event::bit)
    }

    /// Bridgewires that have had current, a bit an event.
    pub fn spent(&self) -> u8 {
        self.spent
    }

    /// The processor's outputs take effect for a tick; bits of the events that happen in it, which may be several if lines
    /// are closed that should not be.
    pub fn take(&mut self, drive: &OrdnanceDrive) -> u8 {
        (self.arm, self.commit, self.lines) = (drive.arm(), drive.commits(), drive.lines());
        // A processor that is down writes nothing, and a sound word is never nought: what memory retains stays.
        if drive.retain() != 0 {
            self.retained = (drive.retain(), drive.retain_ticks());
        }
        self.abort |= drive.abort();
        let contacts = self.around.off_carrier && (self.side == Side::Vehicle || self.around.left);
        let current = contacts && self.around.battery_on && self.relay_closed() && !self.abort && self.commit_closed();
        let fired = if current { self.lines_closed() & self.side.events() & !self.spent } else { 0 };
        self.spent |= fired;
        let worked = fired & !self.faults.dud.map_or(0, Event::bit);
        self.done |= worked;
        worked
    }
}

/// The events of a row of bits, in order.
pub fn events(bits: u8) -> impl Iterator<Item = Event> {
    Event::ALL.into_iter().filter(move |event| bits & event.bit() != 0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use stillframe_controller::ordnance::{OrdnanceSettings, order::Order, readiness::Readiness, vehicle::Vehicle};

    const FLYING: Around = Around { off_carrier: true, left: false, battery_on: true, capsule_armed: false };

    fn welded(side: Side, line: Event) -> Circuit {
        let mut circuit = Circuit::new(side);
        circuit.faults = CircuitFaults {
            relay_welded: true,
            commit_welded: true,
            line_closed: Some(line),
            ..CircuitFaults::default()
        };
        circuit
    }

    /// By the series itself: with every contact welded, the battery's switch and the carrier's loop alone hold.
    #[test]
    fn everything_stands_in_series() {
        let fired = |around: Around| {
            let mut circuit = welded(Side::Vehicle, Event::CapsuleSeparation);
            circuit.around = around;
            circuit.take(&OrdnanceDrive::REST)
        };
        assert_eq!(fired(FLYING), Event::CapsuleSeparation.bit());
        assert_eq!(fired(Around { battery_on: false, ..FLYING }), 0);
        assert_eq!(fired(Around { off_carrier: false, ..FLYING }), 0);
        let mut capsule = welded(Side::Capsule, Event::Spin);
        capsule.around = FLYING;
        assert_eq!(capsule.take(&OrdnanceDrive::REST), 0, "the capsule has not left");
        capsule.around.left = true;
        assert_eq!(capsule.take(&OrdnanceDrive::REST), Event::Spin.bit());
        assert_eq!(capsule.take(&OrdnanceDrive::REST), 0, "spent");
    }

    #[test]
    fn at_rest_it_reads_as_on_the_pad_and_an_event_may_not_show() {
        assert_eq!(Circuit::new(Side::Vehicle).sample(), OrdnanceSample::default());
        let mut unshown = welded(Side::Vehicle, Event::CapsuleSeparation);
        unshown.around = FLYING;
        unshown.faults.unshown = Some(Event::CapsuleSeparation);
        assert_ne!(unshown.take(&OrdnanceDrive::REST), 0);
        assert_eq!((unshown.sample().spent, unshown.sample().done), (Event::CapsuleSeparation.bit(), 0));
    }

    /// While a processor is down nothing is driven; waking, it finds the word as it left it.
    #[test]
    fn a_reset_leaves_what_memory_retains() {
        let mut circuit = Circuit::new(Side::Vehicle);
        circuit.around = FLYING;
        let mut vehicle = Vehicle::new(OrdnanceSettings::default());
        circuit.take(&vehicle.step(None, circuit.sample(), true, Readiness::default()));
        let kept = circuit.sample().retained;
        assert_ne!(kept, 0, "the sequencer wrote no word");
        circuit.take(&OrdnanceDrive::REST);
        assert_eq!(circuit.sample().retained, kept);
    }

    /// The real sequence on this circuit, with a moment that is right and with one that is not.
    #[test]
    fn a_vehicle_that_is_ready_spends_its_cover_and_one_that_is_not_does_not() {
        for (film_sealed, spent) in [(true, Event::CoverRelease.bit()), (false, 0)] {
            let mut vehicle = Vehicle::new(OrdnanceSettings::default());
            let ready = Readiness { film_sealed, settled: true, ..Readiness::default() };
            let mut circuit = Circuit::new(Side::Vehicle);
            circuit.around = FLYING;
            let orders = [Order::Arm(7), Order::Confirm(7), Order::Go(Event::CoverRelease, 7)];
            for (counter, order) in (1..).zip(orders) {
                let drive = vehicle.step(Some(order.encode(counter)), circuit.sample(), true, ready);
                circuit.take(&drive);
            }
            for _ in 0..20 {
                circuit.take(&vehicle.step(None, circuit.sample(), true, ready));
            }
            assert_eq!(circuit.spent(), spent);
        }
    }
}
