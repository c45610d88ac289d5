//! The way home as it is flown: the ground's orders in the last contact, both ordnance circuits, and the capsule's own
//! computer down to the ground.
//!
//! - [`plan`]: when the capsule is to leave, and what programme and settings need for that;
//! - [`desk`]: what the ground sends, step by step, from what it has heard;
//! - [`capsule`]: the capsule: its computer (flight code), circuit and surroundings;
//! - [`faults`]: faults of the scenario, put into circuits and capsule.
//!
//! Nothing here can reach real ordnance: circuits are models, and a board has no line for them.

pub mod capsule;
pub mod desk;
pub mod faults;
pub mod plan;

use self::{
    capsule::CapsuleSide,
    desk::{Desk, Ordered, Overheard},
    plan::HomePlan,
};
use super::link::Link;
use crate::{
    descent::{AtRetro, model::Model},
    plant::{
        Plant, TICK_S,
        ordnance::{Around, Circuit},
    },
};
use stillframe_controller::{
    Controller,
    io::{Actuators, OrdnanceSample, TICKS_PER_S},
    ordnance::{Event, OrdnanceSettings, Side},
    settings::Settings,
};

/// Time after the planned separation until which the vehicle's circuit is looked at, s.
const AFTER_S: f64 = 7_200.0;
/// Time before it from which on, s: the desk begins about a minute ahead.
const BEFORE_S: f64 = 600.0;

/// The way home of one flight.
#[derive(Clone, Debug)]
pub struct Home {
    /// The plan.
    pub plan: HomePlan,
    desk: Desk,
    /// The vehicle's circuit.
    pub vehicle: Circuit,
    /// The capsule.
    pub capsule: CapsuleSide,
    battery_on: bool,
    /// Events that truly happened, with their times, s.
    pub happened: Vec<(f64, Event)>,
    /// Lines for the event list since they were last taken: time, text.
    pub notes: Vec<(f64, String)>,
}

impl Home {
    /// The way home of a vehicle that has just been separated from its carrier.
    pub fn new(plan: HomePlan, settings: &Settings, token: u32) -> Self {
        let ordnance: OrdnanceSettings = settings.ordnance;
        Self {
            desk: Desk::new(plan.separation_s, token),
            vehicle: Circuit::new(Side::Vehicle),
            capsule: CapsuleSide::new(ordnance, plan.model().clone(), plan.backup_s()),
            battery_on: false,
            happened: Vec::new(),
            notes: Vec::new(),
            plan,
        }
    }

    fn around(&self) -> Around {
        Around {
            off_carrier: true,
            left: false,
            battery_on: self.battery_on,
            capsule_armed: !self.capsule.left() && self.capsule.status().armed,
        }
    }

    /// What the vehicle's computer reads of its circuit.
    pub fn sample(&self) -> OrdnanceSample {
        self.vehicle.sample(&self.around())
    }

    /// Whether anything goes on at this time.
    fn awake(&self, time_s: f64) -> bool {
        time_s > self.plan.separation_s - BEFORE_S && time_s < self.plan.separation_s + AFTER_S
            || self.vehicle.faults != Default::default()
    }

    /// One tick: outputs of the tick before act, the capsule's computer is stepped, and once a second the ground listens
    /// and speaks.
    pub fn tick(&mut self, acting: &Actuators, controller: &Controller, plant: &mut Plant, link: &mut Link) {
        let time_s = plant.ticks() as f64 * TICK_S;
        let around = self.around();
        let fired: Vec<Event> = self.vehicle.drive(&acting.ordnance, &around).collect();
        for event in fired {
            self.happen(time_s, event);
            if event == Event::CapsuleSeparation {
                let truth = plant.truth();
                self.capsule.leave(time_s, plan::thrust_axis(&truth));
            }
        }
        if !self.awake(time_s) {
            return;
        }
        let order = self.desk.capsule_order();
        let events = self.capsule.tick(time_s, order, || {
            let truth = plant.truth();
            (truth.orbit.position_m, truth.orbit.velocity_m_s)
        });
        for event in events {
            self.happen(time_s, event);
        }
        if plant.ticks().is_multiple_of(u64::from(TICKS_PER_S)) {
            self.second(time_s, controller, link);
        }
    }

    fn happen(&mut self, time_s: f64, event: Event) {
        self.happened.push((time_s, event));
        self.notes.push((time_s, format!("fired: {}", event.name())));
    }

    fn second(&mut self, time_s: f64, controller: &Controller, link: &mut Link) {
        let heard = match link.observed {
            Some((at_s, told)) if link.contact().is_some() && time_s - at_s < 1.5 => Some(told),
            _ => None,
        };
        let overheard = Overheard {
            time_s,
            vehicle: heard.as_ref(),
            // The capsule has a transmitter of its own.
            capsule: link.contact().map(|_| *self.capsule.status()),
            listens: controller.telemetry().uplink.listen,
        };
        let ordered = self.desk.second(&overheard);
        self.notes.extend(self.desk.notes.drain(..).map(|note| (time_s, note)));
        match ordered {
            Some(Ordered::Battery) => self.battery_on = true,
            Some(Ordered::Now(packet)) => link.first(packet),
            Some(Ordered::At(at_s, packet)) => link.at(at_s, packet),
            None => {}
        }
        self.capsule.set_battery(self.battery_on);
    }

    /// The state at ignition that was truly reached, once the motor has been lit.
    pub fn ignition(&self) -> Option<&AtRetro> {
        self.capsule.ignition()
    }

    /// Capsule and plan for the descent.
    pub fn model(&self) -> &Model {
        self.plan.model()
    }
}
