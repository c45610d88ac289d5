//! Torques from outside: the budget, and their course.

use maud::{Markup, html};

use super::chart::{Chart, Mark, Series, palette, range, zigzag};
use super::data::ReportData;
use super::stores::{run_axis, time_label, x_step};
use super::text::{fixed, significant};
use crate::record::summary::{AirSpread, TorqueLine};

/// Source in the summary's order, beginning of its columns, colour, dash.
const SOURCES: [(&str, &str, &str, Mark); 5] = [
    ("air", "air", palette::BLUE, Mark::Line),
    ("gravity gradient", "gravity", palette::VERMILLION, Mark::Dashed),
    ("magnetic field", "magnetic", palette::GREEN, Mark::Dotted),
    ("sunlight", "sunlight", palette::ORANGE, Mark::Dashed),
    ("past the seats", "leak", palette::BLACK, Mark::Dotted),
];

/// The table of all sources and a figure of those that act.
pub fn budget(data: &ReportData) -> Markup {
    let budget = &data.summary.torques;
    html! {
        @if budget.hold_s > 0.0 {
            table class="numbers keep" {
                caption { "Torques from outside in fine hold (" (fixed(budget.hold_s / 3600.0, 1)) " h), about x, y, z. Momentum is "
                    "∫|torque| dt over an orbit: what the jets would undo if nothing cancelled." }
                thead { tr { th scope="col" class="word" { "source" } th scope="col" { "mean, mN m" } th scope="col" { "largest, mN m" }
                    th scope="col" { "momentum an orbit, N m s" } } }
                tbody { @for line in &budget.sources { (row(line)) } }
            }
            (air(&budget.air))
        }
        figure { @for axis in ["x", "y", "z"] { (course(data, axis)) } figcaption { "Disturbance torque about the body axes, by source; one that never "
            "acts is left out." } }
    }
}

/// How far the air's line may be off.
fn air(air: &AirSpread) -> Markup {
    if air.density_kg_m3 <= 0.0 {
        return html! {};
    }
    let times = |ratio: f64, share: f64| significant(ratio * (1.0 + share), 2);
    let band = |ratio: f64| format!("{} to {}", times(ratio, -air.model_sigma), times(ratio, air.model_sigma));
    html! {
        p { "The air: " (significant(air.density_kg_m3 * 1e9, 3)) " µg/m³ on the mean, at " (fixed(air.height_m * 1e-3, 0))
            " km under a Sun of " (fixed(air.solar_flux_sfu, 0)) " sfu. Its torque goes with density, and no model knows density better "
            "than ± " (fixed(100.0 * air.model_sigma, 0)) " % (1σ): times " (band(1.0)) ". Under a quiet Sun (65 sfu) the lines of the air "
            "would be times " (band(air.quiet_sun_ratio)) ", under a very active one (250 sfu) times " (band(air.active_sun_ratio)) "." }
    }
}

fn row(line: &TorqueLine) -> Markup {
    let three = |values: &[f64; 3], scale: f64| values.map(|v| significant(v * scale, 3)).join(" / ");
    html! { tr { td class="word" { (line.source) } td { (three(&line.mean_n_m, 1e3)) } td { (three(&line.peak_n_m, 1e3)) }
    td { (three(&line.momentum_per_orbit_n_m_s, 1.0)) } } }
}

fn course(data: &ReportData, axis: &str) -> Markup {
    let (unit, x) = run_axis(data);
    let series: Vec<Series> = SOURCES
        .iter()
        .filter_map(|(name, column, colour, mark)| {
            let curve = data.digest.series.curve(&format!("{column}_torque_{axis}_n_m"));
            let acts = curve.iter().any(|bucket| bucket.low != 0.0 || bucket.high != 0.0);
            acts.then(|| Series::named(name, colour, *mark, 1.2, zigzag(&curve, 1.0 / unit.seconds, 1e3)))
        })
        .collect();
    let y = range(series.iter().flat_map(|s| s.points.iter().copied()), f64::NEG_INFINITY);
    Chart {
        alt: format!("Disturbance torque about {axis}"),
        x_label: time_label(unit),
        y_label: format!("about {axis}, mN m"),
        width: 720.0,
        height: 150.0,
        x,
        y,
        x_step: x_step(unit, x),
        series,
        ..Chart::default()
    }
    .draw()
}
