//! Predicted contacts: when the load can reach the vehicle, and whether the vehicle will listen afterwards.

use super::{
    finding::{Findings, Rule},
    receiver::{Listening, Programme},
    state::{Stage, State},
};
use crate::{
    passes::{contacts::contacts, prediction::Prediction},
    scenario::Scenario,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use stillframe_controller::programme::load::{Load, MAX_BYTES};

/// Speed of the uplink, bit/s.
pub const UPLINK_BIT_S: f64 = 2_000.0;
/// From a load's last byte to its effect, s: telemetry, a snapshot a second, shows that it waits, and the commit of a
/// few bytes goes up.
const COMMIT_S: f64 = 3.0;
/// What a packet and its framing add to a load, bytes: header and check sum 8, one in 254 and three more.
const FRAME_BYTES: f64 = 24.0;
/// Silence borne should be so many times the longest gap (common practice).
const SILENCE_TIMES: f64 = 1.5;
/// What the density of the air may be wrong by in the prediction: 15 % (common practice).
const DENSITY_ERROR: f64 = 0.15;
/// What the on-board clock may gain or lose in a day, s (common practice for a correlated clock).
const CLOCK_S_PER_DAY: f64 = 0.1;

/// One predicted contact.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct ContactMargin {
    /// Station.
    pub station: String,
    /// Signal acquired, s since the start.
    pub aos_s: f64,
    /// UTC of that.
    pub aos_utc: String,
    /// Signal lost, s since the start.
    pub los_s: f64,
    /// Greatest elevation, degrees.
    pub highest_deg: f64,
    /// What the contact may come early or late by, s: the air's density and the on-board clock.
    pub uncertain_s: f64,
    /// Time for which the receiver is open in the contact, at the worst timing, whether the ground spoke in the
    /// contact before or not since the load, s.
    pub open_s: f64,
    /// That less the time that the longest load takes to send, s. Negative: deaf.
    pub margin_s: f64,
    /// The same if nobody speaks to the vehicle after the load, s: silence opens the receiver by itself.
    pub silent_margin_s: f64,
    /// From the receiver's opening to the contact, s; none if it never opens. Negative: it opens late.
    pub opens_before_s: Option<f64>,
    /// From the contact's end to the receiver's closing, s; none if it never opens. Negative: it closes early.
    pub closes_after_s: Option<f64>,
}

impl ContactMargin {
    /// Whether the vehicle could take the longest load in this contact.
    pub fn heard(&self) -> bool {
        self.margin_s >= 0.0
    }
}

/// A contact of the ground's prediction.
#[derive(Clone, Debug, PartialEq)]
pub struct Predicted {
    /// Station.
    pub station: String,
    /// Acquired and lost, s.
    pub span_s: [f64; 2],
    /// Greatest elevation, rad.
    pub highest_rad: f64,
}

/// All contacts from `from_s` to `to_s`, in order of their beginning.
pub fn predict(scenario: &Scenario, prediction: &Prediction, from_s: f64, to_s: f64) -> Vec<Predicted> {
    let passes = contacts(scenario, prediction, from_s, to_s).into_iter();
    let each = passes.filter_map(|pass| {
        Some(Predicted {
            station: scenario.stations.get(pass.station)?.name.clone(),
            span_s: [pass.contact.aos_s, pass.contact.los_s],
            highest_rad: pass.contact.highest_elevation_rad,
        })
    });
    each.collect()
}

/// What a time on the orbit may be wrong by `since_s` after the orbit was last known, s.
///
/// Drag moves the argument of latitude by half its acceleration times the square of the time; the density's share
/// of that over the orbital rate is early or late by so much.
pub fn uncertain_s(load: &Load, since_s: f64) -> f64 {
    let e = &load.ephemeris;
    let rate_rad_s = f64::from(e.phase_per_tick) / 281_474_976_710_656.0 * std::f64::consts::TAU * 100.0;
    let drag_rad = f64::from(e.half_acceleration_rad_s2).abs() * since_s * since_s;
    let along_s = if rate_rad_s > 0.0 { DENSITY_ERROR * drag_rad / rate_rad_s } else { 0.0 };
    along_s + CLOCK_S_PER_DAY * since_s / 86_400.0
}

/// Time to send a load of so many bytes and have it committed, s.
pub fn send_s(bytes: usize) -> f64 {
    (bytes as f64 + FRAME_BYTES) * 8.0 / UPLINK_BIT_S + COMMIT_S
}

/// How the load gets on board, and when it takes effect.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Delivery {
    /// Station, or `pad`.
    pub by: String,
    /// When it takes effect, s since the start.
    pub arrives_s: f64,
    /// Tick by which entries are judged as past.
    pub arrives_tick: u32,
    /// Time it takes to send, s.
    pub sending_s: f64,
}

/// The earliest delivery; named as a refusal if there is no contact for it.
pub fn delivery(state: &State, bytes: usize, contacts: &[Predicted], findings: &mut Findings<'_>) -> Delivery {
    let sending_s = send_s(bytes);
    let at = |by: &str, arrives_s: f64| Delivery {
        by: by.to_owned(),
        arrives_s,
        arrives_tick: (arrives_s * 100.0).ceil().max(0.0) as u32,
        sending_s,
    };
    if state.stage == Stage::Pad {
        return Delivery { arrives_tick: state.now_tick, ..at("pad", state.now_s()) };
    }
    let fits = |contact: &&Predicted| contact.span_s[1] - contact.span_s[0].max(state.now_s()) >= sending_s;
    if let Some(contact) = contacts.iter().find(fits) {
        return at(&contact.station, contact.span_s[0].max(state.now_s()) + sending_s);
    }
    let reason =
        format!("no predicted contact is long enough to send it ({sending_s:.1} s at {UPLINK_BIT_S:.0} bit/s)");
    findings.refuse(
        Rule::Contact,
        None,
        reason,
        "Check the stations and --now, lengthen the scenario's run, or shorten the load.",
    );
    at("nowhere", state.now_s())
}

/// Margins of every contact after the load took effect.
pub fn margins(
    load: &Load,
    programme: &Programme,
    contacts: &[Predicted],
    (arrives_s, start): (f64, crate::world::time::Utc),
    findings: &mut Findings<'_>,
) -> Vec<ContactMargin> {
    let needed_s = send_s(MAX_BYTES);
    let silent = programme.silent_from(arrives_s);
    let mut heard_s = arrives_s;
    let mut found = Vec::new();
    for contact in contacts.iter().filter(|contact| contact.span_s[1] > arrives_s) {
        let [aos_s, los_s] = contact.span_s;
        let uncertain_s = uncertain_s(load, aos_s);
        let after_last = programme.silent_from(heard_s);
        let open_s = |listening: &Listening| {
            let at = |shift_s: f64| listening.overlap_s((aos_s + shift_s).max(arrives_s), los_s + shift_s);
            [-uncertain_s, 0.0, uncertain_s].map(at).into_iter().fold(f64::INFINITY, f64::min)
        };
        let (alone_s, spoken_s) = (open_s(&silent), open_s(&after_last));
        let worse = if spoken_s < alone_s { &after_last } else { &silent };
        let nearest = worse.nearest(aos_s, los_s);
        found.push(ContactMargin {
            station: contact.station.clone(),
            aos_s,
            aos_utc: start.plus_seconds(aos_s).to_string(),
            los_s,
            highest_deg: contact.highest_rad.to_degrees(),
            uncertain_s,
            open_s: alone_s.min(spoken_s),
            margin_s: alone_s.min(spoken_s) - needed_s,
            silent_margin_s: alone_s - needed_s,
            opens_before_s: nearest.map(|[open, _]| aos_s - open),
            closes_after_s: nearest.map(|[_, close]| close - los_s),
        });
        heard_s = los_s;
    }
    judge(&found, findings);
    gaps(programme, &found, arrives_s, findings);
    found
}

/// A silence no longer than planned must not make the vehicle safe.
fn gaps(programme: &Programme, found: &[ContactMargin], arrives_s: f64, findings: &mut Findings<'_>) {
    let starts = std::iter::once(arrives_s).chain(found.iter().map(|contact| contact.los_s));
    let longest =
        starts.zip(found).map(|(from_s, next)| (next.aos_s - from_s, next)).max_by(|a, b| a.0.total_cmp(&b.0));
    let Some((gap_s, next)) = longest else { return };
    let safe_s = programme.safe_after_at_s(next.aos_s);
    if safe_s < SILENCE_TIMES * gap_s {
        let reason = format!(
            "the vehicle makes itself safe after {:.0} min of silence, and {:.0} min pass before {} at {}: less than half as long again",
            safe_s / 60.0,
            gap_s / 60.0,
            next.station,
            next.aos_utc
        );
        findings.caution(Rule::Contact, None, reason, "Lengthen safe_after, or plan a contact in the gap.");
    }
}

fn judge(margins: &[ContactMargin], findings: &mut Findings<'_>) {
    let deaf = margins.iter().filter(|contact| !contact.heard()).count();
    let best = margins.iter().max_by(|a, b| a.silent_margin_s.total_cmp(&b.silent_margin_s));
    match best {
        None => findings.caution(
            Rule::Contact,
            None,
            "no contact is predicted after it takes effect".to_owned(),
            "Give the scenario its stations, or a longer run.",
        ),
        Some(best) if best.silent_margin_s < 0.0 => {
            let reason = format!(
                "the vehicle would be deaf at every one of {} predicted contacts; the best, {} at {}, misses {:.0} s",
                margins.len(),
                best.station,
                best.aos_utc,
                -best.silent_margin_s
            );
            findings.refuse(
                Rule::Contact,
                None,
                reason,
                "Open the receiver over a contact, or shorten the silence after which it opens by itself.",
            );
        }
        Some(_) if deaf > 0 => {
            let reason = format!(
                "the vehicle would be deaf, or nearly, at {deaf} of {} predicted contacts in the worse of two cases: \
                 spoken to in the contact before, or not since the load",
                margins.len()
            );
            findings.caution(
                Rule::Contact,
                None,
                reason,
                "See the margins; another load can only be sent in the others.",
            );
        }
        Some(_) => {}
    }
}
