//! Strips against time: what was on when.

use maud::{Markup, html};

use super::data::ReportData;
use super::svg::{path, round_step};
use super::text::clock;
use crate::record::EventKind;
use crate::record::digest::{CloseUp, Span};

const LEFT: f64 = 92.0;
const WIDTH: f64 = 720.0;
const ROW: f64 = 19.0;

/// One bar of a strip.
struct Bar {
    start_s: f64,
    end_s: f64,
    fill: &'static str,
    label: String,
}

/// A strip: a name and its bars.
struct Strip {
    name: String,
    bars: Vec<Bar>,
}

/// The whole run: shadow, mode assumed and observed, camera, contacts, faults.
pub fn run_at_a_glance(data: &ReportData) -> Markup {
    let digest = &data.digest;
    let (start, end) = digest.span_s.unwrap_or((0.0, 1.0));
    let mode = |spans: &[Span]| mode_bars(spans, data);
    let on = |spans: &[Span], fill| -> Vec<Bar> {
        let bars = spans.iter().filter(|s| s.code > 0);
        bars.map(|s| Bar { start_s: s.start_s, end_s: s.end_s, fill, label: String::new() }).collect()
    };
    let contacts = digest.contact.iter().filter(|s| s.code >= 0).map(|s| {
        let station = usize::try_from(s.code).ok().and_then(|k| data.context.codes.stations.get(k));
        let label = station.cloned().unwrap_or_default();
        Bar { start_s: s.start_s, end_s: s.end_s, fill: "#009e73", label }
    });
    let strips = [
        Strip { name: "shadow".into(), bars: on(&digest.eclipse, "#9aa4ab") },
        Strip { name: "mode, assumed".into(), bars: mode(&digest.assumed_mode) },
        Strip { name: "mode, observed".into(), bars: mode(&digest.observed_mode) },
        Strip { name: "camera on".into(), bars: on(&digest.camera, "#0072b2") },
        Strip { name: "contact".into(), bars: contacts.collect() },
        Strip { name: "faults".into(), bars: fault_bars(data, end) },
    ];
    draw(&strips, start, end, "What was on when, over the whole run")
}

/// Jet firings of a close-up, one strip a jet.
pub fn firings(data: &ReportData, close_up: &CloseUp) -> Markup {
    let window = &close_up.window;
    let used = |jet: usize| close_up.edges.iter().any(|e| usize::from(e.jet) == jet);
    let strips: Vec<Strip> = (0..16)
        .filter(|&jet| used(jet) || jet < data.context.jets.len())
        .map(|jet| Strip { name: jet_name(data, jet), bars: pulses(close_up, jet) })
        .collect();
    draw(&strips, window.start_s, window.end_s, &format!("Jet firings: {}", window.title))
}

/// A jet's name and what it turns.
pub fn jet_name(data: &ReportData, jet: usize) -> String {
    let label = data.context.jets.get(jet);
    label.map_or_else(|| format!("jet {jet}"), |l| format!("{} {}", l.name, l.turns))
}

fn pulses(close_up: &CloseUp, jet: usize) -> Vec<Bar> {
    let mut bars = Vec::new();
    let mut open_since = None;
    for edge in close_up.edges.iter().filter(|e| usize::from(e.jet) == jet) {
        if edge.open {
            open_since = Some(edge.time_s);
        } else if let Some(start_s) = open_since.take() {
            bars.push(Bar { start_s, end_s: edge.time_s, fill: "#d55e00", label: String::new() });
        }
    }
    if let Some(start_s) = open_since {
        bars.push(Bar { start_s, end_s: close_up.window.end_s, fill: "#d55e00", label: String::new() });
    }
    bars
}

fn mode_bars(spans: &[Span], data: &ReportData) -> Vec<Bar> {
    const FILLS: [&str; 6] = ["#f0e442", "#e69f00", "#cc79a7", "#56b4e9", "#b9dcf2", "#cfd6da"];
    let fill = |code: i64| FILLS[usize::try_from(code).unwrap_or(0) % FILLS.len()];
    let bars = spans.iter().map(|s| Bar {
        start_s: s.start_s,
        end_s: s.end_s,
        fill: fill(s.code),
        label: data.context.codes.mode(s.code),
    });
    bars.collect()
}

/// Bars from a fault's start to the next stop of the same text, or to the end.
fn fault_bars(data: &ReportData, end: f64) -> Vec<Bar> {
    let mut bars: Vec<(Bar, bool)> = Vec::new();
    for event in &data.digest.events {
        match event.kind {
            EventKind::FaultStart => {
                let bar = Bar { start_s: event.time_s, end_s: end, fill: "#d55e00", label: event.text.clone() };
                bars.push((bar, true));
            }
            EventKind::FaultStop => {
                if let Some((bar, open)) = bars.iter_mut().find(|(_, open)| *open) {
                    bar.end_s = event.time_s;
                    *open = false;
                }
            }
            _ => {}
        }
    }
    bars.into_iter().map(|(bar, _)| bar).collect()
}

fn draw(strips: &[Strip], start: f64, end: f64, alt: &str) -> Markup {
    let scale = (WIDTH - LEFT - 8.0) / (end - start).max(1e-9);
    let x = |t: f64| LEFT + (t.clamp(start, end) - start) * scale;
    let height = strips.len() as f64 * ROW;
    let unit = Unit::of(end - start);
    let step = unit.step(end - start);
    let ticks: Vec<f64> = std::iter::successors(Some((start / step).ceil() * step), |t| Some(t + step))
        .take_while(|t| *t <= end + 1e-6 * step)
        .collect();
    html! {
        svg viewBox=(format!("0 0 {WIDTH} {:.0}", height + 36.0)) role="img" aria-label=(alt) font-family="Helvetica, Arial, sans-serif" {
            @for (row, strip) in strips.iter().enumerate() {
                @let y = row as f64 * ROW;
                text x=(LEFT - 6.0) y=(y + 13.0) font-size="10" text-anchor="end" fill="#222" { (strip.name) }
                rect x=(LEFT) y=(y + 2.0) width=(format!("{:.1}", WIDTH - LEFT - 8.0)) height=(ROW - 4.0) fill="#f3f5f6" {}
                @for bar in &strip.bars { (draw_bar(bar, x(bar.start_s), x(bar.end_s), y)) }
            }
            @for t in &ticks {
                path d=(path([(x(*t), 0.0), (x(*t), height + 4.0)])) stroke="#555" stroke-width="0.35" stroke-dasharray="1.5 2" {}
                text x=(format!("{:.1}", x(*t))) y=(height + 15.0) font-size="10" text-anchor="middle" fill="#222" { (unit.label(*t)) }
            }
            text x=(format!("{:.0}", (LEFT + WIDTH) / 2.0)) y=(height + 31.0) font-size="11" text-anchor="middle" fill="#222" { "time since start, " (unit.name) }
        }
    }
}

fn draw_bar(bar: &Bar, left: f64, right: f64, y: f64) -> Markup {
    // A pulse of 20 ms or a pass on a day's strip must still leave ink.
    let width = (right - left).max(0.9);
    let room = bar.label.chars().count() as f64 * 5.2 + 6.0;
    html! {
        rect x=(format!("{left:.1}")) y=(y + 2.0) width=(format!("{width:.1}")) height=(ROW - 4.0) fill=(bar.fill)
            { title { (bar.label) " " (clock(bar.start_s)) "–" (clock(bar.end_s)) } }
        @if !bar.label.is_empty() && width > room {
            text x=(format!("{:.1}", left + 4.0)) y=(y + 13.0) font-size="9" fill="#111" { (bar.label) }
        }
    }
}

/// Unit of a time axis.
#[derive(Clone, Copy, Debug)]
pub struct Unit {
    /// Name, as in an axis label.
    pub name: &'static str,
    /// Its length, s.
    pub seconds: f64,
}

impl Unit {
    /// The unit in which a stretch of time reads best.
    pub fn of(length_s: f64) -> Self {
        match length_s {
            l if l <= 400.0 => Self { name: "s", seconds: 1.0 },
            l if l <= 3.0 * 3_600.0 => Self { name: "min", seconds: 60.0 },
            l if l <= 4.0 * 86_400.0 => Self { name: "h", seconds: 3_600.0 },
            _ => Self { name: "d", seconds: 86_400.0 },
        }
    }

    /// Distance of ticks on an axis this long, s.
    pub fn step(self, length_s: f64) -> f64 {
        let about = length_s / self.seconds / 8.0;
        let neat = [1.0, 2.0, 3.0, 4.0, 6.0, 12.0].iter().copied().find(|s| *s >= about);
        let step = match (self.name, neat) {
            ("h", Some(step)) if about > 0.5 => step,
            _ => round_step(length_s / self.seconds, 8.0),
        };
        step * self.seconds
    }

    fn label(self, time_s: f64) -> String {
        let value = time_s / self.seconds;
        format!("{}", (value * 1e6).round() / 1e6)
    }
}
