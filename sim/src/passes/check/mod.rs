//! Checking a command load before it is sent: flown against predicted contacts, ledgers and interlocks.
//!
//! Everything wrong is named, with its line and the reason, not the first only. In order:
//!
//! 1. [`delivery`](contacts::delivery): by which contact the load gets on board, and when it takes effect;
//! 2. [`rules`]: times, order, pairs, values, as the flight code holds them too;
//! 3. `orbit`: the load's constants against the predicted orbit;
//! 4. [`sequence`]: what the vehicle will do; `phase`: what does not belong there; [`pictures`]: image speed
//!    against V/h by another road, exposure against the Sun; [`ledgers`]: film, gas, energy;
//! 5. [`contacts`]: whether the vehicle listens in each contact that follows;
//! 6. [`on_board`]: the flight code's own acceptance of the same bytes.

pub mod contacts;
pub mod difference;
pub mod document;
pub mod example;
pub mod finding;
pub mod ledgers;
pub mod listing;
pub mod on_board;
mod orbit;
mod phase;
pub mod pictures;
pub mod plain;
pub mod receiver;
pub mod rules;
pub mod sequence;
pub mod state;
pub mod words;

use self::{
    contacts::{ContactMargin, Delivery},
    difference::Line,
    finding::{Finding, Findings, Grade},
    ledgers::{Appetite, Stores},
    on_board::OnBoard,
    pictures::{Picture, Sky},
    receiver::Programme,
    sequence::Sequence,
    state::State,
};
use super::prediction::Prediction;
use crate::{imaging::camera::Camera, scenario::Scenario, world::time::Utc};
use stillframe_controller::{
    programme::{check::Against, load::Load},
    settings::Settings,
};

/// What a load is held against.
#[derive(Clone, Copy)]
pub struct Ground<'a> {
    /// Scenario: vehicle, orbit, stations, areas.
    pub scenario: &'a Scenario,
    /// Settings in force.
    pub settings: &'a Settings,
    /// Camera.
    pub camera: &'a Camera,
    /// Predicted orbit.
    pub prediction: &'a Prediction,
    /// Instant of tick 0.
    pub start: Utc,
}

/// All that was found out.
#[derive(Clone, Debug)]
pub struct Checked {
    /// Refusals first, each grade in the order of the load.
    pub findings: Vec<Finding>,
    /// How and when it gets on board.
    pub delivery: Delivery,
    /// What it does.
    pub sequence: Sequence,
    /// Camera-ons in numbers.
    pub pictures: Vec<Picture>,
    /// Stores after each.
    pub stores: Vec<Stores>,
    /// Contacts that follow.
    pub contacts: Vec<ContactMargin>,
    /// The vehicle's own answer.
    pub on_board: OnBoard,
    /// Against the load on board, where that is known.
    pub difference: Option<Vec<Line>>,
}

impl Checked {
    /// Whether it may be sent.
    pub fn good(&self) -> bool {
        self.findings.iter().all(|finding| finding.grade != Grade::Refusal)
    }

    /// How many findings there are of a grade.
    pub fn count(&self, grade: Grade) -> usize {
        self.findings.iter().filter(|finding| finding.grade == grade).count()
    }
}

/// Checks a load. `lines` are the lines of its entries in the listing.
pub fn check(ground: &Ground<'_>, load: &Load, lines: &[usize], state: &State) -> Checked {
    let Ground { scenario, settings, camera, prediction, start } = *ground;
    let mut findings = Findings::new(load, lines, start);
    let end_s = scenario.run.duration_s;
    let predicted = contacts::predict(scenario, prediction, state.now_s(), end_s);
    let delivery = contacts::delivery(state, load.encode().len(), &predicted, &mut findings);
    let tick = delivery.arrives_tick;
    // Settings that the flight code refuses have been refused when the scenario was built.
    let against = on_board::against(settings, state, tick).unwrap_or(Against::alone(tick));
    rules::judge(load, &against, (end_s * 100.0) as u32, &mut findings);
    if state.counter.is_none() && state.stage != state::Stage::Pad {
        let reason = "the counter of the load in force is not known: the vehicle may refuse this one".to_owned();
        findings.caution(finding::Rule::Counter, None, reason, "Give the load on board, or its counter.");
    }
    orbit::judge(load, prediction, delivery.arrives_s, end_s, &mut findings);
    let longest_s = f64::from(against.longest_camera_s);
    let sequence = sequence::follow(load, state.inherited(tick), longest_s);
    phase::judge(load, &sequence, state, (settings, &against), &mut findings);
    let sky = Sky { scenario, settings, camera, prediction, start };
    // What lies beyond the prediction has been refused for its time; nothing else can be said of it.
    let seen = sequence::Sequence { bursts: within(&sequence, end_s), ..sequence.clone() };
    let pictures = seen.bursts.iter().map(|burst| sky.picture(burst, &mut findings)).collect();
    let stores = ledgers::keep(&Appetite { scenario, settings }, &seen, state, &mut findings);
    let programme = Programme::of(load, &settings.contact, end_s);
    let contacts = contacts::margins(load, &programme, &predicted, (delivery.arrives_s, start), &mut findings);
    let on_board = on_board::ask(load, &against, &mut findings);
    let difference = state.on_board.as_ref().map(|old| difference::difference(old, load, delivery.arrives_tick, start));
    let mut findings = findings.found;
    findings.sort_by_key(|finding| (finding.grade, finding.entry));
    Checked { findings, delivery, sequence, pictures, stores, contacts, on_board, difference }
}

fn within(sequence: &Sequence, end_s: f64) -> Vec<sequence::Burst> {
    sequence.bursts.iter().filter(|burst| burst.on_s <= end_s).cloned().collect()
}
