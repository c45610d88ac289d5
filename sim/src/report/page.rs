//! The page: head, contents, sections in order.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::data::ReportData;
use super::{attitude, frames, map, place, sheet, stores, strips, tables};

pub(crate) const STYLE: &str = include_str!("style.css");

/// A section of a page.
pub(crate) struct Section {
    /// Anchor.
    pub id: &'static str,
    /// Heading.
    pub title: &'static str,
    /// What stands below it.
    pub body: Markup,
}

/// A whole page: title, what kind of report it is, heading with what belongs under it, what leads, sections.
pub(crate) fn shell(
    (title, kind, heading): (&str, &str, &str),
    identity: &Markup,
    lead: &Markup,
    sections: &[Section],
) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    p class="kind" { (kind) }
                    h1 { (heading) }
                    (identity)
                }
                (lead)
                nav aria-label="Contents" { ol { @for s in sections { li { a href=(format!("#{}", s.id)) { (s.title) } } } } }
                main { @for s in sections { section id=(s.id) { h2 { (s.title) } (s.body) } } }
            }
        }
    }
}

/// The whole page.
pub fn page(data: &ReportData) -> Markup {
    let run = &data.summary.run;
    let title = format!("{} · {} · run report", run.vehicle, run.scenario);
    let heading = format!("{}: {}", run.vehicle, run.scenario);
    let lead = html! { (tables::verdict(data)) (tables::key_numbers(data)) };
    shell((&title, "Run report · simulation", &heading), &tables::identity(data), &lead, &sections(data))
}

fn sections(data: &ReportData) -> Vec<Section> {
    let section = |id, title, body| Section { id, title, body };
    let mut sections = vec![
        section("run", "The run at a glance", glance(data)),
        section("chart", "Ground track, stations, areas", places(data)),
        section("frames", "Frames", frames::section(data)),
        section("seen", "What the frames saw", sheet::section(data)),
        section("attitude", "Attitude", attitude::section(data)),
        section("gas", "Jets and gas", stores::gas(data)),
        section("film", "Film", stores::film(data)),
        section("power", "Power", stores::power(data)),
        section("balances", "Balances", tables::balances(data)),
        section("events", "Events", tables::events(data)),
        section("frame-list", "Frame by frame", frames::one_by_one(data)),
        section("settings", "Settings used", tables::settings(data)),
        section("sources", "Models and sources", tables::sources(data)),
        section("cautions", "Cautions", tables::cautions()),
    ];
    if let Some(home) = &data.home {
        let behind_power = sections.iter().position(|section| section.id == "balances").unwrap_or(sections.len());
        sections.insert(behind_power, section("return", "The return", PreEscaped(home.clone())));
    }
    sections
}

fn glance(data: &ReportData) -> Markup {
    html! {
        figure {
            (strips::run_at_a_glance(data))
            figcaption { "What was on when. “Assumed” is the mode the vehicle is in by its own account; “observed” is what the last telemetry "
                "that reached a station said, which may be hours old." }
        }
    }
}

fn places(data: &ReportData) -> Markup {
    html! {
        figure {
            (map::world(data))
            ul class="legend" {
                li { svg viewBox="0 0 26 12" aria-hidden="true" { path d="M0 6H26" stroke="#0072b2" stroke-width="1.4" {} } "ground track, heard by a station" }
                li { svg viewBox="0 0 26 12" aria-hidden="true" { path d="M0 6H26" stroke="#56b4e9" stroke-width="1.2" stroke-dasharray="4 3" {} } "not heard: assumed" }
                li { svg viewBox="0 0 26 12" aria-hidden="true" { path d="M0 6H26" stroke="#0072b2" stroke-width="4" {} } "camera on" }
                li { svg viewBox="0 0 26 12" aria-hidden="true" { path d="M4 1H22V11H4Z" fill="#e69f00" fill-opacity=".25" stroke="#b07800" {} } "area" }
                li { svg viewBox="0 0 26 12" aria-hidden="true" { path d="M13 1L18 10H8Z" fill="#009e73" {} } "station" }
                li { svg viewBox="0 0 26 12" aria-hidden="true" { path d="M0 6H26" stroke="#009e73" stroke-dasharray="5 3" {} } "vehicle in sight of it" }
                li { svg viewBox="0 0 26 12" aria-hidden="true" { path d="M9 2L17 10M9 10L17 2" stroke="#d55e00" stroke-width="2" {} } "frame not met" }
            }
            figcaption { "Ground track, geographic coordinates (plate carrée)." }
        }
        (place::section(data))
        @if !data.context.areas.is_empty() {
            figure class="long" {
                (map::areas(data))
                ul class="legend" {
                    li { svg viewBox="0 0 26 12" aria-hidden="true" { circle cx="13" cy="6" r="4" fill="#0072b2" {} } "middle of a frame, met" }
                    li { svg viewBox="0 0 26 12" aria-hidden="true" { path d="M9 2L17 10M9 10L17 2" stroke="#d55e00" stroke-width="2" {} } "middle of a frame, not met" }
                }
                figcaption { "The areas and the frames taken for them. North is up; the coast is a coarse outline." }
            }
        }
    }
}
