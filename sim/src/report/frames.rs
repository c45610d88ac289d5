//! Frames: what each resolved, and what smeared it.

use std::collections::BTreeMap;

use maud::{Markup, html};

use super::chart::{Chart, Mark, Series, palette, range};
use super::data::{FrameLine, ReportData};
use super::stores::bar;
use super::text::{clock, count, fixed, quoted, significant};
use crate::record::files;

/// Most frames listed in one table.
const MOST_LISTED: usize = 600;

/// The section.
pub fn section(data: &ReportData) -> Markup {
    let f = &data.summary.frames;
    html! {
        p { (quoted("frames.met", f.met as f64, &count(f.met))) " of " (quoted("frames.count", f.count as f64, &count(f.count)))
            " frames resolve " (quoted("frames.wanted_grd_m", f.wanted_grd_m, &significant(f.wanted_grd_m, 3))) " m on the ground"
            @if let Some(share) = f.met_fraction { " (" (quoted("frames.met_fraction", share, &format!("{} %", fixed(share * 100.0, 1)))) ")" } ". "
            @if let (Some(median), Some(worst)) = (f.grd_median_m, f.grd_worst_m) {
                "Median " (quoted("frames.grd_median_m", median, &format!("{} m", fixed(median, 2)))) ", worst "
                (quoted("frames.grd_worst_m", worst, &format!("{} m", fixed(worst, 2)))) ". "
            }
            @if let (Some(along), Some(across)) = (f.smear_along_rms_um, f.smear_across_rms_um) {
                "Smear rms " (quoted("frames.smear_along_rms_um", along, &format!("{} µm", fixed(along, 2)))) " along and "
                (quoted("frames.smear_across_rms_um", across, &format!("{} µm", fixed(across, 2)))) " across the track."
            }
        }
        @if data.frames.is_empty() { p { "No frame was exposed." } } @else {
            figure { (resolved(data)) (smears(data)) figcaption { "Ground resolved distance of each frame (a full line pair) and its smear on the film, by frame number. "
                "Broken line: distance wanted." } }
            (causes(data))
            @let missed: Vec<&FrameLine> = data.frames.iter().filter(|f| !f.met).collect();
            @if !missed.is_empty() {
                h3 { "Frames that fail" }
                (table(&missed[..missed.len().min(MOST_LISTED)]))
                @if missed.len() > MOST_LISTED { p { "The first " (MOST_LISTED) " of " (missed.len()) "; all stand in " code { (files::FRAMES) } "." } }
            }
        }
    }
}

/// Every frame, as far as a page can take it.
pub fn one_by_one(data: &ReportData) -> Markup {
    let listed: Vec<&FrameLine> = data.frames.iter().take(MOST_LISTED).collect();
    html! {
        @if data.frames.len() > MOST_LISTED {
            p { "The first " (MOST_LISTED) " of " (data.frames.len()) " frames; all stand in " code { (files::FRAMES) } "." }
        }
        @if listed.is_empty() { p { "No frame was exposed." } } @else { (table(&listed)) }
    }
}

fn numbered(
    frames: &[FrameLine],
    value: impl Fn(&FrameLine) -> f64,
    keep: impl Fn(&FrameLine) -> bool,
) -> Vec<(f64, f64)> {
    frames.iter().filter(|f| keep(f)).map(|f| (f64::from(f.number), value(f))).collect()
}

fn ends(frames: &[FrameLine]) -> (f64, f64) {
    let numbers = || frames.iter().map(|f| f64::from(f.number));
    (numbers().fold(f64::INFINITY, f64::min) - 1.0, numbers().fold(f64::NEG_INFINITY, f64::max) + 1.0)
}

fn resolved(data: &ReportData) -> Markup {
    let wanted = data.summary.frames.wanted_grd_m;
    let (low, high) = range(data.frames.iter().map(|f| (0.0, f.grd_m)), 0.0);
    let series = vec![
        Series::named("met", palette::BLUE, Mark::Dots, 2.0, numbered(&data.frames, |f| f.grd_m, |f| f.met)),
        Series::named(
            "not met",
            palette::VERMILLION,
            Mark::Crosses,
            3.6,
            numbered(&data.frames, |f| f.grd_m, |f| !f.met),
        ),
    ];
    Chart {
        alt: "Ground resolved distance of each frame".into(),
        y_label: "resolved, m".into(),
        width: 720.0,
        height: 190.0,
        x: ends(&data.frames),
        y: (low.min(0.95 * wanted), high.max(1.05 * wanted)),
        series,
        levels: vec![(wanted, "wanted".into())],
        ..Chart::default()
    }
    .draw()
}

fn smears(data: &ReportData) -> Markup {
    let both = data.frames.iter().flat_map(|f| [f.smear_along_um, f.smear_across_um]);
    let (_, high) = range(both.map(|s| (0.0, s)), 0.0);
    let series = vec![
        Series::named("along", palette::GREEN, Mark::Dots, 1.8, numbered(&data.frames, |f| f.smear_along_um, |_| true)),
        Series::named(
            "across",
            palette::PURPLE,
            Mark::Diamonds,
            2.4,
            numbered(&data.frames, |f| f.smear_across_um, |_| true),
        ),
    ];
    Chart {
        alt: "Smear of each frame".into(),
        x_label: "frame number".into(),
        y_label: "smear, µm".into(),
        width: 720.0,
        height: 200.0,
        x: ends(&data.frames),
        y: (0.0, high),
        series,
        ..Chart::default()
    }
    .draw()
}

/// Root mean square of each contribution, and how often it dominated.
fn causes(data: &ReportData) -> Markup {
    let mut squares: BTreeMap<&str, f64> = BTreeMap::new();
    for (name, value) in data.frames.iter().flat_map(|f| &f.contributions_um) {
        *squares.entry(name).or_default() += value * value;
    }
    let f = &data.summary.frames;
    for name in f.by_cause.keys() {
        squares.entry(name).or_insert(f64::NAN);
    }
    let rms = |sum: f64| (sum / data.frames.len() as f64).sqrt();
    let mut rows: Vec<(&str, f64)> = squares.into_iter().map(|(name, sum)| (name, rms(sum))).collect();
    rows.sort_by(|a, b| b.1.total_cmp(&a.1));
    let most = rows.iter().map(|r| r.1).filter(|v| v.is_finite()).fold(0.0, f64::max);
    let quoted_count = |table: &str, counts: &BTreeMap<String, u64>, name: &str| {
        let n = counts.get(name).copied();
        html! { @match n { Some(n) => { (quoted(&format!("frames.{table}.{name}"), n as f64, &count(n))) } None => { "0" } } }
    };
    html! {
        table class="numbers keep" {
            thead { tr { th scope="col" class="word" { "contribution" } th scope="col" { "rms, µm" } th scope="col" { "dominates" } th scope="col" { "of frames not met" } th scope="col" class="wide" { "" } } }
            tbody { @for (name, value) in &rows { tr {
                td class="word" { (name) } td { (fixed(*value, 2)) } td { (quoted_count("by_cause", &f.by_cause, name)) }
                td { (quoted_count("missed_by_cause", &f.missed_by_cause, name)) } td class="wide" { (bar(*value, most)) }
            } } }
        }
    }
}

fn table(frames: &[&FrameLine]) -> Markup {
    html! {
        table class="numbers dense" {
            thead { tr {
                th scope="col" { "no." } th scope="col" { "time, h:min:s" } th scope="col" class="word" { "area" } th scope="col" { "lat., °" } th scope="col" { "long., °" }
                th scope="col" { "height, km" } th scope="col" { "Sun, °" } th scope="col" { "film, mm/s" } th scope="col" { "image, mm/s" }
                th scope="col" { "along, µm" } th scope="col" { "across, µm" } th scope="col" { "GRD, m" } th scope="col" class="word" { "met" } th scope="col" class="word" { "dominant cause" }
            } }
            tbody { @for f in frames { (line(f)) } }
        }
    }
}

fn line(f: &FrameLine) -> Markup {
    html! {
        tr class=[(!f.met).then_some("missed")] {
            td { (f.number) } td { (clock(f.start_s)) } td class="word" { (f.area) } td { (fixed(f.latitude_deg, 2)) } td { (fixed(f.longitude_deg, 2)) }
            td { (fixed(f.height_m * 1e-3, 1)) } td { (fixed(f.sun_elevation_deg, 0)) } td { (fixed(f.film_speed_mm_s, 3)) } td { (fixed(f.image_speed_mm_s, 3)) }
            td { (fixed(f.smear_along_um, 2)) } td { (fixed(f.smear_across_um, 2)) } td { (fixed(f.grd_m, 2)) }
            td class="word nowrap" { @if f.met { "yes" } @else { b { "✗ no" } } } td class="word" { (f.cause) }
        }
    }
}
