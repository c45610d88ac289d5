//! How well the ground knew where the vehicle was.

use super::{
    chart::{Chart, Mark, Series, palette, range, zigzag},
    data::ReportData,
    stores::{run_axis, time_label, x_step},
    text::{fixed, quoted},
};
use maud::{Markup, html};

/// Sigmas that the picture shows.
const SIGMAS: f64 = 3.0;

/// Words and picture.
pub fn section(data: &ReportData) -> Markup {
    let place = &data.summary.contacts.place;
    let km = |key: &str, value_m: f64| {
        quoted(&format!("contacts.place.{key}"), value_m, &format!("{} km", fixed(value_m.abs() * 1e-3, 1)))
    };
    let side = if place.ahead_m < 0.0 { "behind" } else { "ahead of" };
    html! {
        p { "At the end the vehicle was " (km("ahead_m", place.ahead_m)) " " (side) " the place predicted before the run, by which the stored "
            "programme works; the ground reckoned with " (km("since_start_m", place.since_start_m)) " (one sigma), and the distance never was more than "
            (quoted("contacts.place.worst_sigmas", place.worst_sigmas, &fixed(place.worst_sigmas, 1))) " sigma. Predicted anew at each contact, its place was known to "
            (km("since_tracked_worst_m", place.since_tracked_worst_m)) " at worst, after the longest silence." }
        figure {
            (chart(data))
            figcaption { "How far the vehicle was ahead of its predicted place, and what three sigma of that come to: with nothing heard since the "
                "start, as the stored programme has it, and with the orbit predicted anew at each contact." }
        }
    }
}

fn chart(data: &ReportData) -> Markup {
    let (unit, x) = run_axis(data);
    let curve = |name: &str, scale: f64| zigzag(&data.digest.series.curve(name), 1.0 / unit.seconds, scale * 1e-3);
    let line = |name: &str, sign: f64| curve(name, sign * SIGMAS);
    let below = |colour, mark, name: &str| Series { name: None, colour, mark, size: 1.1, points: line(name, -1.0) };
    let series = vec![
        Series::named("stored programme", palette::ORANGE, Mark::Dashed, 1.1, line("place_since_start_m", 1.0)),
        below(palette::ORANGE, Mark::Dashed, "place_since_start_m"),
        Series::named("anew at each contact", palette::GREEN, Mark::Line, 1.1, line("place_since_tracked_m", 1.0)),
        below(palette::GREEN, Mark::Line, "place_since_tracked_m"),
        Series::named("truth", palette::BLUE, Mark::Line, 1.6, curve("ahead_m", 1.0)),
    ];
    let y = range(series.iter().flat_map(|s| s.points.iter().copied()), f64::NEG_INFINITY);
    Chart {
        alt: "Distance ahead of the predicted place over the run, with what the ground reckons with".into(),
        x_label: time_label(unit),
        y_label: "along the track, km".into(),
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
