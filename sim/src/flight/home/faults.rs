//! Faults of a scenario, put into the capsule.

use super::Home;
use crate::{
    plant::{Plant, faults::FaultSchedule, ordnance::CircuitFaults},
    scenario::parts::fault::FaultKind,
};
use stillframe_controller::ordnance::{Event, Side};

impl Home {
    /// Brings the capsule's faults up to date; the vehicle's are the plant's own.
    pub fn suffer(&mut self, faults: &FaultSchedule, plant: &Plant) {
        self.capsule.circuit.faults = CircuitFaults::acting(faults, Side::Capsule);
        let now = &mut self.capsule.faults;
        now.spin_share = faults.find(|kind| if let FaultKind::SpinLow(low) = kind { Some(low.share) } else { None });
        now.g_switch_closed = faults.acting(|kind| matches!(kind, FaultKind::GSwitchClosed(_)));
        now.g_switch_dead = faults.acting(|kind| matches!(kind, FaultKind::GSwitchDead(_)));
        now.timer_dead = faults.acting(|kind| matches!(kind, FaultKind::BackupTimerDead(_)));
        // What does not show the vehicle that its capsule has left does not show the capsule either.
        now.umbilical_stuck = plant.ordnance.faults.unshown == Some(Event::CapsuleSeparation);
    }
}
