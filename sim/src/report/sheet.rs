//! What frames saw: the contact sheet, smear over the format, budget beside outcome.

use base64::{Engine, prelude::BASE64_STANDARD};
use maud::{Markup, html};

use super::data::{FormatCell, ReportData, SheetTile};
use super::text::fixed;

/// Everything about what frames saw.
pub fn section(data: &ReportData) -> Markup {
    html! {
        @if !data.frames.is_empty() { (budget(data)) }
        @if !data.format.is_empty() { (format(&data.format)) }
        @if !data.sheet.is_empty() { (contact_sheet(&data.sheet)) }
    }
}

/// Smear allowed and smear found.
fn budget(data: &ReportData) -> Markup {
    let along = data.frames.iter().map(|f| (f.smear_along_um, f.budget_um[0]));
    let across = data.frames.iter().map(|f| (f.smear_across_um, f.budget_um[1]));
    let rows = [("along", Outcome::of(along)), ("across", Outcome::of(across))];
    html! {
        h3 { "Budget beside outcome" }
        table class="numbers keep" {
            thead { tr { th scope="col" class="word" { "smear at the centre, µm" } th scope="col" { "allowed (median)" } th scope="col" { "rms" }
                th scope="col" { "median" } th scope="col" { "95 of 100 below" } th scope="col" { "most" } th scope="col" { "frames over" } } }
            tbody { @for (name, o) in &rows { tr {
                td class="word" { (name) } td { (fixed(o.allowed, 2)) } td { (fixed(o.rms, 2)) } td { (fixed(o.median, 2)) }
                td { (fixed(o.most_of, 2)) } td { (fixed(o.most, 2)) } td { (o.over) }
            } } }
        }
        p { "Allowed: the camera's budget of film rate, unevenness, body rates, yaw and relief at each frame's own speed and exposure time, root of "
            "the sum of squares. Found: the image's way on the film in the simulated flight. Vibration is in neither." }
    }
}

struct Outcome {
    allowed: f64,
    rms: f64,
    median: f64,
    most_of: f64,
    most: f64,
    over: usize,
}

impl Outcome {
    fn of(frames: impl Iterator<Item = (f64, f64)>) -> Self {
        let frames: Vec<(f64, f64)> =
            frames.filter(|(smear, allowed)| smear.is_finite() && allowed.is_finite()).collect();
        let mut smears: Vec<f64> = frames.iter().map(|frame| frame.0).collect();
        let mut allowed: Vec<f64> = frames.iter().map(|frame| frame.1).collect();
        smears.sort_by(f64::total_cmp);
        allowed.sort_by(f64::total_cmp);
        let at = |sorted: &[f64], share: f64| {
            let last = sorted.len().saturating_sub(1);
            sorted.get((share * last as f64).round() as usize).copied().unwrap_or(f64::NAN)
        };
        Self {
            allowed: at(&allowed, 0.5),
            rms: (smears.iter().map(|smear| smear * smear).sum::<f64>() / smears.len() as f64).sqrt(),
            median: at(&smears, 0.5),
            most_of: at(&smears, 0.95),
            most: at(&smears, 1.0),
            over: frames.iter().filter(|(smear, allowed)| smear > allowed).count(),
        }
    }
}

/// Arrows of the mean way over the format, with rms smear and distance in numbers.
fn format(cells: &[FormatCell]) -> Markup {
    let mut along: Vec<f64> = cells.iter().map(|cell| cell.along_m).collect();
    let mut across: Vec<f64> = cells.iter().map(|cell| cell.across_m).collect();
    for places in [&mut along, &mut across] {
        places.sort_by(f64::total_cmp);
        places.dedup();
    }
    const CELL: (f64, f64) = (136.0, 92.0);
    let (width, height) = (CELL.0 * across.len() as f64 + 70.0, CELL.1 * along.len() as f64 + 40.0);
    let longest = cells.iter().map(|cell| cell.mean_m[0].hypot(cell.mean_m[1])).fold(1e-9, f64::max);
    let place = |places: &[f64], at: f64| places.iter().position(|place| *place == at).unwrap_or(0) as f64;
    html! {
        figure {
            svg viewBox=(format!("0 0 {width} {height}")) width=(width) height=(height) role="img" aria-label="Smear over the format" {
                @for (column, at_m) in across.iter().enumerate() {
                    text x=(70.0 + CELL.0 * (column as f64 + 0.5)) y="14" text-anchor="middle" font-size="12" { (fixed(at_m * 1e3, 1)) " mm" }
                }
                @for (row, at_m) in along.iter().rev().enumerate() {
                    text x="62" y=(24.0 + CELL.1 * (row as f64 + 0.5)) text-anchor="end" font-size="12" { (fixed(at_m * 1e3, 1)) " mm" }
                }
                @for cell in cells {
                    @let x = 70.0 + CELL.0 * (place(&across, cell.across_m) + 0.5);
                    @let y = 20.0 + CELL.1 * (along.len() as f64 - 1.0 - place(&along, cell.along_m) + 0.35);
                    @let reach = 26.0 / longest;
                    (arrow((x, y), (cell.mean_m[1] * reach, -cell.mean_m[0] * reach)))
                    text x=(x) y=(y + 36.0) text-anchor="middle" font-size="11" { (fixed(cell.rms_m[0] * 1e6, 2)) " | " (fixed(cell.rms_m[1] * 1e6, 2)) " µm" }
                    text x=(x) y=(y + 50.0) text-anchor="middle" font-size="11" { (fixed(cell.grd_m[0], 2)) " | " (fixed(cell.grd_m[1], 2)) " m" }
                }
            }
            figcaption { "Smear over the format, all frames together: columns across the track, rows along it (flight is up). Arrow: mean way of the image on "
                "the film within an exposure (the longest is " (fixed(longest * 1e6, 2)) " µm). Below: rms smear and median ground resolved distance, along | across." }
        }
    }
}

fn arrow((x, y): (f64, f64), (dx, dy): (f64, f64)) -> Markup {
    let length = dx.hypot(dy).max(1e-9);
    let (ux, uy) = (dx / length, dy / length);
    let barb = length.min(6.0);
    let tip = (x + 0.5 * dx, y + 0.5 * dy);
    let back = |side: f64| (tip.0 - barb * (ux + side * uy), tip.1 - barb * (uy - side * ux));
    let (left, right) = (back(0.5), back(-0.5));
    html! {
        circle cx=(x) cy=(y) r="1.5" fill="#0072b2" {}
        path d=(format!("M{:.2} {:.2}L{:.2} {:.2}M{:.2} {:.2}L{:.2} {:.2}L{:.2} {:.2}", x - 0.5 * dx, y - 0.5 * dy, tip.0, tip.1, left.0, left.1, tip.0, tip.1, right.0, right.1))
            fill="none" stroke="#0072b2" stroke-width="1.4" {}
    }
}

/// The pictures.
fn contact_sheet(tiles: &[SheetTile]) -> Markup {
    let readings = tiles.iter().flat_map(|tile| tile.steps_off);
    let (count, close) = readings.fold((0, 0), |(count, close), off| (count + 1, close + u32::from(off.abs() <= 1)));
    let read = |read_m: Option<f64>| read_m.map_or_else(|| "none".to_owned(), |m| fixed(m, 2));
    html! {
        figure class="sheet" {
            div class="tiles" { @for tile in tiles {
                div class=[tile.mark.map(|_| "marked")] {
                    img src=(format!("data:image/png;base64,{}", BASE64_STANDARD.encode(&tile.png))) width=(tile.size[0]) height=(tile.size[1])
                        alt=(format!("Bars as frame {} would show them", tile.number)) {}
                    p { b { (tile.number) @if let Some(mark) = tile.mark { " · " (mark) } } br; (tile.area) br;
                        (fixed(tile.grd_m[0], 2)) " | " (fixed(tile.grd_m[1], 2)) " m" br;
                        "read " (read(tile.read_m[0])) " | " (read(tile.read_m[1])) }
                }
            } }
            figcaption { "Contact sheet: three-bar targets on the ground (contrast 1.6:1, each size smaller by the sixth root of two) as these frames would show "
                "them at the middle of the format, through lens, the frame's own motion, film and grain. Flight is up; bars on the left are resolved along the track, on the right across. "
                "Below each: frame, area, distance computed along | across, and the smallest bars read in the picture. "
                (close) " of " (count) " readings are within one size of the computed distance." }
        }
    }
}
