//! The day as a picture: one line a revolution, minutes across.

use super::study::Study;
use crate::{
    passes::plan::{bursts::Burst, windows::Pass},
    report::svg::{path, round_step},
};
use maud::{Markup, html};
use std::f64::consts::TAU;

const LEFT: f64 = 52.0;
const WIDTH: f64 = 760.0;
const ROW: f64 = 30.0;

/// Rows of equal length, one for each revolution.
struct Sheet {
    period_s: f64,
    end_s: f64,
    rows: usize,
}

/// The picture.
pub fn timeline(study: &Study) -> Markup {
    let end_s = study.scenario().run.duration_s;
    let period_s = (TAU / study.plan.uncertainty.mean_motion_rad_s).min(end_s.max(1.0));
    let sheet = Sheet { period_s, end_s, rows: (end_s / period_s).ceil().max(1.0) as usize };
    let height = sheet.rows as f64 * ROW;
    let minutes = (period_s / 60.0).floor() as u32;
    html! {
        svg viewBox=(format!("0 0 {WIDTH} {:.0}", height + 34.0)) role="img" aria-label="Timeline of the plan, one line a revolution" font-family="Helvetica, Arial, sans-serif" {
            @for row in 0..sheet.rows { (sheet.row(row)) }
            @for [from, to] in nights(study) { (sheet.bars([from, to], (3.0, 9.0), "#9aa4ab", "night below", None)) }
            @for contact in &study.document.contacts {
                (sheet.bars([contact.rise_s, contact.set_s], (19.0, 7.0), "#009e73", &contact.station, contact.station.chars().next()))
            }
            @for pass in study.plan.passes.iter().filter(|pass| pass.unfit.is_none() && !pass.flown) { (sheet.open(pass)) }
            @for (burst, told) in study.plan.flown().zip(&study.document.bursts) { (sheet.burst(burst, &told.areas.join(", "))) }
            @for minute in (0..=minutes).step_by(10) {
                @let x = sheet.x(f64::from(minute) * 60.0);
                path d=(path([(x, 0.0), (x, height + 3.0)])) stroke="#555" stroke-width="0.3" stroke-dasharray="1.5 2" {}
                text x=(format!("{x:.1}")) y=(height + 13.0) font-size="9.5" text-anchor="middle" fill="#222" { (minute) }
            }
            text x=(format!("{:.0}", (LEFT + WIDTH) / 2.0)) y=(height + 29.0) font-size="10.5" text-anchor="middle" fill="#222" { "minutes since the beginning of the line" }
        }
    }
}

/// Each camera-on by itself: quiet, padding, area, from camera-on in seconds.
pub fn close_ups(study: &Study) -> Markup {
    const NAME: f64 = 150.0;
    const LINE: f64 = 17.0;
    let flown: Vec<&Burst> = study.plan.flown().collect();
    let before_s = flown.iter().map(|burst| burst.on_s - burst.quiet_s).fold(1.0, f64::max) + 2.0;
    let after_s = flown.iter().map(|burst| burst.duration_s()).fold(1.0, f64::max) + 2.0;
    let x = |since_on_s: f64| NAME + (WIDTH - NAME - 6.0) * (since_on_s + before_s) / (before_s + after_s);
    let height = flown.len() as f64 * LINE;
    let step_s = round_step(before_s + after_s, 8.0);
    let ticks: Vec<f64> = (0..100).map(|k| f64::from(k) * step_s).take_while(|t| *t <= after_s).collect();
    html! {
        svg viewBox=(format!("0 0 {WIDTH} {:.0}", height + 34.0)) role="img" aria-label="Each camera-on with its quiet time and padding" font-family="Helvetica, Arial, sans-serif" {
            @for (row, (burst, told)) in flown.iter().zip(&study.document.bursts).enumerate() {
                @let y = row as f64 * LINE;
                @let bar = |from_s: f64, to_s: f64, fill: &str| html! {
                    rect x=(format!("{:.1}", x(from_s - burst.on_s))) y=(y + 2.0) width=(format!("{:.1}", x(to_s) - x(from_s))) height=(LINE - 4.0) fill=(fill) {}
                };
                text x=(NAME - 6.0) y=(y + 12.0) font-size="9.5" text-anchor="end" fill="#222" { (told.areas.join(", ")) }
                (bar(burst.quiet_s, burst.on_s, "#cc79a7")) (bar(burst.on_s, burst.off_s, "#7fb6d9")) (bar(burst.over_s[0], burst.over_s[1], "#003f66"))
            }
            @for t in ticks {
                path d=(path([(x(t), 0.0), (x(t), height + 3.0)])) stroke="#555" stroke-width="0.3" stroke-dasharray="1.5 2" {}
                text x=(format!("{:.1}", x(t))) y=(height + 13.0) font-size="9.5" text-anchor="middle" fill="#222" { (t) }
            }
            text x=(format!("{:.0}", (NAME + WIDTH) / 2.0)) y=(height + 29.0) font-size="10.5" text-anchor="middle" fill="#222" { "seconds since camera-on" }
        }
    }
}

/// Stretches in which it is night on the ground below, s.
fn nights(study: &Study) -> Vec<[f64; 2]> {
    let mut nights: Vec<[f64; 2]> = Vec::new();
    let mut dark = false;
    for point in &study.track {
        match (point.sun_rad < 0.0, dark, nights.last_mut()) {
            (true, true, Some(last)) => last[1] = point.time_s,
            (true, _, _) => nights.push([point.time_s, point.time_s]),
            (false, _, _) => {}
        }
        dark = point.sun_rad < 0.0;
    }
    nights
}

impl Sheet {
    /// Across, px, of a time since the beginning of a line.
    fn x(&self, within_s: f64) -> f64 {
        LEFT + (WIDTH - LEFT - 6.0) * within_s / self.period_s
    }

    fn row(&self, row: usize) -> Markup {
        let y = row as f64 * ROW;
        let from_s = row as f64 * self.period_s;
        let length_s = self.period_s.min(self.end_s - from_s);
        let hours = from_s / 3600.0;
        let label = format!("{:02}:{:02} h", hours.floor(), (hours.fract() * 60.0).floor());
        html! {
            rect x=(LEFT) y=(y + 2.0) width=(format!("{:.1}", self.x(length_s) - LEFT)) height=(ROW - 4.0) fill="#f3f5f6" {}
            text x=(LEFT - 5.0) y=(y + 18.0) font-size="9.5" text-anchor="end" fill="#222" { (label) }
        }
    }

    /// A stretch, cut at the ends of lines: [line, from px, to px].
    fn pieces(&self, [from_s, to_s]: [f64; 2]) -> Vec<(usize, f64, f64)> {
        let mut pieces = Vec::new();
        let (mut from_s, to_s) = (from_s.max(0.0), to_s.min(self.end_s));
        while from_s < to_s {
            let row = ((from_s / self.period_s).floor() as usize).min(self.rows - 1);
            let row_s = row as f64 * self.period_s;
            let until_s = if row + 1 == self.rows { to_s } else { to_s.min(row_s + self.period_s) };
            pieces.push((row, self.x(from_s - row_s), self.x(until_s - row_s)));
            // Rounding must not hold the pen at a line's end.
            from_s = if until_s > from_s { until_s } else { to_s };
        }
        pieces
    }

    fn bars(&self, span_s: [f64; 2], (top, height): (f64, f64), fill: &str, title: &str, mark: Option<char>) -> Markup {
        html! {
            @for (row, left, right) in self.pieces(span_s) {
                @let y = row as f64 * ROW + top;
                rect x=(format!("{left:.1}")) y=(format!("{y:.1}")) width=(format!("{:.1}", (right - left).max(1.2))) height=(height) fill=(fill) { title { (title) } }
                @if let Some(mark) = mark { text x=(format!("{:.1}", 0.5 * (left + right))) y=(format!("{:.1}", y + 6.3)) font-size="7.5" text-anchor="middle" fill="#fff" { (mark) } }
            }
        }
    }

    /// A pass that could be flown and is not.
    fn open(&self, pass: &Pass) -> Markup {
        html! {
            @for (row, left, right) in self.pieces([pass.start_s, pass.end_s]) {
                rect x=(format!("{left:.1}")) y=(row as f64 * ROW + 12.0) width=(format!("{:.1}", (right - left).max(2.0))) height="7" fill="#fff" stroke="#b07800" stroke-width="0.8" {}
            }
        }
    }

    fn burst(&self, burst: &Burst, name: &str) -> Markup {
        html! {
            (self.bars([burst.on_s, burst.off_s], (11.5, 8.0), "#0072b2", name, None))
            (self.bars(burst.over_s, (9.5, 12.0), "#003f66", name, None))
            @if let Some((row, left, right)) = self.pieces([burst.on_s, burst.off_s]).first() {
                @let right_half = *left > 0.75 * WIDTH;
                @let x = if right_half { left - 3.0 } else { right + 3.0 };
                text x=(format!("{x:.1}")) y=(format!("{:.1}", *row as f64 * ROW + 18.5)) font-size="8.5" fill="#111"
                    text-anchor=(if right_half { "end" } else { "start" }) stroke="#f3f5f6" stroke-width="2" paint-order="stroke" { (name) }
            }
        }
    }
}
