//! Verdict, balances, events, settings, sources, cautions.

use maud::{Markup, html};

use super::data::ReportData;
use super::text::{clock, count, fixed, quoted, significant, span};
use crate::record::Summary;
use crate::record::files;
use crate::record::summary::{Balance, Bound, Criterion};

/// Most events listed.
const MOST_EVENTS: usize = 400;

/// What was asked, and whether it was met.
pub fn verdict(data: &ReportData) -> Markup {
    let s = &data.summary;
    let met = s.all_met();
    html! {
        div class=(if met { "verdict met" } else { "verdict missed" }) {
            strong { @if met { "✓ Everything asked of this run was met." } @else { "✗ Not everything asked of this run was met." } }
        }
        (criteria(&s.criteria, &html! {
            @let (closed, limited) = closed_balances(data);
            tr { td class="word" { "Balances with a limit that close" } td { (limited) " of " (limited) } td { (closed) " of " (limited) } td class="word" { (met_word(closed == limited)) } }
        }))
    }
}

/// What was asked, its limit, what it came to; `more` are further rows.
pub(crate) fn criteria(asked: &[Criterion], more: &Markup) -> Markup {
    html! {
        table class="numbers keep" {
            thead { tr { th scope="col" class="word" { "asked" } th scope="col" { "limit" } th scope="col" { "came to" } th scope="col" class="word" { "verdict" } } }
            tbody {
                @for (k, c) in asked.iter().enumerate() {
                    @let side = match c.bound { Bound::AtMost => "≤", Bound::AtLeast => "≥" };
                    tr { td class="word" { (c.name) } td { (side) " " (with_unit(c.limit, &c.unit)) }
                        td { @match c.value { Some(v) => { (quoted(&format!("criteria.{k}.value"), v, &with_unit(v, &c.unit))) } None => { "—" } } }
                        td class="word" { (met_word(c.met())) } }
                }
                (more)
            }
        }
    }
}

fn closed_balances(data: &ReportData) -> (usize, usize) {
    let b = &data.summary.balances;
    let closes: Vec<bool> = b.truth.iter().chain(&b.on_board).filter_map(Balance::closes).collect();
    (closes.iter().filter(|c| **c).count(), closes.len())
}

fn met_word(met: bool) -> Markup {
    html! { @if met { "✓ met" } @else { b { "✗ not met" } } }
}

fn with_unit(value: f64, unit: &str) -> String {
    if unit == "1" { significant(value, 3) } else { format!("{} {unit}", significant(value, 4)) }
}

/// The run in a dozen numbers.
pub fn key_numbers(data: &ReportData) -> Markup {
    let s = &data.summary;
    let item = |name: &str, value: Markup| html! { div { dt { (name) } dd { (value) } } };
    let o = &s.orbit;
    html! {
        dl class="key" {
            (item("flown", quoted("run.duration_s", s.run.duration_s, &span(s.run.duration_s))))
            (item("revolutions", quoted("orbit.revolutions", o.revolutions, &fixed(o.revolutions, 2))))
            (item("height", html! { (quoted("orbit.height_min_m", o.height_min_m, &fixed(o.height_min_m * 1e-3, 0))) "–" (quoted("orbit.height_max_m", o.height_max_m, &format!("{} km", fixed(o.height_max_m * 1e-3, 0)))) }))
            (item("inclination", quoted("orbit.inclination_deg", o.inclination_deg, &format!("{}°", fixed(o.inclination_deg, 2)))))
            (item("period", quoted("orbit.period_s", o.period_s, &span(o.period_s))))
            (item("in shadow", quoted("orbit.eclipse_fraction", o.eclipse_fraction, &format!("{} %", fixed(o.eclipse_fraction * 100.0, 1)))))
            (item("contacts", html! { (quoted("contacts.count", s.contacts.count as f64, &count(s.contacts.count))) ", " (quoted("contacts.total_s", s.contacts.total_s, &span(s.contacts.total_s))) }))
            (item("assumed in orbit for", first_heard(s)))
            (item("last heard", last_heard(s)))
            (item("longest gap", quoted("contacts.longest_gap_s", s.contacts.longest_gap_s, &span(s.contacts.longest_gap_s))))
            (item("computed in", quoted("speed.wall_s", s.speed.wall_s, &span(s.speed.wall_s))))
            (item("times real time", quoted("speed.times_real_time", s.speed.times_real_time, &count(s.speed.times_real_time.max(0.0) as u64))))
        }
    }
}

/// How long it took until a station heard the vehicle.
fn first_heard(s: &Summary) -> Markup {
    match s.contacts.first_heard_s {
        Some(first_s) => quoted("contacts.first_heard_s", first_s, &span(first_s)),
        None => html! { "all of it" },
    }
}

/// How long before the end a station last heard it: all that is known of it is as old as that.
fn last_heard(s: &Summary) -> Markup {
    match s.contacts.last_heard_s {
        Some(last_s) => html! { (span((s.run.duration_s - last_s).max(0.0))) " before end" },
        None => html! { "never" },
    }
}

/// Which run this was.
pub fn identity(data: &ReportData) -> Markup {
    let r = &data.summary.run;
    html! {
        table class="plain" { tbody {
            tr { th scope="row" { "Start" } td { (r.epoch_utc) } th scope="row" { "Seed" } td { (quoted("run.seed", r.seed as f64, &r.seed.to_string())) } }
            tr { th scope="row" { "Scenario" } td { code { (r.scenario_hash) } } th scope="row" { "Settings" } td { code { (r.settings_hash) } } }
            tr { th scope="row" { "Program" } td { (r.program_version) } th scope="row" { "Output digest" } td { @match &r.output_digest { Some(d) => { code { (d) } } None => { "—" } } } }
        } }
    }
}

/// The ledgers.
pub fn balances(data: &ReportData) -> Markup {
    let b = &data.summary.balances;
    html! {
        p { "In truth every ledger must close to rounding: what is left over would be an error of the program. On board they are closed from "
            "what the vehicle can measure; there a residual is normal, and a growing one points to a fault." }
        table class="numbers keep" {
            thead { tr { th scope="col" class="word" { "ledger" } th scope="col" { "went through" } th scope="col" { "left over" } th scope="col" { "relative" } th scope="col" { "limit" } th scope="col" class="word" { "verdict" } } }
            tbody { (balance_rows("in truth", "balances.truth", &b.truth)) (balance_rows("on board", "balances.on_board", &b.on_board)) }
        }
    }
}

fn balance_rows(title: &str, key: &str, balances: &[Balance]) -> Markup {
    html! {
        @if !balances.is_empty() { tr class="first" { th scope="rowgroup" colspan="6" class="word" { (title) } } }
        @for (k, b) in balances.iter().enumerate() {
            tr { td class="word" { (b.name) } td { (quoted(&format!("{key}.{k}.throughput"), b.throughput, &significant(b.throughput, 4))) " " (b.unit) }
                td { (quoted(&format!("{key}.{k}.residual"), b.residual, &significant(b.residual, 2))) " " (b.unit) }
                td { @match b.relative { Some(r) => { (quoted(&format!("{key}.{k}.relative"), r, &significant(r, 2))) } None => { "—" } } }
                td { @match b.limit { Some(l) => { (significant(l, 2)) } None => { "—" } } }
                td class="word" { @match b.closes() { Some(true) => { "✓ closes" } Some(false) => { b { "✗ open" } } None => { "reported" } } } }
        }
    }
}

/// What happened.
pub fn events(data: &ReportData) -> Markup {
    let d = &data.digest;
    let listed = &d.events[..d.events.len().min(MOST_EVENTS)];
    let total: u64 = d.event_counts.values().sum();
    html! {
        p { "Events of the run other than frames"
            @if d.events.len() > listed.len() { "; the first " (listed.len()) } ". All " (total) " stand in " code { (files::EVENTS) } "." }
        table class="numbers" {
            thead { tr { th scope="col" { "time, h:min:s" } th scope="col" class="word" { "kind" } th scope="col" class="word" { "known as" } th scope="col" class="word" { "what" } } }
            tbody { @for e in listed { tr {
                td { (clock(e.time_s)) } td class="word" { (e.kind.name().replace('_', " ")) } td class="word" { (e.kind.knowledge().name()) }
                td class="word" { (e.text) @if !e.numbers.is_empty() { " (" (e.numbers_as_text()) ")" } }
            } } }
        }
    }
}

/// The settings used.
pub fn settings(data: &ReportData) -> Markup {
    html! {
        p { "As uploaded to the controller. Values that differ from the default are set in bold and marked “set”." }
        @for group in &data.context.settings {
            h3 { (group.title) }
            table class="numbers" {
                thead { tr { th scope="col" class="word" { "key" } th scope="col" { "value" } th scope="col" class="word" { "unit" } th scope="col" class="word" { "" } th scope="col" class="word" { "meaning" } } }
                tbody { @for l in &group.lines { tr {
                    td class="word" { code { (l.key) } } td { @if l.is_default { (l.value) } @else { b { (l.value) } } } td class="word" { (l.unit) }
                    td class="word" { @if !l.is_default { "set" } } td class="word" { (l.meaning) }
                } } }
            }
        }
    }
}

/// Models and where they come from.
pub fn sources(data: &ReportData) -> Markup {
    html! {
        table class="numbers" {
            thead { tr { th scope="col" class="word" { "what for" } th scope="col" class="word" { "source" } } }
            tbody {
                @for s in &data.context.sources { tr { td class="word" { (s.subject) } td class="word" { (s.text) } } }
                tr { td class="word" { "Orbit and attitude files" } td class="word" { "CCSDS 502.0-B-3 (orbit), CCSDS 504.0-B-2 (attitude)" } }
                tr { td class="word" { "Colours of this page" } td class="word" { "M. Okabe and K. Ito, Color Universal Design, 2008" } }
                tr { td class="word" { "Coastline of the charts" } td class="word" { "Natural Earth 1:110 million, public domain; a picture to find one’s way by, nothing is computed from it" } }
            }
        }
    }
}

/// What a number on this page must not be taken for.
pub fn cautions() -> Markup {
    html! {
        div class="cautions" {
            p { b { "This page reports a simulation. " } "It is no clearance to build, fill, spin up or fire anything." }
            ul {
                li { b { "Gas under pressure. " } "A tank at working pressure stores enough energy to kill. Fill, test and vent it only by the pressure-vessel "
                    "code in force where you are, with relief, shielding and trained people." }
                li { b { "Moving reels. " } "Film reels pull in hair, clothing and fingers, and film under tension cuts. Guard them; stop them before reaching in." }
                li { b { "Ordnance. " } "Nothing here arms or fires anything. On a bench use lamps or inert loads, never live devices." }
                li { b { "Launch, flight and return. " } "Range safety, debris, radio and overflight rules have the last word; density alone is uncertain by "
                    "tens of per cent at these heights, and with it every forecast of decay and landing." }
            }
        }
    }
}
