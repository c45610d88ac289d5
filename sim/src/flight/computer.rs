//! The on-board computer as a thing that fails: resets, cycles that do not end, memory that turns over, a bus that sags.
//!
//! On a board this is done by the processor, its watchdogs and the protected store; here it stands between the sensors
//! and the flight code, so that the flight code sees of it what it would on board: nothing, until it wakes.

use crate::{
    plant::{Plant, faults::FaultSchedule, power::Bus},
    scenario::parts::{
        fault::{FaultKind, UpsetPlace},
        ground::Power,
    },
};
use stillframe_controller::{
    Controller,
    controller::Memory,
    io::{Actuators, TICKS_PER_S},
    keep::{Kept, ResetCause},
};

/// From a reset to the first step, ticks: half a second, in which the processor starts and reads its store.
pub const RESTART_TICKS: u32 = 50;
/// Cycles in a row that do not end, after which the watchdog resets the processor: half a second, as the board's.
pub const WATCHDOG_TICKS: u32 = 50;

/// The computer around the flight code.
#[derive(Clone, Debug)]
pub struct Computer {
    kept: Option<Kept>,
    down_ticks: u32,
    overran: u32,
    resetting: bool,
    upset: bool,
    power: Power,
}

impl Computer {
    /// For a run in which the computer fails in some way; none otherwise, and then none of this costs anything.
    pub fn of(faults: &FaultSchedule) -> Option<Self> {
        let fails = faults.mentions(|kind| {
            matches!(
                kind,
                FaultKind::ProcessorReset(_)
                    | FaultKind::CycleOverrun(_)
                    | FaultKind::MemoryUpset(_)
                    | FaultKind::BatteryWeak(_)
            )
        });
        fails.then(|| Self {
            kept: None,
            down_ticks: 0,
            overran: 0,
            resetting: false,
            upset: false,
            power: faults.power.clone(),
        })
    }

    /// Whether the processor is starting and nothing of the flight code runs.
    pub fn down(&self) -> bool {
        self.down_ticks > 0
    }

    /// What comes out of the computer if the flight code does not get through this cycle; none if it does.
    pub fn interrupt(
        &mut self,
        controller: &mut Controller,
        plant: &Plant,
        pending: &Actuators,
        faults: &FaultSchedule,
    ) -> Option<Actuators> {
        self.turn_over(controller, faults);
        if self.down_ticks > 0 {
            self.down_ticks -= 1;
            return Some(Actuators::SAFE);
        }
        if let Some((cause, damaged)) = self.cause(controller, plant, pending, faults) {
            self.reset(controller, cause, damaged);
            return Some(Actuators::SAFE);
        }
        let every = faults.find(|kind| if let FaultKind::CycleOverrun(over) = kind { Some(over.every) } else { None });
        if every.is_some_and(|every| plant.ticks().is_multiple_of(every.max(1))) {
            self.overran += 1;
            if self.overran >= WATCHDOG_TICKS {
                self.reset(controller, ResetCause::Watchdog, false);
                return Some(Actuators::SAFE);
            }
            return Some(controller.overrun());
        }
        self.overran = 0;
        if plant.ticks().is_multiple_of(u64::from(TICKS_PER_S)) {
            self.put_by(controller);
        }
        None
    }

    /// A bit of memory, once at the fault's begin.
    fn turn_over(&mut self, controller: &mut Controller, faults: &FaultSchedule) {
        let place = faults.find(|kind| if let FaultKind::MemoryUpset(upset) = kind { Some(upset.place) } else { None });
        let before = std::mem::replace(&mut self.upset, place.is_some());
        if let Some(place) = place.filter(|_| !before) {
            controller.turn_over(match place {
                UpsetPlace::Gain => Memory::Gain,
                UpsetPlace::Film => Memory::Film,
                UpsetPlace::Load => Memory::Load(0),
            });
        }
    }

    /// Why the processor is reset now, and whether what was kept is damaged by it.
    fn cause(
        &mut self,
        controller: &Controller,
        plant: &Plant,
        pending: &Actuators,
        faults: &FaultSchedule,
    ) -> Option<(ResetCause, bool)> {
        let asked = faults
            .find(|kind| if let FaultKind::ProcessorReset(reset) = kind { Some(reset.store_damaged) } else { None });
        let before = std::mem::replace(&mut self.resetting, asked.is_some());
        if let Some(damaged) = asked.filter(|_| !before) {
            return Some((ResetCause::Watchdog, damaged));
        }
        if controller.asks_for_reset() {
            return Some((ResetCause::Memory, false));
        }
        let resistance_ohm = faults
            .find(|kind| if let FaultKind::BatteryWeak(weak) = kind { Some(weak.resistance_ohm) } else { None })?;
        let bus = Bus { open_v: self.power.bus_v, resistance_ohm, least_v: self.power.brown_out_v };
        (!bus.holds(self.power_w(plant, pending))).then_some((ResetCause::BrownOut, false))
    }

    /// Power drawn now, W.
    fn power_w(&self, plant: &Plant, pending: &Actuators) -> f64 {
        let valves = plant.flowing().count_ones();
        self.power.drawn_w(valves, plant.film().electric_power_w(), pending.transmit)
    }

    fn reset(&mut self, controller: &mut Controller, cause: ResetCause, damaged: bool) {
        let kept = self.kept.clone().map(|kept| if damaged { kept.damaged(0) } else { kept });
        // The settings the controller was given stand for those in the protected store: the parts' own copies are what
        // an upset touches.
        if let Ok(woken) = Controller::wake(controller.settings().clone(), kept.as_ref(), cause) {
            *controller = woken;
        }
        // A store that was damaged is written anew from what runs.
        self.put_by(controller);
        self.down_ticks = RESTART_TICKS;
        self.overran = 0;
    }

    fn put_by(&mut self, controller: &Controller) {
        if let Some(kept) = controller.keep() {
            self.kept = Some(kept);
        }
    }
}
