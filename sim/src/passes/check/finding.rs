//! What is wrong with a load, or worth a second look: which line, why, what to do.

use super::{listing::utc, words::words};
use crate::world::time::Utc;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use stillframe_controller::programme::load::Load;

/// How grave a finding is.
#[derive(Clone, Copy, Debug, Deserialize, Eq, JsonSchema, Ord, PartialEq, PartialOrd, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Grade {
    /// The load must not be sent.
    Refusal,
    /// It may be sent; two people should know of this.
    Caution,
}

/// Which rule a finding comes from.
#[derive(Clone, Copy, Debug, Deserialize, Eq, JsonSchema, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Rule {
    /// The load's counter against the one in force.
    Counter,
    /// Orbit constants against the predicted orbit.
    Orbit,
    /// Times: past, rolled over, beyond what is predicted, out of order.
    Time,
    /// Camera on and off in pairs, not too long, not left on.
    Camera,
    /// Values that the vehicle does not have.
    Value,
    /// Film.
    Film,
    /// Gas.
    Gas,
    /// Energy.
    Energy,
    /// Receiver, silence timer and contacts.
    Contact,
    /// Something that does not belong into this state of the mission.
    Phase,
    /// Image speed against V/h worked out apart.
    Speed,
    /// Exposure against the Sun.
    Exposure,
    /// The vehicle's own acceptance refused it where the ground's rules did not.
    OnBoard,
}

impl Rule {
    /// Its name, for people.
    pub fn word(self) -> &'static str {
        match self {
            Self::Counter => "counter",
            Self::Orbit => "orbit",
            Self::Time => "time",
            Self::Camera => "camera",
            Self::Value => "value",
            Self::Film => "film",
            Self::Gas => "gas",
            Self::Energy => "energy",
            Self::Contact => "contact",
            Self::Phase => "phase",
            Self::Speed => "speed",
            Self::Exposure => "exposure",
            Self::OnBoard => "on board",
        }
    }
}

/// One finding.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Finding {
    /// Refusal or caution.
    pub grade: Grade,
    /// Rule.
    pub rule: Rule,
    /// Entry of the load, counted from 1; none for the load as a whole.
    pub entry: Option<usize>,
    /// Line of the listing.
    pub line: Option<usize>,
    /// Tick of the entry.
    pub tick: Option<u32>,
    /// UTC of that tick by a right clock.
    pub utc: Option<String>,
    /// The entry's command in the listing's words.
    pub command: Option<String>,
    /// What is wrong.
    pub reason: String,
    /// What to do about it.
    pub remedy: String,
}

/// Gathers findings about one load.
#[derive(Debug)]
pub struct Findings<'a> {
    load: &'a Load,
    lines: &'a [usize],
    start: Utc,
    /// What was found, in the order in which it was found.
    pub found: Vec<Finding>,
}

impl<'a> Findings<'a> {
    /// Nothing found yet. `lines` are those of the entries in the listing.
    pub fn new(load: &'a Load, lines: &'a [usize], start: Utc) -> Self {
        Self { load, lines, start, found: Vec::new() }
    }

    /// The load must not be sent, because of an entry (counted from 0) or as a whole.
    pub fn refuse(&mut self, rule: Rule, entry: Option<usize>, reason: String, remedy: &str) {
        self.add(Grade::Refusal, rule, entry, reason, remedy);
    }

    /// Something to be known before it is sent.
    pub fn caution(&mut self, rule: Rule, entry: Option<usize>, reason: String, remedy: &str) {
        self.add(Grade::Caution, rule, entry, reason, remedy);
    }

    fn add(&mut self, grade: Grade, rule: Rule, entry: Option<usize>, reason: String, remedy: &str) {
        let named = entry.and_then(|index| self.load.entries.get(index));
        self.found.push(Finding {
            grade,
            rule,
            entry: entry.map(|index| index + 1),
            line: entry.and_then(|index| self.lines.get(index)).copied(),
            tick: named.map(|entry| entry.tick),
            utc: named.map(|entry| utc(self.start, entry.tick)),
            command: named.map(|entry| words(entry.command)),
            reason,
            remedy: remedy.to_owned(),
        });
    }

    /// Whether anything forbids sending.
    pub fn refused(&self) -> bool {
        self.found.iter().any(|finding| finding.grade == Grade::Refusal)
    }
}
