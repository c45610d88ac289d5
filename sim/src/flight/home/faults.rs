//! Faults of a scenario, put into circuits and capsule.

use super::Home;
use crate::{
    plant::{faults::FaultSchedule, ordnance::CircuitFaults},
    scenario::parts::fault::{CircuitName, EventName, FaultKind},
};
use stillframe_controller::ordnance::{Event, Side};

impl Home {
    /// Brings the faults up to date. Cheap when nothing has `changed`.
    pub fn suffer(&mut self, faults: &FaultSchedule, changed: bool) {
        if !changed {
            return;
        }
        self.vehicle.faults = circuit(faults, Side::Vehicle);
        self.capsule.circuit.faults = circuit(faults, Side::Capsule);
        let now = &mut self.capsule.faults;
        now.spin_share = faults.find(|kind| if let FaultKind::SpinLow(low) = kind { Some(low.share) } else { None });
        now.g_switch_closed = faults.acting(|kind| matches!(kind, FaultKind::GSwitchClosed(_)));
        now.g_switch_dead = faults.acting(|kind| matches!(kind, FaultKind::GSwitchDead(_)));
        // What does not show the vehicle that its capsule has left does not show the capsule either.
        now.umbilical_stuck = self.vehicle.faults.unshown == Some(Event::CapsuleSeparation);
        now.timer_dead = faults.acting(|kind| matches!(kind, FaultKind::BackupTimerDead(_)));
    }
}

fn circuit(faults: &FaultSchedule, side: Side) -> CircuitFaults {
    let mine = |name: CircuitName| matches!(name, CircuitName::Vehicle) == (side == Side::Vehicle);
    let own = |name: EventName| Some(event(name)).filter(|event| event.bit() & side.events() != 0);
    CircuitFaults {
        relay_welded: faults.acting(|kind| matches!(kind, FaultKind::RelayWelded(named) if mine(named.circuit))),
        relay_open: false,
        commit_welded: faults.acting(|kind| matches!(kind, FaultKind::CommitWelded(named) if mine(named.circuit))),
        line_closed: faults.find(|kind| if let FaultKind::LineClosed(named) = kind { own(named.event) } else { None }),
        unshown: faults.find(|kind| if let FaultKind::EventUnshown(named) = kind { own(named.event) } else { None }),
        dud: faults.find(|kind| if let FaultKind::DudCharge(named) = kind { own(named.event) } else { None }),
    }
}

/// The event of a name.
pub fn event(name: EventName) -> Event {
    match name {
        EventName::CoverRelease => Event::CoverRelease,
        EventName::CapsuleSeparation => Event::CapsuleSeparation,
        EventName::Spin => Event::Spin,
        EventName::RetroIgnition => Event::RetroIgnition,
        EventName::Despin => Event::Despin,
        EventName::MotorRelease => Event::MotorRelease,
        EventName::Drogue => Event::Drogue,
        EventName::Main => Event::Main,
    }
}
