//! The study as one JSON document with a published schema.

use super::{
    capture::Capture,
    loop_margins::Margins,
    measure::Measured,
    propose::Choice,
    stress::Limit,
    sweep::{Knob, Point},
};
use crate::record::summary::Criterion;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Number of the document's format; rises when a field changes its meaning or goes.
pub const STUDY_FORMAT: u32 = 1;

/// An attitude study.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
pub struct Document {
    /// Number of this format: 1.
    pub format: u32,
    /// Name of the scenario.
    pub scenario: String,
    /// Name of the vehicle.
    pub vehicle: String,
    /// Seed of all random draws.
    pub seed: u64,
    /// Hash of the scenario file's bytes, hexadecimal.
    pub scenario_hash: String,
    /// Version of the program.
    pub program_version: String,
    /// The vehicle's axes: roll, pitch, yaw.
    pub axes: Vec<AxisFacts>,
    /// Settings proposed, with reasons.
    pub proposal: Vec<Choice>,
    /// Settings compared, first those in hand.
    pub candidates: Vec<Candidate>,
    /// Which candidate the study ends with, counted from 0.
    pub chosen: usize,
    /// Loop margins of the chosen settings: roll, pitch, yaw.
    pub margins: Vec<Margins>,
    /// Limits of the chosen settings found by simulation.
    pub limits: Vec<Limit>,
    /// Settings varied.
    pub knobs: Vec<Knob>,
    /// Points of the sweep.
    pub points: Vec<Point>,
    /// Numbers of the points on the front, by rising gas.
    pub front: Vec<u64>,
    /// Captures of the map, roll rate running fastest.
    pub capture_map: Vec<Capture>,
    /// Captures from random tip-offs.
    pub captures: Vec<Capture>,
    /// Median cost of an attitude step in fine hold on the computer that did the study, ns. No two runs agree in it.
    #[serde(default)]
    pub step_ns: f64,
}

/// What is known of one axis.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
pub struct AxisFacts {
    /// Moment of inertia, kg·m².
    pub inertia_kg_m2: f64,
    /// Torque of the jets, N·m.
    pub torque_nm: f64,
    /// Torque over summed thrust, m.
    pub lever_m: f64,
    /// Specific impulse, s.
    pub specific_impulse_s: f64,
    /// Rate change of the shortest pulse, degrees a second.
    pub least_step_deg_s: f64,
    /// Mean disturbance, N·m.
    pub disturbance_mean_nm: f64,
    /// Mean magnitude of the disturbance, N·m.
    pub disturbance_magnitude_nm: f64,
    /// Largest disturbance, N·m.
    pub disturbance_largest_nm: f64,
    /// Mean disturbance from which a cycle of the least pulse stays to one side, ΔH²/(16·I·θ), with the settings the
    /// study ends with, N·m.
    pub steady_from_nm: f64,
    /// Whether the disturbance is steady: its mean is above that and is most of its size. Only then is gas in hold held
    /// against it.
    pub steady: bool,
}

/// One set of settings, predicted and flown.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
pub struct Candidate {
    /// What it is called.
    pub name: String,
    /// Hash of the settings, hexadecimal.
    pub settings_hash: String,
    /// Predictions beside measures.
    pub compared: Vec<Compared>,
    /// What is asked, and what it came to.
    pub criteria: Vec<Criterion>,
    /// The undisturbed flight.
    pub free: Measured,
    /// The flight of the scenario's programme.
    pub held: Measured,
}

/// A closed form beside a simulation.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
pub struct Compared {
    /// What.
    pub name: String,
    /// Axis, or `all`.
    pub axis: String,
    /// Unit.
    pub unit: String,
    /// From the closed form.
    pub predicted: f64,
    /// From the simulation; none if it never happened there.
    pub measured: Option<f64>,
    /// Measured over predicted less one, per cent.
    pub difference_percent: Option<f64>,
}

impl Compared {
    /// A row.
    pub fn new(name: &str, axis: &str, unit: &str, predicted: f64, measured: Option<f64>) -> Self {
        let measured = measured.filter(|value| value.is_finite());
        let difference = measured.filter(|_| predicted != 0.0).map(|value| (value / predicted - 1.0) * 100.0);
        Self {
            name: name.into(),
            axis: axis.into(),
            unit: unit.into(),
            predicted,
            measured,
            difference_percent: difference,
        }
    }
}

/// The schema of [`Document`] as JSON text.
pub fn study_schema() -> String {
    let schema = schemars::schema_for!(Document);
    let mut text = serde_json::to_string_pretty(&schema).unwrap_or_default();
    text.push('\n');
    text
}
