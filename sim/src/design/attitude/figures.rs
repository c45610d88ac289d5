//! Pictures of a study: phase planes, loci, the front, the capture map.

use super::{
    capture::Capture,
    describing::{Relay, angle, size},
    keys::{AXES, get},
    loop_margins::{Linear, log_points},
    measure::Measured,
    study::Study,
    sweep::Point,
};
use crate::report::chart::{AXIS_COLOURS, Chart, Mark, Series, palette, range};
use maud::{Markup, html};
use stillframe_controller::settings::Settings;

/// Points up to so many times the least are drawn.
pub const DRAWN: f64 = 2.5;
const SMALL: (f64, f64) = (240.0, 215.0);

/// Phase planes of a flight in hold, with the switching lines of its settings.
pub fn phase_planes(flown: &Measured, settings: &Settings) -> Markup {
    html! { div class="three" { @for axis in 0..3 { (phase_plane(flown, settings, axis)) } } }
}

fn phase_plane(flown: &Measured, settings: &Settings, axis: usize) -> Markup {
    let of = |key: &str| get(settings, &format!("{}.{key}", AXES[axis])).unwrap_or(f64::NAN);
    let (band, lead_s) = (of("deadband_deg"), of("lead_s"));
    let points: Vec<(f64, f64)> =
        flown.phase.iter().map(|point| (f64::from(point[axis][0]), f64::from(point[axis][1]) * 1e3)).collect();
    // About 600 dots tell the same as 1,500.
    let every = points.len().div_ceil(600).max(1);
    let points: Vec<(f64, f64)> = points.into_iter().step_by(every).collect();
    let x = range(points.iter().map(|point| (0.0, point.0)).chain([(0.0, -band), (0.0, band)]), 0.0);
    let y = range(points.iter().map(|point| (0.0, point.1)), 0.0);
    // θ + τω = ±D from the bottom of the picture to its top.
    let line = |side: f64| {
        let at = |rate: f64| (side * band - lead_s * rate * 1e-3, rate);
        Series { name: None, colour: palette::BLACK, mark: Mark::Dashed, size: 0.8, points: vec![at(y.0), at(y.1)] }
    };
    Chart {
        alt: format!("Phase plane of {}", AXES[axis]),
        x_label: format!("{} error, °", AXES[axis]),
        y_label: "rate, 10⁻³ °/s".into(),
        width: SMALL.0,
        height: SMALL.1,
        x,
        y,
        series: vec![
            Series { name: None, colour: AXIS_COLOURS[axis], mark: Mark::Dots, size: 1.0, points },
            line(-1.0),
            line(1.0),
        ],
        ..Chart::default()
    }
    .draw()
}

/// Both loci of each axis: the linear part, and the relay's −1/N from its threshold out to fifty times it.
pub fn loci(study: &Study) -> Markup {
    html! { div class="three" { @for axis in 0..3 { (locus(&study.loops[axis].0, &study.loops[axis].1, axis)) } } }
}

fn locus(linear: &Linear, relay: &Relay, axis: usize) -> Markup {
    const DB: f64 = 20.0;
    let wrapped = |degrees: f64| if degrees > 0.0 { degrees - 360.0 } else { degrees };
    let linear_points: Vec<(f64, f64)> = log_points(1e-3, linear.fastest_rad_s(), 300)
        .map(|omega| linear.response(omega))
        .map(|value| (wrapped(angle(value).to_degrees()), DB * size(value).log10()))
        .collect();
    let relay_points: Vec<(f64, f64)> = log_points(relay.on * 1.000_1, relay.on * 50.0, 200)
        .map(|amplitude| relay.gain(amplitude))
        .map(|gain| (wrapped(180.0 - angle(gain).to_degrees()), -DB * size(gain).log10()))
        .collect();
    let relay_points = relay_points.into_iter().map(|(phase, db)| (phase.min(0.0), db)).collect::<Vec<_>>();
    let lowest = relay_points.iter().map(|point| point.1).fold(f64::INFINITY, f64::min);
    Chart {
        alt: format!("Nichols picture of {}: linear part and relay", AXES[axis]),
        x_label: format!("{}: phase, °", AXES[axis]),
        y_label: "size, dB".into(),
        width: SMALL.0,
        height: SMALL.1,
        x: (-270.0, -90.0),
        y: (lowest - 60.0, lowest + 60.0),
        series: vec![
            Series { name: None, colour: AXIS_COLOURS[axis], mark: Mark::Line, size: 1.4, points: linear_points },
            Series { name: None, colour: palette::BLACK, mark: Mark::Dashed, size: 1.2, points: relay_points },
        ],
        x_step: 45.0,
        ..Chart::default()
    }
    .draw()
}

/// Gas against rate of every point that kept hold; the front; the point taken.
pub fn front(points: &[Point], front: &[u64], taken: u64) -> Markup {
    let at = |point: &Point| (point.gas_kg_day * 1e3, point.rate_share);
    let all_held = || points.iter().filter(|point| point.held);
    // A few wild points would press the rest into a corner.
    let most = |of: fn(&Point) -> f64| DRAWN * all_held().map(of).fold(f64::INFINITY, f64::min);
    let (most_gas, most_rate) = (most(|point| point.gas_kg_day), most(|point| point.rate_share).max(1.2));
    let inside = |point: &&Point| point.gas_kg_day <= most_gas && point.rate_share <= most_rate;
    let held: Vec<&Point> = all_held().filter(|point| point.number == taken || inside(point)).collect();
    let on_front = front.iter().filter_map(|number| held.iter().find(|point| point.number == *number));
    let pick = |quiet: bool| {
        held.iter().filter(|point| (point.quiet_share >= 0.95) == quiet).map(|point| at(point)).collect::<Vec<_>>()
    };
    let chosen = held.iter().filter(|point| point.number == taken).map(|point| at(point)).collect();
    let all = || held.iter().map(|point| at(point));
    Chart {
        alt: "Gas against rate in exposures, with the front and the point taken".into(),
        x_label: "gas, g/day".into(),
        y_label: "rate in exposures over its limit".into(),
        width: 720.0,
        height: 320.0,
        x: range(all().map(|point| (0.0, point.0)), 0.0),
        y: range(all().map(|point| (0.0, point.1)).chain([(0.0, 1.0)]), 0.0),
        series: vec![
            Series::named("19 of 20 bursts quiet", palette::BLUE, Mark::Dots, 2.6, pick(true)),
            Series::named("fewer", palette::GREY, Mark::Crosses, 2.6, pick(false)),
            Series::named(
                "nothing beats these",
                palette::BLACK,
                Mark::Line,
                1.2,
                on_front.map(|point| at(point)).collect(),
            ),
            Series::named("taken", palette::VERMILLION, Mark::Diamonds, 5.0, chosen),
        ],
        levels: vec![(1.0, "limit".into())],
        ..Chart::default()
    }
    .draw()
}

/// What became of tip-offs over roll and pitch rate.
pub fn capture_map(captures: &[Capture]) -> Markup {
    let pick = |good: &dyn Fn(&Capture) -> bool| {
        captures.iter().filter(|c| good(c)).map(|c| (c.rate_deg_s[0], c.rate_deg_s[1])).collect::<Vec<_>>()
    };
    let span = captures.iter().map(|c| c.rate_deg_s[0].abs()).fold(1.0, f64::max) * 1.12;
    Chart {
        alt: "Capture map over roll and pitch rate at tip-off".into(),
        x_label: "roll rate at tip-off, °/s".into(),
        y_label: "pitch rate at tip-off, °/s".into(),
        width: 720.0,
        height: 420.0,
        x: (-span, span),
        y: (-span, span),
        series: vec![
            Series::named("captured", palette::BLUE, Mark::Dots, 4.0, pick(&|c| c.captured() && c.within_gas())),
            Series::named(
                "captured, but for more gas",
                palette::ORANGE,
                Mark::Diamonds,
                4.5,
                pick(&|c| c.captured() && !c.within_gas()),
            ),
            Series::named("not captured", palette::VERMILLION, Mark::Crosses, 4.5, pick(&|c| !c.captured())),
        ],
        ..Chart::default()
    }
    .draw()
}
