//! Attitude: errors, rates, phase planes.

use maud::{Markup, html};

use super::chart::{AXES, AXIS_COLOURS, Chart, Mark, Series, edges, palette, range, zigzag};
use super::data::{PhaseLimits, ReportData};
use super::strips::Unit;
use super::text::{fixed, quoted, span};
use crate::record::digest::{CloseUp, PhasePoint};
use crate::record::envelope::Envelopes;
use crate::record::summary::AxisStatistics;

const DEG: f64 = 180.0 / std::f64::consts::PI;
/// Rates in hold are thousandths of a degree a second.
const MILLIDEG: f64 = 1e3 * DEG;
const ERRORS: [&str; 3] = ["roll_error_rad", "pitch_error_rad", "yaw_error_rad"];
const RATES: [&str; 3] = ["roll_rate_error_rad_s", "pitch_rate_error_rad_s", "yaw_rate_error_rad_s"];
const ASSUMED: [&str; 3] = ["assumed_roll_rad", "assumed_pitch_rad", "assumed_yaw_rad"];

/// Looks of roll, pitch and yaw where they share a panel.
const MARKS: [Mark; 3] = [Mark::Line, Mark::Dashed, Mark::Dotted];

/// The section.
pub fn section(data: &ReportData) -> Markup {
    html! {
        p { "Errors are the body's attitude against the commanded steering (in truth, not as estimated). Rates are the "
            "body's rate less the rate that the steering wants. Orange bands: the programme has the camera on." }
        (statistics(data))
        figure {
            (whole_run(data, &ERRORS, "error, °"))
            figcaption { "Attitude error over the whole run: smallest and largest value in every stretch. Broken lines: deadband. "
                "What lies beyond the axes (the capture) is cut off; it has a figure of its own." }
        }
        figure {
            (whole_run(data, &RATES, "rate, °/s"))
            figcaption { "Body rate against the wanted rate over the whole run. Broken lines: rate limit." }
        }
        @for close_up in &data.digest.close_ups { (closer(data, close_up)) }
        (phase_planes(data))
    }
}

fn statistics(data: &ReportData) -> Markup {
    let attitude = &data.summary.attitude;
    html! {
        p { "Fine hold first reached after "
            @match attitude.capture_s { Some(t) => { (quoted("attitude.capture_s", t, &span(t))) } None => { b { "never" } } }
            "; held for " (quoted("attitude.hold_s", attitude.hold_s, &span(attitude.hold_s))) "." }
        table class="numbers keep" {
            thead { tr { th scope="col" { "" } th scope="col" class="word" { "axis" } th scope="col" { "mean error, °" } th scope="col" { "rms error, °" }
                th scope="col" { "largest error, °" } th scope="col" { "rms rate, °/s" } th scope="col" { "largest rate, °/s" } } }
            tbody {
                (axis_rows("fine hold", "attitude.hold", &attitude.hold))
                (axis_rows("shutter open", "attitude.exposures", &attitude.exposures))
            }
        }
    }
}

fn axis_rows(name: &str, key: &str, s: &AxisStatistics) -> Markup {
    let cell = |field: &str, axis: usize, value: f64, decimals: usize| {
        let text = if s.samples == 0 { "—".to_string() } else { fixed(value, decimals) };
        quoted(&format!("{key}.{field}.{axis}"), value, &text)
    };
    html! {
        @for (k, axis) in AXES.iter().enumerate() {
            tr class=[(k == 0).then_some("first")] {
                td class="word" { @if k == 0 { (name) } } td class="word" { (axis) }
                td { (cell("error_mean_deg", k, s.error_mean_deg[k], 4)) } td { (cell("error_rms_deg", k, s.error_rms_deg[k], 4)) }
                td { (cell("error_max_deg", k, s.error_max_deg[k], 3)) } td { (cell("rate_rms_deg_s", k, s.rate_rms_deg_s[k], 5)) }
                td { (cell("rate_max_deg_s", k, s.rate_max_deg_s[k], 4)) }
            }
        }
    }
}

/// Camera-on spans in the axis' unit.
pub fn camera_bands(data: &ReportData, unit: Unit) -> Vec<(f64, f64)> {
    let on = data.digest.camera.iter().filter(|s| s.code > 0);
    on.map(|s| (s.start_s / unit.seconds, s.end_s / unit.seconds)).collect()
}

fn limits_of(data: &ReportData, columns: &[&str; 3], axis: usize) -> Option<f64> {
    let limits = data.context.phase_limits?;
    Some(if columns == &ERRORS { limits.deadband_deg[axis] } else { limits.rate_limit_deg_s[axis] })
}

fn whole_run(data: &ReportData, columns: &[&str; 3], what: &str) -> Markup {
    let (start, end) = data.digest.span_s.unwrap_or((0.0, 1.0));
    let unit = Unit::of(end - start);
    let settled = data.summary.attitude.capture_s.unwrap_or(start) / unit.seconds;
    let bands = camera_bands(data, unit);
    html! {
        @for axis in 0..3 {
            @let points = edges(&data.digest.series.curve(columns[axis]), 1.0 / unit.seconds, DEG);
            @let limit = limits_of(data, columns, axis);
            @let y = with_limit(range(points.iter().copied(), settled), limit);
            (Chart {
                alt: format!("{} {what} over the whole run", AXES[axis]),
                x_label: if axis == 2 { format!("time since start, {}", unit.name) } else { String::new() },
                y_label: format!("{} {what}", AXES[axis]),
                width: 720.0,
                height: if axis == 2 { 142.0 } else { 122.0 },
                x: (start / unit.seconds, end / unit.seconds),
                y,
                series: vec![Series { name: None, colour: AXIS_COLOURS[axis], mark: Mark::Band, size: 0.6, points }],
                x_step: unit.step(end - start) / unit.seconds,
                shaded: bands.clone(),
                levels: limit.map_or_else(Vec::new, |l| vec![(l, String::new()), (-l, String::new())]),
            }.draw())
        }
    }
}

/// The range, made to show the limits if they are not far off.
fn with_limit((low, high): (f64, f64), limit: Option<f64>) -> (f64, f64) {
    match limit {
        Some(l) if l < 8.0 * low.abs().max(high.abs()) => (low.min(-1.15 * l), high.max(1.15 * l)),
        _ => (low, high),
    }
}

fn closer(data: &ReportData, close_up: &CloseUp) -> Markup {
    let window = &close_up.window;
    let unit = Unit::of(window.end_s - window.start_s);
    let bands: Vec<(f64, f64)> = camera_bands(data, unit);
    let x = (window.start_s / unit.seconds, window.end_s / unit.seconds);
    let bands: Vec<(f64, f64)> = bands.into_iter().filter(|(s, e)| *e > x.0 && *s < x.1).collect();
    let curves = |columns: &[&str; 3], named: bool| -> Vec<Series> {
        (0..3)
            .map(|k| {
                let points = zigzag(&close_up.series.curve(columns[k]), 1.0 / unit.seconds, DEG);
                let name = named.then(|| AXES[k].to_string());
                Series { name, colour: AXIS_COLOURS[k], mark: MARKS[k], size: 1.3, points }
            })
            .collect()
    };
    let panel = |series: Vec<Series>, y_label: &str, last: bool| {
        let y = range(series.iter().flat_map(|s| s.points.iter().copied()), f64::NEG_INFINITY);
        Chart {
            alt: format!("{y_label}: {}", window.title),
            x_label: if last { format!("time since start, {}", unit.name) } else { String::new() },
            y_label: y_label.into(),
            width: 720.0,
            height: if last { 172.0 } else { 152.0 },
            x,
            y,
            series,
            shaded: bands.clone(),
            ..Chart::default()
        }
        .draw()
    };
    html! {
        figure {
            (panel(curves(&ERRORS, true), "error, °", false))
            (panel(curves(&RATES, false), "rate, °/s", false))
            (panel(estimate_errors(&close_up.series, unit), "estimate − truth, °", true))
            figcaption { (window.title) ": attitude error, rate, and what the vehicle's own estimate was off by." }
        }
    }
}

/// Belief less truth: assumed angle against the local orbital frame less the true one.
fn estimate_errors(series: &Envelopes, unit: Unit) -> Vec<Series> {
    const TRUE: [&str; 3] = ["roll_rad", "pitch_rad", "yaw_rad"];
    let middle = |low: f64, high: f64| 0.5 * (low + high);
    (0..3)
        .map(|k| {
            let (assumed, truth) = (series.curve(ASSUMED[k]), series.curve(TRUE[k]));
            let points = assumed
                .iter()
                .zip(&truth)
                .map(|(a, t)| (a.time_s / unit.seconds, (middle(a.low, a.high) - middle(t.low, t.high)) * DEG));
            Series { name: None, colour: AXIS_COLOURS[k], mark: MARKS[k], size: 1.3, points: points.collect() }
        })
        .collect()
}

fn phase_planes(data: &ReportData) -> Markup {
    let held = |p: &&PhasePoint| data.context.hold_modes.is_empty() || data.context.hold_modes.contains(&p.mode);
    let points: Vec<&PhasePoint> = data.digest.phase.samples().iter().filter(held).collect();
    // About 600 dots tell the same as 3,000 and weigh a fifth.
    let every = points.len().div_ceil(600).max(1);
    let points: Vec<&PhasePoint> = points.into_iter().step_by(every).collect();
    // Only the last close-up is long past the capture.
    let path: Vec<&PhasePoint> =
        data.digest.close_ups.last().map_or_else(Vec::new, |c| c.phase.samples().iter().filter(held).collect());
    html! {
        figure {
            div class="three" { @for axis in 0..3 { (phase_plane(data, axis, &points, &path)) } }
            figcaption { "Phase plane in hold, axis by axis. Dots: samples over the whole run; line: the path during “"
                (data.digest.close_ups.last().map_or("—", |c| c.window.title.as_str()))
                "”. Broken lines: switching lines and rate limits, where the settings give them." }
        }
    }
}

fn phase_plane(data: &ReportData, axis: usize, points: &[&PhasePoint], path: &[&PhasePoint]) -> Markup {
    let at = |p: &&PhasePoint| (f64::from(p.error_rad[axis]) * DEG, f64::from(p.rate_rad_s[axis]) * MILLIDEG);
    let dots: Vec<(f64, f64)> = points.iter().map(at).collect();
    let line: Vec<(f64, f64)> = path.iter().map(at).collect();
    let both = || dots.iter().chain(&line).copied();
    let limits = data.context.phase_limits;
    let x = with_limit(range(both().map(|(e, _)| (0.0, e)), 0.0), limits.map(|l| l.deadband_deg[axis]));
    let y = with_limit(range(both().map(|(_, r)| (0.0, r)), 0.0), limits.map(|l| l.rate_limit_deg_s[axis] * 1e3));
    let mut series = vec![
        Series { name: None, colour: palette::GREY, mark: Mark::Dots, size: 0.9, points: dots },
        Series { name: None, colour: AXIS_COLOURS[axis], mark: Mark::Line, size: 1.0, points: line },
    ];
    if let Some(l) = limits {
        series.extend(switching_lines(l, axis, x));
    }
    Chart {
        alt: format!("Phase plane of {}", AXES[axis]),
        x_label: format!("{} error, °", AXES[axis]),
        y_label: "rate, 10⁻³ °/s".into(),
        width: 240.0,
        height: 215.0,
        x,
        y,
        series,
        ..Chart::default()
    }
    .draw()
}

/// The lines error + time × rate = ± deadband between the rate limits, and the rate limits.
fn switching_lines(limits: PhaseLimits, axis: usize, x: (f64, f64)) -> Vec<Series> {
    let (band, rate, slope) =
        (limits.deadband_deg[axis], limits.rate_limit_deg_s[axis] * 1e3, limits.rate_time_s[axis] * 1e-3);
    let line = |points| Series { name: None, colour: palette::BLACK, mark: Mark::Dashed, size: 0.8, points };
    let side = |side: f64| {
        let switching = vec![(side * band - slope * rate, rate), (side * band + slope * rate, -rate)];
        [line(switching), line(vec![(x.0, side * rate), (x.1, side * rate)])]
    };
    [side(-1.0), side(1.0)].into_iter().flatten().collect()
}
