//! Curves of the plan: how uncertainty grows, and what is left.

use super::document::{Document, GrowthPoint};
use crate::report::chart::{Chart, Mark, Series, palette};
use maud::{Markup, html};

fn growth(d: &Document, of: impl Fn(&GrowthPoint) -> f64) -> Vec<(f64, f64)> {
    d.uncertainty.growth.iter().map(|point| (point.time_h, of(point))).collect()
}

fn most(points: &[(f64, f64)]) -> f64 {
    points.iter().map(|point| point.1).fold(1e-3, f64::max) * 1.08
}

/// Along-track uncertainty by cause, and the padding that follows.
pub fn uncertainty(d: &Document) -> Markup {
    let all = growth(d, |p| p.along_track_m * 1e-3);
    let padding = growth(d, |p| p.padding_s);
    let flown: Vec<(f64, f64)> =
        d.bursts.iter().map(|b| (b.on_s / 3600.0, 0.5 * (b.padding_before_s + b.padding_after_s))).collect();
    let series = |name: &str, colour, mark, points| Series::named(name, colour, mark, 1.6, points);
    let base = Chart { width: 760.0, height: 200.0, x: (0.0, d.duration_h), ..Chart::default() };
    let along = Chart {
        alt: "Along-track uncertainty over the run, one sigma".into(),
        y_label: "1σ along track, km".into(),
        y: (0.0, most(&all)),
        series: vec![
            series("all", palette::BLACK, Mark::Line, all),
            series("air density", palette::VERMILLION, Mark::Dashed, growth(d, |p| p.density_m * 1e-3)),
            series("semi-major axis", palette::BLUE, Mark::Dotted, growth(d, |p| p.period_m * 1e-3)),
            series("place at the start", palette::GREEN, Mark::Dashed, growth(d, |p| p.place_m * 1e-3)),
        ],
        ..base.clone()
    };
    let pads = Chart {
        alt: "Padding of camera-on and camera-off over the run".into(),
        x_label: "time since start, h".into(),
        y_label: "padding, s".into(),
        y: (0.0, most(&padding)),
        series: vec![
            series("padding at the sigmas asked for", palette::BLACK, Mark::Line, padding),
            Series::named("camera-ons of the plan", palette::BLUE, Mark::Dots, 3.0, flown),
        ],
        ..base
    };
    html! { (along.draw()) (pads.draw()) }
}
