//! The check for other programs: one JSON document with a published schema. Units are the endings of the names.

use super::{
    Checked,
    contacts::{ContactMargin, Delivery},
    difference::Line,
    finding::{Finding, Grade},
    ledgers::Stores,
    listing::utc,
    on_board::OnBoard,
    pictures::Picture,
    plain,
    state::{Reserves, State},
};
use crate::{scenario::Scenario, world::time::Utc};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use stillframe_controller::{programme::load::Load, settings::Settings};

/// Number of this format; rises when a field changes its meaning or goes.
pub const FORMAT: u32 = 1;

/// A load, checked.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Document {
    /// Number of this format: 1.
    pub format: u32,
    /// Whether the load may be sent: no refusals.
    pub good: bool,
    /// Number of refusals.
    pub refusals: usize,
    /// Number of cautions.
    pub cautions: usize,
    /// Name of the scenario.
    pub scenario: String,
    /// Name of the vehicle.
    pub vehicle: String,
    /// File of the load, or where it comes from.
    pub load: String,
    /// Its counter.
    pub counter: u16,
    /// Its check sum, CRC-16/CCITT-FALSE, as four hexadecimal digits.
    pub checksum: String,
    /// Its length on the wire, bytes.
    pub bytes: usize,
    /// Number of its commands.
    pub commands: usize,
    /// UTC of the first command, if there is one.
    pub first_utc: Option<String>,
    /// UTC of the last.
    pub last_utc: Option<String>,
    /// The vehicle when the load is sent.
    pub sent: Sent,
    /// How it gets on board.
    pub delivery: Delivery,
    /// The flight code's own answer.
    pub on_board: OnBoard,
    /// Everything found.
    pub findings: Vec<Finding>,
    /// Camera-ons.
    pub pictures: Vec<Picture>,
    /// Stores after each camera-on.
    pub stores: Vec<Stores>,
    /// Contacts that follow, with the margin in each.
    pub contacts: Vec<ContactMargin>,
    /// The load on board beside this one; none if that is not known.
    pub difference: Option<Vec<Line>>,
    /// What the load does, in sentences.
    pub in_words: Vec<String>,
}

/// The vehicle when the load is sent, as the ground knows it, and what may not be touched.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Sent {
    /// s since the start.
    pub now_s: f64,
    /// UTC of that.
    pub now_utc: String,
    /// `on the pad`, `in flight` or `film cut and sealed`.
    pub stage: String,
    /// Where the numbers below come from.
    pub source: String,
    /// Counter of the load in force.
    pub counter: Option<u16>,
    /// Film left, m.
    pub film_m: f64,
    /// Film kept for cutting and sealing, m.
    pub film_reserve_m: f64,
    /// Gas left, kg.
    pub gas_kg: f64,
    /// Gas kept for the return, kg.
    pub gas_reserve_kg: f64,
    /// Energy left, Wh.
    pub energy_wh: f64,
    /// Energy kept, Wh.
    pub energy_reserve_wh: f64,
}

/// Puts the document together.
pub fn document(
    (scenario, settings, start): (&Scenario, &Settings, Utc),
    name: &str,
    load: &Load,
    state: &State,
    checked: &Checked,
) -> Document {
    let bytes = load.encode();
    let sum = bytes.last_chunk::<2>().map_or(0, |sum| u16::from_be_bytes(*sum));
    let ticks = || load.entries.iter().map(|entry| entry.tick);
    let reserves = Reserves::of(scenario, settings);
    Document {
        format: FORMAT,
        good: checked.good(),
        refusals: checked.count(Grade::Refusal),
        cautions: checked.count(Grade::Caution),
        scenario: scenario.run.name.clone(),
        vehicle: scenario.run.vehicle.clone(),
        load: name.to_owned(),
        counter: load.counter,
        checksum: format!("{sum:04X}"),
        bytes: bytes.len(),
        commands: load.entries.len(),
        first_utc: ticks().min().map(|tick| utc(start, tick)),
        last_utc: ticks().max().map(|tick| utc(start, tick)),
        sent: Sent {
            now_s: state.now_s(),
            now_utc: utc(start, state.now_tick),
            stage: state.stage.word().to_owned(),
            source: state.source.clone(),
            counter: state.counter,
            film_m: state.film_m,
            film_reserve_m: reserves.film_m,
            gas_kg: state.gas_kg,
            gas_reserve_kg: reserves.gas_kg,
            energy_wh: state.energy_j / 3600.0,
            energy_reserve_wh: reserves.energy_j / 3600.0,
        },
        delivery: checked.delivery.clone(),
        on_board: checked.on_board.clone(),
        findings: checked.findings.clone(),
        pictures: checked.pictures.clone(),
        stores: checked.stores.clone(),
        contacts: checked.contacts.clone(),
        difference: checked.difference.clone(),
        in_words: plain::sentences(load, checked),
    }
}

impl Document {
    /// As JSON.
    pub fn to_json(&self) -> String {
        serde_json::to_string_pretty(self).unwrap_or_default()
    }
}

/// The schema of [`Document`].
pub fn document_schema() -> String {
    serde_json::to_string_pretty(&schemars::schema_for!(Document)).unwrap_or_default() + "\n"
}
