//! The plan as one self-contained page, and all of its files.

use super::{
    charts,
    document::{BurstSummary, Document},
    geo::geojson,
    listing::listing,
    map,
    study::Study,
    timeline::{close_ups, timeline},
};
use crate::{
    record::{RecordError, files, write_new},
    report::{
        page::{Section, shell},
        renumbered,
        text::{clock, fixed, significant, span},
    },
};
use maud::{Markup, html};
use std::path::Path;

/// Names of the files of a plan.
pub mod names {
    /// The plan for programs.
    pub const PLAN: &str = "plan.json";
    /// Areas, swaths, track, stations for maps.
    pub const SWATHS: &str = "plan.geojson";
    /// The load, byte for byte.
    pub const LOAD: &str = "load.bin";
    /// The load in words.
    pub const LISTING: &str = "load.txt";
}

/// Writes a plan into an empty folder. Where `plan.json` is, everything is.
///
/// # Errors
/// If a file is there already or cannot be written.
pub fn write_folder(folder: &Path, study: &Study) -> Result<(), RecordError> {
    let write = |name: &str, bytes: &[u8]| write_new(&folder.join(name), bytes);
    write(names::LOAD, &study.built.load.encode())?;
    write(names::LISTING, listing(study).as_bytes())?;
    write(names::SWATHS, format!("{:#}\n", geojson(study)).as_bytes())?;
    write(files::REPORT, renumbered(&page(study).into_string()).as_bytes())?;
    write(names::PLAN, study.document.to_json().as_bytes())
}

fn page(study: &Study) -> Markup {
    let d = &study.document;
    let title = format!("{} · plan", d.scenario);
    let heading = format!("{}: {} h from {}", d.vehicle, significant(d.duration_h, 3), d.start_utc);
    let identity = html! { p { "Scenario " (d.scenario) ", areas from " (d.areas_from) ", " (d.camera) " camera. Predicted, not flown." } };
    shell((&title, "Plan of a day's photography", &heading), &identity, &lead(d), &sections(study))
}

fn sections(study: &Study) -> Vec<Section> {
    let d = &study.document;
    let section = |id, title, body| Section { id, title, body };
    vec![
        section("timeline", "The day", day(study)),
        section("map", "Where", places(study)),
        section("bursts", "Camera on and off", bursts(d)),
        section("left", "What is left after each", ledger(d)),
        section("padding", "How far off the times may be", padding(d)),
        section("areas", "Areas", areas(d)),
        section("contacts", "Contacts and receiver", contacts(d)),
        section("passes", "Every pass over every area", passes(d)),
        section("load", "The load", load(study)),
        section("method", "How it was chosen", method(d)),
    ]
}

fn lead(d: &Document) -> Markup {
    let c = &d.choice;
    let covered = d.areas.iter().filter(|area| area.flown > 0).count();
    let item = |name: &str, value: String| html! { div { dt { (name) } dd { (value) } } };
    html! {
        div class=(if c.exact { "verdict met" } else { "verdict missed" }) {
            strong {
                (covered) " of " (d.areas.len()) " areas in " (d.bursts.len()) " camera-ons. "
                @if c.exact { "No plan within these limits is worth more." }
                @else { "Worth within " (fixed(c.gap_percent, 2)) " % of the best that any plan could reach." }
            }
        }
        dl class="key" {
            (item("worth of the plan", format!("{} of {}", significant(c.value, 4), significant(c.wished, 4))))
            (item("bound", significant(c.bound, 4)))
            (item("with fractions", format!("{} ({} %)", significant(c.relaxed, 4), fixed(c.relaxed_gap_percent, 2))))
            (item("camera-ons to choose from", c.candidates.to_string()))
            (item("film", format!("{} m of {}", fixed(d.start_left.film_m - d.end_left.film_m, 1), fixed(d.to_spend.film_m, 0))))
            (item("gas left", format!("{} kg of {}", fixed(d.end_left.gas_kg, 2), fixed(d.start_left.gas_kg, 2))))
            (item("energy left", format!("{} of {} Wh", fixed(d.end_left.energy_wh, 0), fixed(d.start_left.energy_wh, 0))))
            (item("load", format!("{} entries, {} bytes", d.load.entries, d.load.bytes)))
            (item("contacts", d.contacts.len().to_string()))
            (item("longest without contact", span(longest_silence_s(d))))
        }
    }
}

/// Longest time without a contact, s.
pub(super) fn longest_silence_s(d: &Document) -> f64 {
    let mut until_s = 0.0;
    let mut longest_s = 0.0_f64;
    for contact in &d.contacts {
        longest_s = longest_s.max(contact.rise_s - until_s);
        until_s = contact.set_s.max(until_s);
    }
    longest_s.max(d.duration_h * 3600.0 - until_s)
}

fn key(fill: &str, stroke: &str, name: &str) -> Markup {
    html! { li { svg viewBox="0 0 26 12" aria-hidden="true" { rect x="3" y="2" width="20" height="8" fill=(fill) stroke=(stroke) {} } (name) } }
}

fn day(study: &Study) -> Markup {
    html! {
        figure class="long" {
            (timeline(study))
            ul class="legend" {
                (key("#9aa4ab", "none", "night below")) (key("#0072b2", "none", "camera on")) (key("#003f66", "none", "over the area"))
                (key("#fff", "#b07800", "fit, not flown")) (key("#009e73", "none", "contact"))
            }
            figcaption { "One line a revolution. The light part of a camera-on is padding." }
        }
        @if !study.document.bursts.is_empty() { figure class="long" {
            (close_ups(study))
            ul class="legend" { (key("#cc79a7", "none", "quiet: no ordinary firing")) (key("#7fb6d9", "none", "camera on, padding")) (key("#003f66", "none", "over the area")) }
            figcaption { "Each camera-on by itself. Firing stays held off until camera-off." }
        } }
    }
}

fn places(study: &Study) -> Markup {
    html! {
        figure {
            (map::world(study))
            ul class="legend" {
                li { svg viewBox="0 0 26 12" aria-hidden="true" { path d="M0 6H26" stroke="#56b4e9" stroke-width="1.5" {} } "ground track by day" }
                li { svg viewBox="0 0 26 12" aria-hidden="true" { path d="M0 6H26" stroke="#777" stroke-dasharray="1.5 2" {} } "by night" }
                li { svg viewBox="0 0 26 12" aria-hidden="true" { path d="M0 6H26" stroke="#0072b2" stroke-width="4" {} } "camera on" }
                li { svg viewBox="0 0 26 12" aria-hidden="true" { path d="M4 1H22V11H4Z" fill="#e69f00" fill-opacity=".25" stroke="#b07800" {} } "area" }
                li { svg viewBox="0 0 26 12" aria-hidden="true" { path d="M13 1L18 10H8Z" fill="#009e73" {} } "station, and in sight of it" }
            }
            figcaption { "Predicted ground track, geographic coordinates (plate carrée)." }
        }
        figure class="long" {
            (map::areas(study))
            ul class="legend" {
                (key("#0072b280", "#0072b2", "swath over the area")) (key("#0072b22e", "#0072b2", "its padding"))
                li { svg viewBox="0 0 26 12" aria-hidden="true" { path d="M0 6H26" stroke="#8a8a8a" stroke-dasharray="3 2" {} } "fit, not flown" }
            }
            figcaption { "The areas and the swaths over them. North is up; the coast is a coarse outline." }
        }
    }
}

fn time(utc: &str) -> &str {
    // Date and zone stand at the head of the page and in the other columns.
    utc.get(11..21).unwrap_or(utc)
}

fn bursts(d: &Document) -> Markup {
    let range = |low: f64, high: f64| format!("{}–{}", fixed(low, 0), fixed(high, 0));
    html! {
        table class="numbers dense" {
            thead { tr { th scope="col" class="word" { "area" } th scope="col" { "rev." } th scope="col" { "on, UTC" } th scope="col" { "off, UTC" } th scope="col" { "s" }
                th scope="col" { "padding, s" } th scope="col" { "quiet from" } th scope="col" { "Sun, °" } th scope="col" { "km" } th scope="col" { "swath, km" } th scope="col" { "crab, °" }
                th scope="col" { "frames" } th scope="col" { "film, m" } th scope="col" { "gas, g" } th scope="col" { "Wh" } } }
            tbody { @for b in &d.bursts { tr {
                td class="word" { (b.areas.join(", ")) } td { (b.revolution) } td { (time(&b.on_utc)) } td { (time(&b.off_utc)) } td { (fixed(b.off_s - b.on_s, 1)) }
                td { (fixed(b.padding_before_s, 1)) "/" (fixed(b.padding_after_s, 1)) } td { (clock(b.quiet_from_s)) } td { (range(b.sun_low_deg, b.sun_high_deg)) }
                td { (fixed(b.height_km, 0)) } td { (fixed(b.swath_km, 1)) } td { (crab(b)) } td { (b.frames) } td { (fixed(b.film_m, 2)) } td { (fixed(b.gas_g, 2)) } td { (fixed(b.energy_wh, 2)) }
            } } }
        }
        p { "Quiet from: ordinary firing is held off from then to camera-off (time since the start). Crab: yaw into the track of the ground, steered on board "
            "from the load's orbit constants. Gas and energy: beyond what hold and flying take anyway." }
        @if d.bursts.iter().any(|b| b.interval_s.is_some()) {
            p { "Stereo by overlap: " @for b in d.bursts.iter().filter(|b| b.interval_s.is_some()) { (b.areas.join(", ")) ": a frame every " (fixed(b.interval_s.unwrap_or(f64::NAN), 2)) " s. " } }
        }
    }
}

fn crab(b: &BurstSummary) -> String {
    let [first, _, last] = b.crab_deg;
    format!("{} → {}", fixed(first, 2), fixed(last, 2))
}

fn ledger(d: &Document) -> Markup {
    let row = |name: &str, at: String, left: &super::document::LeftSummary| {
        html! { tr { td class="word" { (name) } td { (at) } td { (fixed(left.film_m, 2)) } td { (fixed(left.gas_kg, 3)) } td { (fixed(left.energy_wh, 0)) } } }
    };
    html! {
        table class="numbers" {
            thead { tr { th scope="col" class="word" { "after" } th scope="col" { "time since start" } th scope="col" { "film left, m" } th scope="col" { "gas left, kg" } th scope="col" { "energy left, Wh" } } }
            tbody {
                (row("start", clock(0.0), &d.start_left))
                @for b in &d.bursts { (row(&b.areas.join(", "), clock(b.off_s), &b.left)) }
                (row("end of the run", clock(d.duration_h * 3600.0), &d.end_left))
            }
        }
        p { "Camera-ons may spend " (fixed(d.to_spend.film_m, 1)) " m of film, " (fixed(d.to_spend.gas_kg, 2)) " kg of gas, " (fixed(d.to_spend.energy_wh, 0)) " Wh and "
            (d.to_spend.entries) " entries of the load; reserves, capture, hold, what is always on and the transmitter are taken off before. Gas of hold is the least "
            "that the predicted torques cost; flown, it is some 20 % more." }
    }
}

fn padding(d: &Document) -> Markup {
    let u = &d.uncertainty;
    html! {
        figure { (charts::uncertainty(d)) figcaption { "One sigma along the track, and the padding at " (significant(u.sigmas, 2)) " sigma." } }
        p { "At the start, one sigma: " (significant(u.along_track_m, 3)) " m along the track, " (significant(u.semi_major_axis_m, 3)) " m of semi-major axis, "
            (significant(u.density_percent, 3)) " % of the air's density, " (significant(u.clock_drift_ppm, 3)) " ppm of the clock. The orbit falls by "
            (fixed(u.decay_per_rev_m, 0)) " m in the first revolution. After N revolutions: 3π·N·δa and 1.5π·N²·δρ/ρ·Δa along the track." }
    }
}

fn areas(d: &Document) -> Markup {
    html! {
        table class="numbers" {
            thead { tr { th scope="col" class="word" { "area" } th scope="col" { "priority" } th scope="col" class="word" { "cover" } th scope="col" { "passes" } th scope="col" { "fit" } th scope="col" { "flown" }
                th scope="col" { "covered, %" } th scope="col" { "by all fit, %" } th scope="col" class="word" { "why not" } } }
            tbody { @for a in &d.areas { tr { td class="word" { (a.name) } td { (significant(a.priority, 3)) } td class="word" { (a.cover) } td { (a.passes) } td { (a.fit) } td { (a.flown) }
                td { (fixed(a.covered_percent, 1)) } td { (fixed(a.possible_percent, 1)) } td class="word" { (a.why_not.as_deref().unwrap_or("")) } } } }
        }
    }
}

fn contacts(d: &Document) -> Markup {
    html! {
        table class="numbers" {
            thead { tr { th scope="col" class="word" { "station" } th scope="col" { "rise, UTC" } th scope="col" { "set, UTC" } th scope="col" { "s" } th scope="col" { "highest, °" } th scope="col" { "azimuth, °" } th scope="col" { "may be off by, s" } } }
            tbody { @for c in &d.contacts { tr { td class="word" { (c.station) } td { (time(&c.rise_utc)) } td { (time(&c.set_utc)) } td { (fixed(c.duration_s, 0)) } td { (fixed(c.highest_deg, 1)) }
                td { (fixed(c.azimuth_deg, 0)) } td { (fixed(c.off_by_s, 1)) } } } }
        }
        p { "The receiver should listen in " (d.receiver.len()) " stretches, " (span(d.receiver.iter().map(|w| w.to_s - w.from_s).sum())) " in all: each contact widened by what its time may be off. "
            @match d.loaded_s { Some(loaded_s) if loaded_s > 0.0 => { "The load is on board by " (clock(loaded_s)) "; nothing begins before." }
                Some(_) => { "The load is put in before launch." }
                None => { b { "No contact is long enough to send a load." } } } }
    }
}

fn passes(d: &Document) -> Markup {
    html! {
        table class="numbers dense" {
            thead { tr { th scope="col" class="word" { "area" } th scope="col" { "rev." } th scope="col" { "from, UTC" } th scope="col" { "s" } th scope="col" { "share, %" } th scope="col" { "Sun, °" }
                th scope="col" { "aside, km" } th scope="col" class="word" { "" } } }
            tbody { @for p in &d.passes { tr { td class="word" { (p.area) } td { (p.revolution) } td { (time(&p.start_utc)) } td { (fixed(p.end_s - p.start_s, 1)) } td { (fixed(p.share_percent, 1)) }
                td { (fixed(p.sun_low_deg, 1)) } td { (fixed(p.aside_km.unwrap_or(f64::NAN), 0)) }
                td class="word" { @if p.flown { b { "flown" } } @else if let Some(unfit) = &p.unfit { (unfit) } @else { "fit, not flown" } } } } }
        }
    }
}

fn load(study: &Study) -> Markup {
    html! {
        p { "As " code { (names::LOAD) } " (bytes) and " code { (names::LISTING) } ": what a flight of this plan carries, judged by the flight code. "
            (fixed(study.document.load.send_s, 1)) " s to send and put in force at 2 kbit/s." }
        pre style="font-size:9.5px;line-height:1.3;overflow-x:auto" { (listing(study)) }
    }
}

fn method(d: &Document) -> Markup {
    html! {
        p { "Worth: for each area its priority times the share of it that is covered as asked; a place counts once however often it is seen. The choice is a mixed-integer "
            "linear programme over " (d.choice.candidates) " camera-ons with limits on film, gas, energy, entries of the load and the least gap, solved by branch and bound in "
            (d.choice.nodes) " nodes. With fractions of camera-ons allowed the worth would be " (significant(d.choice.relaxed, 6)) "; the plan is "
            (fixed(d.choice.relaxed_gap_percent, 3)) " % below that." }
        p { "Camera-on and camera-off follow from the geometry: when the swath, straight down and yawed into the track of the ground, is over the area on the ellipsoid, padded by "
            (significant(d.uncertainty.sigmas, 2)) " sigma of the predicted time. Air and clock as predicted with; clouds are not looked at." }
    }
}
