//! The vehicle's ordnance circuit: what the flight code reads of it. Items that get current are spent; in the simulated
//! flight nothing leaves the vehicle by it.

use stillframe_controller::{
    io::{OrdnanceDrive, OrdnanceSample},
    ordnance::event::Side,
};

/// Voltage of the recovery battery behind its switch, V.
const RECOVERY_V: f32 = 28.0;

/// Switches, relays, latches, bridgewires and retained memory.
#[derive(Clone, Copy, Debug, Default)]
pub struct Ordnance {
    /// The recovery battery's switch is closed.
    pub battery: bool,
    /// The arming relay is welded.
    pub relay_welded: bool,
    drive: OrdnanceDrive,
    spent: u8,
    latched: bool,
}

impl Ordnance {
    /// What the flight code reads. A flight begins after the carrier has been left.
    pub fn sample(&self) -> OrdnanceSample {
        OrdnanceSample {
            off_carrier: true,
            recovery_v: if self.battery { RECOVERY_V } else { 0.0 },
            relay_closed: self.relay(),
            commit_closed: self.drive.commits(),
            lines_closed: self.drive.lines(),
            spent: self.spent,
            done: self.spent,
            abort_latched: [self.latched; 2],
            capsule_armed: false,
            retained: self.drive.retain(),
            retained_ticks: self.drive.retain_ticks(),
        }
    }

    fn relay(&self) -> bool {
        self.relay_welded || self.drive.arm() && !self.latched
    }

    /// What the flight code asked for takes effect.
    pub fn take(&mut self, drive: &OrdnanceDrive) {
        self.drive = *drive;
        self.latched |= drive.abort();
        if self.battery && self.relay() && !self.latched {
            let fired = drive.fired().map_or(0, |event| event.bit());
            self.spent |= fired & Side::Vehicle.events();
        }
    }

    /// Items that have had current, a bit an event.
    pub fn spent(&self) -> u8 {
        self.spent
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use stillframe_controller::ordnance::{
        Event, OrdnanceSettings, order::Order, readiness::Readiness, vehicle::Vehicle,
    };

    /// The real sequence on this circuit, with a moment that is right and with one that is not.
    #[test]
    fn a_vehicle_that_is_ready_spends_its_cover_and_one_that_is_not_does_not() {
        for (film_sealed, spent) in [(true, Event::CoverRelease.bit()), (false, 0)] {
            let mut vehicle = Vehicle::new(OrdnanceSettings::default());
            let ready = Readiness { film_sealed, settled: true, ..Readiness::default() };
            let mut circuit = Ordnance { battery: true, ..Ordnance::default() };
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
