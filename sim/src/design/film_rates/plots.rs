//! The study's charts.

use maud::{Markup, html};

use super::{Sample, Study};
use crate::report::chart::{Chart, Mark, Series, palette, range};

/// Most marks in one series: more only make the page heavy.
const MOST_MARKS: usize = 1_200;
const HOUR: f64 = 1.0 / 3600.0;
const DAY: f64 = 1.0 / 86_400.0;
const WIDTH: f64 = 720.0;

/// Required, commanded and reached, with the error under them: one revolution, the whole mission, by latitude.
pub fn rates(made: &Study) -> Markup {
    html! {
        @if made.points.is_empty() { (by_sample(made)) } @else { (one_revolution(made)) (mission(made)) }
        (against(made, "latitude, °", "Film rate error against latitude", |s| s.latitude_deg,
            "Rate error against latitude, every sample a dot. The Earth's figure makes the required speed change fastest in the middle latitudes; broken lines: budget."))
        (against(made, "height above the ellipsoid, km", "Film rate error against height", |s| s.height_m * 1e-3,
            "Rate error against height. A step of the drive is a larger share of a slower film, which is where the vehicle is high."))
    }
}

/// Every so manyth, at most so many.
fn thinned<T>(all: &[T]) -> impl Iterator<Item = &T> {
    all.iter().step_by(all.len().div_ceil(MOST_MARKS).max(1))
}

fn budget(made: &Study) -> Vec<(f64, String)> {
    let limit = made.summary.criteria.first().map_or(1.0, |c| c.limit);
    vec![(-limit, String::new()), (limit, String::new())]
}

/// Ends of an error axis: the budget at least.
fn error_ends(errors: impl Iterator<Item = f64>) -> (f64, f64) {
    let (low, high) = range(errors.map(|e| (0.0, e)), f64::NEG_INFINITY);
    (low.min(-1.1), high.max(1.1))
}

/// The revolution in which the error is worst.
fn one_revolution(made: &Study) -> Markup {
    let worst_s =
        made.samples.iter().max_by(|a, b| a.error().abs().total_cmp(&b.error().abs())).map_or(0.0, |s| s.time_s);
    let (from_s, to_s) = ((worst_s - 2700.0).max(0.0), (worst_s - 2700.0).max(0.0) + 5400.0);
    let points: Vec<_> = made.points.iter().filter(|p| (from_s..to_s).contains(&p.time_s)).collect();
    let samples: Vec<Sample> = made.samples.iter().filter(|s| (from_s..to_s).contains(&s.time_s)).copied().collect();
    let required: Vec<(f64, f64)> = points.iter().map(|p| (p.time_s * HOUR, p.required_m_s * 1e3)).collect();
    let mut commanded = Vec::new();
    for pair in points.windows(2) {
        let speed = pair[0].commanded_m_s * 1e3;
        commanded.extend([(pair[0].time_s * HOUR, speed), (pair[1].time_s * HOUR, speed)]);
    }
    let reached: Vec<(f64, f64)> = thinned(&samples).map(|s| (s.time_s * HOUR, s.achieved_m_s * 1e3)).collect();
    let x = (from_s * HOUR, to_s * HOUR);
    let speeds = Chart {
        alt: "Required, commanded and reached film speed over one revolution".into(),
        y_label: "film speed, mm/s".into(),
        width: WIDTH,
        height: 250.0,
        x,
        y: range(required.iter().chain(&reached).copied(), f64::NEG_INFINITY),
        series: vec![
            Series::named("reached", palette::ORANGE, Mark::Dots, 1.6, reached),
            Series::named("commanded", palette::VERMILLION, Mark::Line, 1.0, commanded),
            Series::named("required", palette::BLACK, Mark::Dashed, 1.2, required),
        ],
        ..Chart::default()
    };
    let off: Vec<(f64, f64)> = points.iter().map(|p| (p.time_s * HOUR, 100.0 * p.rate_error)).collect();
    let errors: Vec<(f64, f64)> = thinned(&samples).map(|s| (s.time_s * HOUR, 100.0 * s.error())).collect();
    let error = Chart {
        alt: "Rate error over one revolution".into(),
        x_label: "time, h".into(),
        y_label: "error, %".into(),
        width: WIDTH,
        height: 170.0,
        x,
        y: error_ends(off.iter().chain(&errors).map(|p| p.1)),
        series: vec![
            Series::named("reached", palette::ORANGE, Mark::Dots, 1.6, errors),
            Series::named("commanded", palette::VERMILLION, Mark::Line, 1.0, off),
        ],
        levels: budget(made),
        ..Chart::default()
    };
    html! {
        figure { (speeds.draw()) (error.draw())
            figcaption { "Film speed required, commanded and reached over the revolution in which the error is worst, and the error under it; broken lines: budget." } }
    }
}

/// Smallest and largest of a quantity in each revolution, as a band.
fn bands(values: impl Iterator<Item = (f64, f64)>) -> Vec<(f64, f64)> {
    const WIDTH_S: f64 = 5400.0;
    let mut all: Vec<(f64, f64, f64)> = Vec::new();
    for (time_s, value) in values.filter(|(_, value)| value.is_finite()) {
        let middle = ((time_s / WIDTH_S).floor() + 0.5) * WIDTH_S * DAY;
        match all.last_mut() {
            Some((x, low, high)) if *x == middle => (*low, *high) = (low.min(value), high.max(value)),
            _ => all.push((middle, value, value)),
        }
    }
    all.iter().flat_map(|&(x, low, high)| [(x, low), (x, high)]).collect()
}

fn mission(made: &Study) -> Markup {
    let required = bands(made.points.iter().map(|p| (p.time_s, p.required_m_s * 1e3)));
    let commanded = bands(made.points.iter().map(|p| (p.time_s, 100.0 * p.rate_error)));
    let reached = bands(made.samples.iter().map(|s| (s.time_s, 100.0 * s.error())));
    let x = (0.0, made.summary.days);
    let chart = |alt: &str, x_label: &str, y_label: &str, height, series: Vec<Series>, y, levels| Chart {
        alt: alt.into(),
        x_label: x_label.into(),
        y_label: y_label.into(),
        width: WIDTH,
        height,
        x,
        y,
        series,
        levels,
        ..Chart::default()
    };
    let y = range(required.iter().copied(), f64::NEG_INFINITY);
    let speeds = chart(
        "Required film speed over the mission",
        "",
        "required, mm/s",
        170.0,
        vec![Series { name: None, colour: palette::BLACK, mark: Mark::Band, size: 0.7, points: required }],
        y,
        Vec::new(),
    );
    let ends = error_ends(commanded.iter().chain(&reached).map(|p| p.1));
    let error = chart(
        "Rate error over the mission",
        "day of the mission",
        "error, %",
        190.0,
        vec![
            Series::named("reached", palette::ORANGE, Mark::Band, 0.7, reached),
            Series::named("commanded", palette::VERMILLION, Mark::Band, 0.7, commanded),
        ],
        ends,
        budget(made),
    );
    html! {
        figure { (speeds.draw()) (error.draw())
            figcaption { "The whole mission: smallest and largest required speed in each revolution, and of the error of command and film. The speed rises as the orbit decays; the error does not, because each load is made for its own stretch." } }
    }
}

/// A record: sample after sample, for its passes are minutes in a day.
fn by_sample(made: &Study) -> Markup {
    let step = made.samples.len().div_ceil(MOST_MARKS).max(1);
    let series = |of: &dyn Fn(&Sample) -> f64| -> Vec<(f64, f64)> {
        let mut points = Vec::new();
        for (k, pair) in made.samples.windows(2).enumerate().step_by(step) {
            points.push((k as f64, of(&pair[0])));
            // A pause between passes lifts the pen.
            if pair[1].time_s - pair[0].time_s > 10.0 {
                points.push((k as f64 + 0.5, f64::NAN));
            }
        }
        points
    };
    let x = (0.0, made.samples.len() as f64);
    let (required, reached) = (series(&|s| s.required_m_s * 1e3), series(&|s| s.achieved_m_s * 1e3));
    let speeds = Chart {
        alt: "Required, commanded and reached film speed, sample by sample".into(),
        y_label: "film speed, mm/s".into(),
        width: WIDTH,
        height: 250.0,
        x,
        y: range(required.iter().chain(&reached).copied(), f64::NEG_INFINITY),
        series: vec![
            Series::named("reached", palette::ORANGE, Mark::Dots, 1.6, reached),
            Series::named("commanded", palette::VERMILLION, Mark::Line, 1.0, series(&|s| s.commanded_m_s * 1e3)),
            Series::named("required", palette::BLACK, Mark::Dashed, 1.2, required),
        ],
        ..Chart::default()
    };
    let errors = series(&|s| 100.0 * s.error());
    let error = Chart {
        alt: "Rate error, sample by sample".into(),
        x_label: "sample, pass after pass".into(),
        y_label: "error, %".into(),
        width: WIDTH,
        height: 170.0,
        x,
        y: error_ends(errors.iter().map(|p| p.1)),
        series: vec![
            Series::named("reached", palette::ORANGE, Mark::Dots, 1.6, errors),
            Series::named(
                "at the roller",
                palette::BLUE,
                Mark::Line,
                0.9,
                series(&|s| 100.0 * (s.metered_m_s / s.required_m_s - 1.0)),
            ),
            Series::named("commanded", palette::VERMILLION, Mark::Line, 1.0, series(&|s| 100.0 * s.commanded_error())),
        ],
        levels: budget(made),
        ..Chart::default()
    };
    html! {
        figure { (speeds.draw()) (error.draw())
            figcaption { "Film speed required, commanded and reached, one sample after the other through all passes of the record, and the error under it; broken lines: budget." } }
    }
}

fn against(made: &Study, x_label: &str, alt: &str, of: impl Fn(&Sample) -> f64, caption: &str) -> Markup {
    let reached: Vec<(f64, f64)> = thinned(&made.samples).map(|s| (of(s), 100.0 * s.error())).collect();
    let commanded: Vec<(f64, f64)> = thinned(&made.samples).map(|s| (of(s), 100.0 * s.commanded_error())).collect();
    let x = range(reached.iter().map(|p| (0.0, p.0)), f64::NEG_INFINITY);
    let y = error_ends(reached.iter().chain(&commanded).map(|p| p.1));
    let chart = Chart {
        alt: alt.into(),
        x_label: x_label.into(),
        y_label: "error, %".into(),
        width: WIDTH,
        height: 210.0,
        x,
        y,
        series: vec![
            Series::named("reached", palette::ORANGE, Mark::Dots, 1.4, reached),
            Series::named("commanded", palette::VERMILLION, Mark::Crosses, 1.2, commanded),
        ],
        levels: budget(made),
        ..Chart::default()
    };
    html! { figure { (chart.draw()) figcaption { (caption) } } }
}

/// What other intervals between loads would give.
pub fn programme(made: &Study) -> Markup {
    let trade = made.summary.programme.iter().flat_map(|p| &p.trade);
    let (worst, jump): (Vec<_>, Vec<_>) =
        trade.map(|t| ((t.load_every_h, t.worst_percent), (t.load_every_h, t.largest_jump_percent))).unzip();
    if worst.is_empty() {
        return html! {};
    }
    let chart = Chart {
        alt: "Error of the fit against the time between loads".into(),
        x_label: "time from load to load, h".into(),
        y_label: "%".into(),
        width: WIDTH,
        height: 210.0,
        x: (0.0, 25.0),
        y: (0.0, 1.1 * jump.iter().chain(&worst).map(|p| p.1).fold(0.0, f64::max)),
        series: vec![
            Series::named("largest change of speed", palette::BLUE, Mark::Dashed, 1.2, jump.clone()),
            Series::named("largest error of the fit", palette::VERMILLION, Mark::Line, 1.4, worst.clone()),
            Series { name: None, colour: palette::BLUE, mark: Mark::Diamonds, size: 3.0, points: jump },
            Series { name: None, colour: palette::VERMILLION, mark: Mark::Dots, size: 3.0, points: worst },
        ],
        ..Chart::default()
    };
    html! { figure { (chart.draw()) figcaption { "How often a load must come: with fewer loads the store's entries must last longer. The mission's last day." } } }
}

/// Stops off against the Sun.
pub fn exposure(made: &Study) -> Markup {
    let lit: Vec<_> = made.points.iter().filter(|p| p.setting >= 0).collect();
    if lit.is_empty() {
        return html! {};
    }
    let stops: Vec<(f64, f64)> =
        thinned(&lit).map(|p| (f64::from(p.sun_elevation_deg), f64::from(p.stops_off))).collect();
    let times: Vec<(f64, f64)> =
        thinned(&lit).map(|p| (f64::from(p.sun_elevation_deg), f64::from(p.exposure_s) * 1e3)).collect();
    let x = (0.0, 5.0 * (stops.iter().map(|p| p.0).fold(0.0, f64::max) / 5.0).ceil());
    let light = Chart {
        alt: "Exposure off its wanted value against the Sun".into(),
        y_label: "stops off".into(),
        width: WIDTH,
        height: 170.0,
        x,
        y: (-2.0, 1.0),
        series: vec![Series { name: None, colour: palette::BLUE, mark: Mark::Dots, size: 1.4, points: stops }],
        levels: vec![(-0.5, String::new()), (0.5, String::new())],
        ..Chart::default()
    };
    let time = Chart {
        alt: "Exposure time against the Sun".into(),
        x_label: "elevation of the Sun, °".into(),
        y_label: "exposure, ms".into(),
        width: WIDTH,
        height: 150.0,
        x,
        y: range(times.iter().copied(), f64::NEG_INFINITY),
        series: vec![Series { name: None, colour: palette::GREEN, mark: Mark::Dots, size: 1.4, points: times }],
        ..Chart::default()
    };
    html! { figure { (light.draw()) (time.draw()) figcaption { "Exposure against the film's speed point, with the slit (or shutter time) that suits the Sun best at each point, and the time it gives at the film speed there; broken lines: tolerance. Each branch is one slit; its width is what film speed alone does." } } }
}
