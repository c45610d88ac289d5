//! The stores: gas and jets, film, power.

use maud::{Markup, html};

use super::attitude::camera_bands;
use super::chart::{Chart, Mark, Series, palette, range, zigzag};
use super::data::ReportData;
use super::strips::{Unit, firings, jet_name};
use super::text::{clock, count, fixed, quoted, significant};
use super::torques;
use crate::record::digest::CloseUp;

/// Gas: how much went where, against the least that could have done.
pub fn gas(data: &ReportData) -> Markup {
    let gas = &data.summary.gas;
    let axis =
        |k: usize| quoted(&format!("gas.used_by_axis_kg.{k}"), gas.used_by_axis_kg[k], &grams(gas.used_by_axis_kg[k]));
    html! {
        p { "Used " (quoted("gas.used_kg", gas.used_kg, &grams(gas.used_kg))) " of "
            (quoted("gas.loaded_kg", gas.loaded_kg, &format!("{} kg", significant(gas.loaded_kg, 4))))
            " in " (quoted("gas.firings", gas.firings as f64, &count(gas.firings))) " firings: roll " (axis(0)) ", pitch " (axis(1)) ", yaw " (axis(2))
            "; leaked " (quoted("gas.leaked_kg", gas.leaked_kg, &grams(gas.leaked_kg))) ". In hold "
            (quoted("gas.hold_used_kg", gas.hold_used_kg, &grams(gas.hold_used_kg))) " went, where absorbing the disturbance's momentum alone takes "
            (quoted("gas.momentum_minimum_kg", gas.momentum_minimum_kg, &grams(gas.momentum_minimum_kg)))
            @if let Some(ratio) = gas.hold_ratio { " (ratio " (quoted("gas.hold_ratio", ratio, &significant(ratio, 3))) ")" } "." }
        figure { (gas_left(data)) figcaption { "Gas left: in truth, as the vehicle's gauges have it, and as it would fall if in hold only the "
            "momentum minimum were spent, evenly." } }
        (jet_table(data))
        @for close_up in &data.digest.close_ups {
            figure { (firings(data, close_up)) figcaption { "Jet firings: " (close_up.window.title) ". The shortest pulses are drawn wider than they are." } }
        }
        (torques::budget(data))
    }
}

fn grams(kg: f64) -> String {
    format!("{} g", significant(kg * 1e3, 3))
}

fn gas_left(data: &ReportData) -> Markup {
    let (unit, x) = run_axis(data);
    let curve = |name: &str| zigzag(&data.digest.series.curve(name), 1.0 / unit.seconds, 1.0);
    let truth = curve("gas_kg");
    let mut series = vec![
        Series::named("assumed", palette::ORANGE, Mark::Dotted, 1.4, curve("assumed_gas_kg")),
        Series::named("truth", palette::BLUE, Mark::Line, 1.6, truth.clone()),
    ];
    let (gas, attitude) = (&data.summary.gas, &data.summary.attitude);
    if let Some(capture) = attitude.capture_s {
        let from = capture / unit.seconds;
        let start = truth.iter().find(|(t, _)| *t >= from).map_or(gas.loaded_kg, |p| p.1);
        let points = vec![(from, start), (from + attitude.hold_s / unit.seconds, start - gas.momentum_minimum_kg)];
        series.push(Series::named("minimum", palette::BLACK, Mark::Dashed, 1.2, points));
    }
    let y = range(series.iter().flat_map(|s| s.points.iter().copied()), f64::NEG_INFINITY);
    Chart {
        alt: "Gas left over the run".into(),
        x_label: time_label(unit),
        y_label: "gas left, kg".into(),
        width: 720.0,
        height: 230.0,
        x,
        y,
        x_step: x_step(unit, x),
        series,
        ..Chart::default()
    }
    .draw()
}

fn jet_table(data: &ReportData) -> Markup {
    let on = data.digest.last.as_ref().map_or([f64::NAN; 16], |row| row.jet_on_s);
    let used = |k: &usize| data.digest.firings[*k] > 0 || *k < data.context.jets.len();
    let most = on.iter().copied().fold(0.0, f64::max);
    html! {
        table class="numbers keep" {
            thead { tr { th scope="col" class="word" { "jet" } th scope="col" { "firings" } th scope="col" { "time open, s" } th scope="col" { "mean pulse, ms" } th scope="col" class="wide" { "" } } }
            tbody { @for k in (0..16).filter(used) {
                tr { td class="word" { (jet_name(data, k)) } td { (count(data.digest.firings[k])) } td { (fixed(on[k], 2)) }
                    td { @if data.digest.firings[k] > 0 { (fixed(on[k] * 1e3 / data.digest.firings[k] as f64, 1)) } @else { "—" } }
                    td class="wide" { (bar(on[k], most)) } }
            } }
        }
    }
}

/// A bar for a table's cell.
pub fn bar(value: f64, most: f64) -> Markup {
    let share = if most > 0.0 && value.is_finite() { (value / most).clamp(0.0, 1.0) } else { 0.0 };
    html! { svg class="bar" viewBox="0 0 100 8" preserveAspectRatio="none" aria-hidden="true" {
    rect x="0" y="1" width=(format!("{:.1}", share * 100.0)) height="6" fill="#0072b2" {} } }
}

/// Film: the ledger, the rate required and reached.
pub fn film(data: &ReportData) -> Markup {
    let film = &data.summary.film;
    let m = |key: &str, value: f64| quoted(&format!("film.{key}"), value, &format!("{} m", fixed(value, 2)));
    html! {
        p { "Metered " (m("metered_m", film.metered_m)) " of " (m("loaded_m", film.loaded_m)) " in "
            (quoted("film.starts", film.starts as f64, &count(film.starts))) " starts: exposed " (m("exposed_m", film.exposed_m))
            ", wasted " (m("wasted_m", film.wasted_m)) ", left " (m("remaining_m", film.remaining_m)) "." }
        figure { (required_speed(data)) (rate_errors(data)) figcaption { "Film speed that the image requires over the whole run, with the speed reached in each frame; "
            "below, film speed less image speed for each frame. Broken lines: tolerance." } }
        @for close_up in data.digest.close_ups.iter().filter(|c| has_film(data, c)) { (run_up(data, close_up)) }
    }
}

fn required_speed(data: &ReportData) -> Markup {
    let (unit, x) = run_axis(data);
    let required = zigzag(&data.digest.series.curve("image_speed_m_s"), 1.0 / unit.seconds, 1e3);
    let reached: Vec<(f64, f64)> = data.frames.iter().map(|f| (f.start_s / unit.seconds, f.film_speed_mm_s)).collect();
    let y = range(required.iter().chain(&reached).copied(), f64::NEG_INFINITY);
    let series = vec![
        Series::named("required", palette::GREY, Mark::Line, 0.9, required),
        Series::named("reached", palette::BLUE, Mark::Diamonds, 2.2, reached),
    ];
    Chart {
        alt: "Film speed required and reached".into(),
        y_label: "film speed, mm/s".into(),
        width: 720.0,
        height: 190.0,
        x,
        y,
        x_step: x_step(unit, x),
        series,
        ..Chart::default()
    }
    .draw()
}

fn rate_errors(data: &ReportData) -> Markup {
    let (unit, x) = run_axis(data);
    let points = |met: bool| -> Vec<(f64, f64)> {
        let frames = data.frames.iter().filter(|f| f.met == met);
        frames.map(|f| (f.start_s / unit.seconds, f.rate_error() * 100.0)).collect()
    };
    let tolerance = data.context.film_rate_tolerance.map(|t| t * 100.0);
    let both = points(true).into_iter().chain(points(false));
    let (mut low, mut high) = range(both, f64::NEG_INFINITY);
    if let Some(t) = tolerance {
        (low, high) = (low.min(-1.2 * t), high.max(1.2 * t));
    }
    let series = vec![
        Series::named("met", palette::BLUE, Mark::Dots, 1.8, points(true)),
        Series::named("not met", palette::VERMILLION, Mark::Crosses, 3.2, points(false)),
    ];
    let levels = tolerance.map_or_else(Vec::new, |t| vec![(t, String::new()), (-t, String::new())]);
    Chart {
        alt: "Film rate error of each frame".into(),
        x_label: time_label(unit),
        y_label: "rate error, %".into(),
        width: 720.0,
        height: 190.0,
        x,
        y: (low, high),
        x_step: x_step(unit, x),
        series,
        levels,
        ..Chart::default()
    }
    .draw()
}

fn has_film(data: &ReportData, close_up: &CloseUp) -> bool {
    let on = data.digest.camera.iter().filter(|s| s.code > 0);
    on.into_iter().any(|s| s.end_s > close_up.window.start_s && s.start_s < close_up.window.end_s)
}

fn run_up(data: &ReportData, close_up: &CloseUp) -> Markup {
    let window = &close_up.window;
    let unit = Unit::of(window.end_s - window.start_s);
    let x = (window.start_s / unit.seconds, window.end_s / unit.seconds);
    let bands: Vec<(f64, f64)> = camera_bands(data, unit).into_iter().filter(|(s, e)| *e > x.0 && *s < x.1).collect();
    let curve = |name: &str, scale: f64| zigzag(&close_up.series.curve(name), 1.0 / unit.seconds, scale);
    let panel = |series: Vec<Series>, y_label: &str, last: bool| {
        let y = range(series.iter().flat_map(|s| s.points.iter().copied()), f64::NEG_INFINITY);
        let x_label = if last { time_label(unit) } else { String::new() };
        Chart {
            alt: format!("{y_label}: {}", window.title),
            x_label,
            y_label: y_label.into(),
            width: 720.0,
            height: if last { 150.0 } else { 132.0 },
            x,
            y,
            series,
            shaded: bands.clone(),
            ..Chart::default()
        }
        .draw()
    };
    html! { figure {
        (panel(vec![
            Series::named("required", palette::BLACK, Mark::Dashed, 1.1, curve("image_speed_m_s", 1e3)),
            Series::named("film", palette::BLUE, Mark::Line, 1.2, curve("film_speed_m_s", 1e3)),
        ], "speed, mm/s", false))
        (panel(vec![
            Series::named("supply", palette::GREEN, Mark::Line, 1.1, curve("supply_tension_n", 1.0)),
            Series::named("take-up", palette::VERMILLION, Mark::Dashed, 1.1, curve("take_up_tension_n", 1.0)),
        ], "tension, N", false))
        (panel(vec![Series::named("reels", palette::PURPLE, Mark::Line, 1.2, curve("reel_momentum_n_m_s", 1e3))], "momentum, mN m s", true))
        figcaption { (window.title) " from " (clock(window.start_s)) ": film speed, tension on both sides, and the momentum of reels and rollers." }
    } }
}

/// Power: the ledger and its curve.
pub fn power(data: &ReportData) -> Markup {
    let power = &data.summary.power;
    let (unit, x) = run_axis(data);
    let points = zigzag(&data.digest.series.curve("power_w"), 1.0 / unit.seconds, 1.0);
    let (_, high) = range(points.iter().copied(), f64::NEG_INFINITY);
    let series = vec![Series { name: None, colour: palette::BLUE, mark: Mark::Line, size: 0.8, points }];
    html! {
        p { "Drawn " (quoted("power.used_wh", power.used_wh, &format!("{} Wh", significant(power.used_wh, 4)))) " of "
            (quoted("power.loaded_wh", power.loaded_wh, &format!("{} Wh", significant(power.loaded_wh, 4)))) ": "
            (quoted("power.mean_w", power.mean_w, &format!("{} W", significant(power.mean_w, 3)))) " on average, "
            (quoted("power.peak_w", power.peak_w, &format!("{} W", significant(power.peak_w, 3)))) " at most." }
        figure {
            (Chart { alt: "Power over the run".into(), x_label: time_label(unit), y_label: "power, W".into(), width: 720.0, height: 160.0, x, y: (0.0, high), x_step: x_step(unit, x), series, ..Chart::default() }.draw())
            figcaption { "Electrical power drawn." }
        }
    }
}

/// Unit and ends of the whole run's time axis.
pub fn run_axis(data: &ReportData) -> (Unit, (f64, f64)) {
    let (start, end) = data.digest.span_s.unwrap_or((0.0, 1.0));
    let unit = Unit::of(end - start);
    (unit, (start / unit.seconds, end / unit.seconds))
}

/// Distance of a time axis' ticks, in its unit.
pub fn x_step(unit: Unit, x: (f64, f64)) -> f64 {
    unit.step((x.1 - x.0) * unit.seconds) / unit.seconds
}

/// Label of a time axis.
pub fn time_label(unit: Unit) -> String {
    format!("time since start, {}", unit.name)
}
