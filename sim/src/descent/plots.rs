//! The study's charts.

use maud::{Markup, html};

use super::fall::{Fall, Moment, What};
use super::study::Study;
use crate::report::chart::{Chart, Mark, Series, palette, range};

const WIDTH: f64 = 720.0;
/// Most points of a curve.
const MOST: usize = 900;

/// Moments of the entry: from 130 km to the drogue, or to the end.
fn entry(fall: &Fall) -> Vec<&Moment> {
    let from = fall.rows.iter().position(|m| m.height_m < 130e3).unwrap_or(0);
    let until = fall.at(What::Drogue).map_or(f64::INFINITY, |m| m.at.t_s + 30.0);
    let rows: Vec<&Moment> = fall.rows[from..].iter().filter(|m| m.at.t_s <= until).collect();
    let every = rows.len().div_ceil(MOST).max(1);
    rows.into_iter().step_by(every).collect()
}

/// Height against speed, and the loads of entry against time.
pub fn trajectory(made: &Study) -> Markup {
    let fall = made.descents.shown();
    let rows = entry(fall);
    let ignition_s = made.descents.at.time_s;
    let speeds: Vec<(f64, f64)> = rows.iter().map(|m| (m.speed_m_s * 1e-3, m.height_m * 1e-3)).collect();
    let marks: Vec<(f64, f64)> = fall
        .events
        .iter()
        .filter(|(what, m)| m.height_m < 130e3 && !matches!(what, What::Main | What::Touchdown))
        .map(|(_, m)| (m.speed_m_s * 1e-3, m.height_m * 1e-3))
        .collect();
    let height = Chart {
        alt: "Height against speed through entry".into(),
        x_label: "speed against the air, km/s".into(),
        y_label: "height, km".into(),
        width: WIDTH,
        height: 300.0,
        x: (0.0, 8.0),
        y: (0.0, 130.0),
        series: vec![
            Series::named("descent", palette::BLUE, Mark::Line, 1.8, speeds),
            Series::named("interface, g-switch, drogue", palette::VERMILLION, Mark::Diamonds, 4.0, marks),
        ],
        ..Chart::default()
    };
    let minutes = |m: &Moment| (m.at.t_s - ignition_s) / 60.0;
    let x = (rows.first().map_or(0.0, |m| minutes(m)), rows.last().map_or(1.0, |m| minutes(m)));
    let panel = |alt: &str, label: &str, last: bool, of: &dyn Fn(&Moment) -> f64| {
        let points: Vec<(f64, f64)> = rows.iter().map(|m| (minutes(m), of(m))).collect();
        Chart {
            alt: alt.into(),
            x_label: if last { "time from ignition, min".into() } else { String::new() },
            y_label: label.into(),
            width: WIDTH,
            height: if last { 150.0 } else { 130.0 },
            x,
            y: (0.0, range(points.iter().copied(), f64::NEG_INFINITY).1),
            series: vec![Series { name: None, colour: palette::BLUE, mark: Mark::Line, size: 1.6, points }],
            ..Chart::default()
        }
    };
    html! {
        figure {
            (height.draw())
            figcaption { "Height against speed through entry. The capsule keeps its speed down to 70 km and has lost it at 30." }
        }
        figure {
            (panel("Deceleration", "deceleration, g", false, &|m| m.g).draw())
            (panel("Heat flux", "heat flux, MW/m²", false, &|m| m.flux_w_m2 * 1e-6).draw())
            (panel("Dynamic pressure", "pressure, kPa", false, &|m| m.pressure_pa * 1e-3).draw())
            (panel("Heat taken up", "heat, MJ/m²", true, &|m| m.at.heat_j_m2() * 1e-6).draw())
            figcaption { "Loads of entry: deceleration, heat flux at the nose (Sutton–Graves), dynamic pressure, heat taken up at the nose." }
        }
    }
}

/// Along against across for every descent.
pub fn scatter(made: &Study) -> Markup {
    let d = &made.descents;
    let points: Vec<(f64, f64)> = d
        .landings
        .iter()
        .filter(|l| l.down)
        .take(3_000)
        .map(|l| (l.offset_m[0] * 1e-3, l.offset_m[1] * 1e-3))
        .collect();
    let mut outline: Vec<(f64, f64)> =
        d.ellipse.iter().flat_map(|e| e.outline(120)).map(|o| (o[0] * 1e-3, o[1] * 1e-3)).collect();
    outline.extend(outline.first().copied());
    let all = || points.iter().chain(&outline);
    let swapped: Vec<(f64, f64)> = all().map(|p| (p.1, p.0)).collect();
    let chart = Chart {
        alt: "Landing places along and across the track".into(),
        x_label: "along the track, km (long to the right)".into(),
        y_label: "across, km (right of it up)".into(),
        width: WIDTH,
        height: 320.0,
        x: range(swapped.iter().copied(), f64::NEG_INFINITY),
        y: range(all().copied(), f64::NEG_INFINITY),
        series: vec![
            Series::named("one descent", palette::BLUE, Mark::Dots, 1.5, points.clone()),
            Series::named("ellipse", palette::BLACK, Mark::Line, 1.6, outline),
        ],
        ..Chart::default()
    };
    let f = &made.summary.footprint;
    html! {
        figure { (chart.draw())
            figcaption { "Landing places against the nominal one: along and across the track, not to one scale. The ellipse is that of the "
                (f.confidence * 100.0) " % of a normal law with their covariance." } }
    }
}

/// What makes the footprint, as bars.
pub fn contributors(made: &Study) -> Markup {
    let columns: Vec<_> = made.summary.sensitivity.iter().filter(|c| c.along_km.hypot(c.across_km) > 1e-3).collect();
    let most = columns.iter().map(|c| c.along_km.abs().max(c.across_km.abs())).fold(0.1, f64::max);
    let height = 24.0 * columns.len() as f64 + 26.0;
    let scale = 400.0 / most;
    html! {
        figure {
            svg viewBox=(format!("0 0 720 {height}")) role="img" aria-label="What one sigma of each thing shifts" font-family="Helvetica, Arial, sans-serif" font-size="11" {
                @for (k, c) in columns.iter().enumerate() {
                    @let y = 24.0 * k as f64 + 6.0;
                    text x="206" y=(y + 12.0) text-anchor="end" fill="#16191b" { (c.what) }
                    rect x="214" y=(y) width=(format!("{:.1}", c.along_km.abs() * scale)) height="8" fill="#0072b2" {}
                    rect x="214" y=(y + 9.0) width=(format!("{:.1}", c.across_km.abs() * scale)) height="7" fill="#e69f00" {}
                    text x=(format!("{:.1}", 220.0 + c.along_km.abs().max(c.across_km.abs()) * scale)) y=(y + 12.0) fill="#333" {
                        (format!("{:.2} | {:.2} km", c.along_km.abs(), c.across_km.abs())) }
                }
            }
            ul class="legend" {
                li { svg viewBox="0 0 26 12" aria-hidden="true" { rect x="0" y="2" width="26" height="8" fill="#0072b2" {} } "along the track" }
                li { svg viewBox="0 0 26 12" aria-hidden="true" { rect x="0" y="2" width="26" height="8" fill="#e69f00" {} } "across it" }
            }
            figcaption { "What one sigma of each thing shifts the landing place by, largest share of the along-track variance first." }
        }
    }
}

/// Range against the retro angle.
pub fn angle(made: &Study) -> Markup {
    let points: Vec<(f64, f64)> = made.scan.points.iter().map(|p| (p.0.to_degrees(), p.1 * 1e-3)).collect();
    let here = made.descents.at.angle_rad().to_degrees();
    let y = range(points.iter().copied(), f64::NEG_INFINITY);
    let mut series = vec![
        Series::named("range", palette::BLUE, Mark::Line, 1.8, points.clone()),
        Series::named("angle used", palette::VERMILLION, Mark::Dashed, 1.2, vec![(here, y.0), (here, y.1)]),
    ];
    if let Some(best) = made.scan.stationary_rad.map(f64::to_degrees) {
        series.push(Series::named(
            "least sensitive",
            palette::GREEN,
            Mark::Dotted,
            1.6,
            vec![(best, y.0), (best, y.1)],
        ));
    }
    let chart = Chart {
        alt: "Range against retro angle".into(),
        x_label: "angle of thrust from the velocity, °".into(),
        y_label: "range less the nominal, km".into(),
        width: WIDTH,
        height: 260.0,
        x: (95.0, 180.0),
        y,
        series,
        ..Chart::default()
    };
    html! {
        figure { (chart.draw())
            figcaption { "Range along the track against the angle of thrust, ignition unchanged. At the bottom of the curve an error of pitch moves the "
                "landing place only by its square; fired straight back, by kilometres for each tenth of a degree." } }
    }
}
