//! The sequence as the vehicle's computer runs it, and what is common to both computers.

use super::{
    event::Side,
    order::{Arrival, Doorkeeper, ORDER_BYTES, Order},
    readiness::Readiness,
    sequencer::{Input, Sequencer},
    settings::OrdnanceSettings,
    status::{Alarm, Alarms, Status},
};
use crate::io::{OrdnanceDrive, OrdnanceSample};

/// Ticks for which a relay may stay closed after it was let go before it is taken to be welded.
const RELAY_TICKS: u8 = 10;

/// Doorkeeper, sequencer and account of one computer.
#[derive(Clone, Debug, PartialEq)]
pub struct Computer {
    door: Doorkeeper,
    sequencer: Sequencer,
    settings: OrdnanceSettings,
    relay_late: u8,
    status: Status,
}

impl Computer {
    /// As it wakes.
    pub(super) fn new(side: Side, settings: OrdnanceSettings) -> Self {
        Self {
            door: Doorkeeper::default(),
            sequencer: Sequencer::new(side),
            settings,
            relay_late: 0,
            status: Status::default(),
        }
    }

    pub(super) fn step(&mut self, order: Option<[u8; ORDER_BYTES]>, surroundings: &Surroundings) -> OrdnanceDrive {
        let arrival = order.map(|bytes| self.door.admit(bytes));
        let Surroundings { sample, left, apart, readiness } = *surroundings;
        let input = Input { arrival, sample, left, apart, readiness };
        let (drive, news) = self.sequencer.step(&self.settings, &input);
        self.account(&input, news);
        drive
    }

    fn account(&mut self, input: &Input, mut news: Alarms) {
        let welded = news.has(Alarm::RelayWelded);
        self.relay_late = if welded { self.relay_late.saturating_add(1).min(RELAY_TICKS) } else { 0 };
        if self.relay_late < RELAY_TICKS {
            news.0 &= !Alarm::RelayWelded.bit();
        }
        let safe = input.arrival == Some(Arrival::Order(Order::Safe));
        let status = &mut self.status;
        let before = if safe { 0 } else { status.alarms.0 };
        status.alarms = Alarms(before | news.0);
        status.refused = status.refused.saturating_add(u16::from(news.0 & REFUSALS != 0));
        status.count = self.sequencer.count().unwrap_or(0);
        status.armed = self.sequencer.arming().is_armed();
        status.aborted = self.sequencer.aborted();
        status.echo = self.sequencer.arming().echo();
        status.inhibits = self.sequencer.inhibits(&self.settings, input);
    }

    /// As of the last tick.
    pub fn status(&self) -> &Status {
        &self.status
    }
}

/// Alarms that mean an order was not carried out.
const REFUSALS: u16 = Alarm::Garbled.bit()
    | Alarm::Repeated.bit()
    | Alarm::ArmRefused.bit()
    | Alarm::WrongEcho.bit()
    | Alarm::NotArmed.bit()
    | Alarm::OutOfTurn.bit()
    | Alarm::WavedOff.bit()
    | Alarm::AbortRefused.bit();

/// Contacts and readings of a tick.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Surroundings {
    pub sample: OrdnanceSample,
    pub left: bool,
    pub apart: bool,
    pub readiness: Readiness,
}

/// The vehicle's two events: cover release and capsule separation.
#[derive(Clone, Debug, PartialEq)]
pub struct Vehicle(Computer);

impl Vehicle {
    /// As it wakes: disarmed.
    pub fn new(settings: OrdnanceSettings) -> Self {
        Self(Computer::new(Side::Vehicle, settings))
    }

    /// One base tick. `separated`: the vehicle's sense that it has left its carrier, held.
    pub fn step(
        &mut self,
        order: Option<[u8; ORDER_BYTES]>,
        sample: OrdnanceSample,
        separated: bool,
        readiness: Readiness,
    ) -> OrdnanceDrive {
        self.0.step(order, &Surroundings { sample, left: separated, apart: true, readiness })
    }

    /// As of the last tick.
    pub fn status(&self) -> &Status {
        self.0.status()
    }
}
