//! The way home as it is flown: the ground's orders in the last contact, both ordnance circuits, and the capsule's own
//! computer down to the ground.
//!
//! - [`plan`]: when the capsule is to leave, and what programme and settings need for that;
//! - [`desk`]: what the ground sends, step by step, from what it has heard;
//! - [`tracking`]: the orbit as stations see it, and the return planned anew from it;
//! - [`capsule`]: the capsule: its computer (flight code), circuit and surroundings;
//! - [`faults`]: faults of the scenario, put into the capsule;
//! - [`told`]: what is told of it in the end.
//!
//! Nothing here can reach real ordnance: circuits are models, and a board has no line for them.

pub mod capsule;
pub mod desk;
pub mod faults;
pub mod plan;
pub mod told;
pub mod tracking;

use self::{
    capsule::CapsuleSide,
    desk::{Desk, Ordered, Overheard},
    plan::HomePlan,
    tracking::Tracking,
};
use super::link::Link;
use crate::{
    descent::{AtRetro, model::Model},
    noise::NoiseSource,
    plant::{Plant, TICK_S, ordnance},
    scenario::Loaded,
    world::kepler::State,
};
use stillframe_controller::{Controller, io::TICKS_PER_S, ordnance::Event, settings::Settings};

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
    tracking: Tracking,
    /// When the vehicle was tracked that the plan lives on, s; none: the plan is that made before the run.
    pub tracked_s: Option<f64>,
    /// The capsule.
    pub capsule: CapsuleSide,
    /// Events that truly happened, with their times, s.
    pub happened: Vec<(f64, Event)>,
    /// Lines for the event list since they were last taken: time, text.
    pub notes: Vec<(f64, String)>,
}

impl Home {
    /// The way home of a vehicle that has just been separated from its carrier; `seed` of the run's noise.
    pub fn new(plan: HomePlan, loaded: &Loaded, settings: &Settings, seed: u64) -> Self {
        Self {
            tracking: Tracking::new(loaded, seed),
            tracked_s: None,
            desk: Desk::new(plan.separation_s(), token(seed)),
            capsule: CapsuleSide::new(settings.ordnance, plan.model().clone(), plan.backup_s()),
            happened: Vec::new(),
            notes: Vec::new(),
            plan,
        }
    }

    /// Whether anything goes on at this time.
    fn awake(&self, time_s: f64) -> bool {
        time_s > self.plan.separation_s() - BEFORE_S && time_s < self.plan.separation_s() + AFTER_S
    }

    /// Behind one tick of the plant: what happened in the vehicle's circuit, a step of the capsule's computer, and once a
    /// second the ground listens and speaks.
    pub fn tick(&mut self, controller: &Controller, plant: &mut Plant, link: &mut Link) {
        let time_s = plant.ticks() as f64 * TICK_S;
        for event in ordnance::events(plant.ordnance_events) {
            self.happen(time_s, event);
            if event == Event::CapsuleSeparation {
                let truth = plant.truth();
                self.capsule.leave(time_s, plan::thrust_axis(&truth));
            }
        }
        let on_the_second = plant.ticks().is_multiple_of(u64::from(TICKS_PER_S));
        if on_the_second {
            self.tracking.second(time_s, link.tracked_s, || {
                let orbit = plant.truth().orbit;
                State { position_m: orbit.position_m, velocity_m_s: orbit.velocity_m_s }
            });
        }
        if !self.awake(time_s) {
            return;
        }
        if on_the_second {
            self.plan_again(time_s);
        }
        let order = self.desk.capsule_order();
        let happened = self.capsule.tick(time_s, order, || {
            let orbit = plant.truth().orbit;
            (orbit.position_m, orbit.velocity_m_s)
        });
        for event in ordnance::events(happened) {
            self.happen(time_s, event);
        }
        plant.ordnance.around.capsule_armed = !self.capsule.left() && self.capsule.status().armed;
        if on_the_second {
            self.second(time_s, controller, plant, link);
        }
    }

    /// The return planned anew from the vehicle's tracking, once.
    fn plan_again(&mut self, time_s: f64) {
        let before_s = self.plan.separation_s();
        let note = match self.tracking.plan_again(time_s, &self.plan.planned) {
            None => return,
            Some(Err(error)) => format!("the return cannot be planned anew: {error}; the plan stays"),
            Some(Ok((fix_s, planned))) => {
                self.tracked_s = Some(fix_s);
                self.plan.planned = planned;
                let later_s = self.plan.separation_s() - before_s;
                self.desk.let_go_at(self.plan.separation_s());
                format!("return planned anew from the orbit as tracked at {fix_s:.0} s: separation {later_s:+.2} s")
            }
        };
        self.notes.push((time_s, note));
    }

    fn happen(&mut self, time_s: f64, event: Event) {
        self.happened.push((time_s, event));
        self.notes.push((time_s, format!("fired: {}", event.name())));
    }

    fn second(&mut self, time_s: f64, controller: &Controller, plant: &mut Plant, link: &mut Link) {
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
            Some(Ordered::Battery) => {
                plant.ordnance.around.battery_on = true;
                self.capsule.circuit.around.battery_on = true;
            }
            Some(Ordered::Now(packet)) => link.first(packet),
            Some(Ordered::At(at_s, packet)) => link.at(at_s, packet),
            None => {}
        }
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

/// The token of the ground's choice: a draw of its own, never zero.
fn token(seed: u64) -> u32 {
    (NoiseSource::new(seed, 0, "token", 0).uniform(0) * 4_294_967_295.0) as u32 | 1
}
