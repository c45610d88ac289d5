//! A check as pages: the whole of it, and one sheet for two signatures.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::check_screen::{contacts, stores};
use crate::passes::check::{
    difference::Mark,
    document::Document,
    finding::{Finding, Grade},
};
use crate::report::{
    page::{STYLE, Section, shell},
    plain::Grid,
    renumbered,
    text::fixed,
};

/// The page.
pub(super) fn page(told: &Document, listing: &str) -> String {
    let title = format!("Load {} · {} · check", told.counter, told.vehicle);
    let heading = format!("{}: load {}", told.vehicle, told.counter);
    let sections = sections(told, listing);
    renumbered(
        &shell((&title, "Command load · check", &heading), &identity(told), &verdict(told), &sections).into_string(),
    )
}

fn identity(told: &Document) -> Markup {
    html! {
        table class="plain" { tbody {
            tr { th scope="row" { "Load" } td { (told.load) } th scope="row" { "Check sum" } td { code { (told.checksum) } } }
            tr { th scope="row" { "Commands" } td { (told.commands) ", " (told.bytes) " bytes" } th scope="row" { "Scenario" } td { (told.scenario) } }
            tr { th scope="row" { "Sent" } td { (told.sent.now_utc) ", " (told.sent.stage) } th scope="row" { "Takes effect" } td { (fixed(told.delivery.arrives_s, 1)) " s after the start, by " (told.delivery.by) } }
        } }
    }
}

fn verdict(told: &Document) -> Markup {
    html! {
        div class=(if told.good { "verdict met" } else { "verdict missed" }) {
            strong { @if told.good { "✓ This load may be sent." } @else { "✗ This load is refused." } }
            " Refusals: " (told.refusals) ". Cautions: " (told.cautions) ". The flight code "
            @match &told.on_board.reason {
                None => { "accepts it." }
                Some(reason) => { "refuses it" @if let Some(entry) = told.on_board.entry { ", entry " (entry) } ": " (reason) "." }
            }
        }
    }
}

fn sections(told: &Document, listing: &str) -> Vec<Section> {
    let mut sections = Vec::new();
    if !told.findings.is_empty() {
        sections.push(Section { id: "findings", title: "Findings", body: findings(&told.findings) });
    }
    let words = html! { ol { @for sentence in &told.in_words { li { (sentence) } } } };
    sections.push(Section { id: "words", title: "What it does", body: words });
    sections.push(Section { id: "contacts", title: "Contacts and margins", body: html! {
        (table(&contacts(told)))
        p { "Each contact as predicted, by how much it may come early or late, the time for which the receiver is open in it at the worst timing, "
            "and the margin over the time that the longest load takes to send." }
    } });
    sections.push(Section { id: "stores", title: "Stores", body: html! {
        (table(&stores(told)))
        p { "Before: " (fixed(told.sent.film_m, 2)) " m of film, " (fixed(told.sent.gas_kg, 3)) " kg of gas, " (fixed(told.sent.energy_wh, 0)) " Wh ("
            (told.sent.source) "). Kept: " (fixed(told.sent.film_reserve_m, 2)) " m, " (fixed(told.sent.gas_reserve_kg, 3)) " kg, "
            (fixed(told.sent.energy_reserve_wh, 0)) " Wh. Gas is the least that can be left without a flag on board." }
    } });
    sections.push(Section { id: "pictures", title: "Camera-ons", body: pictures(told) });
    if let Some(lines) = &told.difference {
        let body = html! {
            p { "Lines with + are new, those with \u{2212} go although their time has not come, those with · have been carried out by then." }
            pre { @for line in lines { @if line.mark != Mark::Same { (difference_line(line)) "\n" } } }
        };
        sections.push(Section { id: "difference", title: "Against the load on board", body });
    }
    sections.push(Section { id: "listing", title: "The listing", body: numbered(listing, &told.findings) });
    sections
}

fn difference_line(line: &crate::passes::check::difference::Line) -> String {
    let time = line.tick.map_or(String::new(), |tick| format!("{tick:>10}  "));
    let utc = line.utc.as_ref().map_or(String::new(), |utc| format!("   # {utc}"));
    format!("{} {time}{}{utc}", line.mark.sign(), line.text)
}

fn findings(found: &[Finding]) -> Markup {
    html! {
        table class="numbers" {
            thead { tr { th scope="col" class="word" { "" } th scope="col" { "line" } th scope="col" class="word" { "command" } th scope="col" class="word" { "what is wrong, and what to do" } } }
            tbody { @for f in found { tr class=[(f.grade == Grade::Refusal).then_some("missed")] {
                td class="word" { @match f.grade { Grade::Refusal => b { "✗ refused" }, Grade::Caution => "caution" } }
                td { @match f.line { Some(line) => (line), None => "—" } }
                td class="word" { @if let Some(command) = &f.command { code { (command) } br; } @if let Some(utc) = &f.utc { (utc) } }
                td class="word" { b { (f.rule.word()) } ": " (f.reason) ". " (f.remedy) }
            } } }
        }
    }
}

fn pictures(told: &Document) -> Markup {
    html! {
        table class="numbers" {
            thead { tr { th scope="col" class="word" { "on, UTC" } th scope="col" class="word" { "area" } th scope="col" { "for, s" } th scope="col" { "Sun, °" }
                th scope="col" { "film, mm/s" } th scope="col" { "off V/h, %" } th scope="col" { "exposed, ms" } th scope="col" { "off, stops" } } }
            tbody { @for p in &told.pictures { tr {
                td class="word" { (p.on_utc) } td class="word" { @match &p.area { Some(area) => (area), None => "—" } } td { (fixed(p.for_s, 2)) } td { (fixed(p.sun_deg, 1)) }
                td { (fixed(p.speed_mm_s[0], 2)) "–" (fixed(p.speed_mm_s[1], 2)) } td { (fixed(p.rate_error_percent, 2)) }
                td { (fixed(p.exposure_ms.unwrap_or(f64::NAN), 2)) } td { (fixed(p.stops_off.unwrap_or(f64::NAN), 2)) }
            } } }
        }
        p { "“Off V/h”: largest difference between the stored image speeds and the V/h worked out by another road." }
    }
}

/// The listing with line numbers; refused lines stand out.
fn numbered(listing: &str, found: &[Finding]) -> Markup {
    let refused = |number: usize| found.iter().any(|f| f.grade == Grade::Refusal && f.line == Some(number));
    html! { pre { @for (line, number) in listing.lines().zip(1..) {
        @let text = format!("{number:>4}  {line}\n");
        @if refused(number) { b { "✗" (text) } } @else { " " (text) }
    } } }
}

fn table(grid: &Grid) -> Markup {
    html! {
        table class="numbers" {
            thead { tr { @for (k, cell) in grid.head.iter().enumerate() { th scope="col" class=[(k < 2).then_some("word")] { (cell) } } } }
            tbody { @for row in &grid.rows { tr class=[row.iter().any(|cell| cell == "DEAF").then_some("missed")] {
                @for (k, cell) in row.iter().enumerate() { td class=[(k < 2).then_some("word")] { (cell) } }
            } } }
        }
    }
}

/// What the sheet for signatures adds to the style of pages.
const SHEET: &str =
    ".sum { font: 700 64px/1.1 'DejaVu Sans Mono', Consolas, Menlo, monospace; letter-spacing: .2em; margin: 6px 0; }
.sign { display: grid; grid-template-columns: 1fr 1fr; gap: 40px; margin-top: 48px; }
.sign div { border-top: 1.5px solid #16191b; padding-top: 4px; min-height: 40px; font-size: 13px; }
ol { font-size: 14px; line-height: 1.35; padding-left: 1.6em; }";

/// One sheet: what the load does in plain words, key numbers, the check sum in large type, two lines to sign.
pub(super) fn signatures(told: &Document) -> String {
    let least = told.contacts.iter().map(|contact| contact.margin_s).fold(f64::INFINITY, f64::min);
    let last = told.stores.last();
    let item = |name: &str, value: String| html! { div { dt { (name) } dd { (value) } } };
    let sheet = html! {
        (DOCTYPE)
        html lang="en" {
            head { meta charset="utf-8"; title { "Load " (told.counter) " · for two signatures" } style { (PreEscaped(STYLE)) (PreEscaped(SHEET)) } }
            body {
                header { p class="kind" { "Command load · for two signatures" } h1 { (told.vehicle) ": load " (told.counter) } p { (told.load) } }
                p { "Check sum, to be read aloud by one and compared by the other:" }
                p class="sum" { (told.checksum) }
                dl class="key" {
                    (item("commands", told.commands.to_string()))
                    (item("takes effect", format!("{} s", fixed(told.delivery.arrives_s, 1))))
                    (item("camera-ons", told.pictures.len().to_string()))
                    (item("film left", last.map_or("—".into(), |s| format!("{} m", fixed(s.film_left_m, 1)))))
                    (item("least margin", format!("{} s", fixed(least, 0))))
                    (item("gas left, at least", last.map_or("—".into(), |s| format!("{} kg", fixed(s.gas_left_kg, 2)))))
                    (item("energy left", last.map_or("—".into(), |s| format!("{} Wh", fixed(s.energy_left_wh, 0)))))
                    (item("contacts heard", format!("{} of {}", told.contacts.iter().filter(|c| c.heard()).count(), told.contacts.len())))
                    (item("refusals", told.refusals.to_string()))
                    (item("cautions", told.cautions.to_string()))
                }
                ol { @for sentence in &told.in_words { li { (sentence) } } }
                @if told.cautions > 0 {
                    h3 { "Cautions" }
                    ul { @for f in &told.findings { li { @if let Some(line) = f.line { "Line " (line) ": " } (f.reason) ". " (f.remedy) } } }
                }
                div class="sign" { div { "Prepared by: name, signature, time" } div { "Checked by: name, signature, time" } }
            }
        }
    };
    sheet.into_string()
}
