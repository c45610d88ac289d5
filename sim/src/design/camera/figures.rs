//! The pictures of a sizing.

use maud::Markup;

use super::model::{Candidate, Model, Point};
use super::study::Study;
use super::terms::Terms;
use super::wants::Wants;
use crate::imaging::mtf;
use crate::report::chart::{Chart, Mark, Series, palette};

const WIDTH: f64 = 720.0;
/// Points of a drawn curve.
const FINE: usize = 160;

/// Ground resolved distance against mass: what is best, what the wants leave of it, and the camera taken.
pub fn trade(wants: &Wants, study: &Study) -> Markup {
    let of = |places: &[usize]| -> Vec<(f64, f64)> {
        places.iter().filter_map(|index| study.at(*index)).map(|c| (c.mass_kg, c.grd_m)).collect()
    };
    let prices = study.prices.iter().skip(1).filter_map(|price| price.camera);
    let priced: Vec<usize> = prices.collect();
    let shown: Vec<usize> = study.shown.into_iter().collect();
    let name = if study.chosen.is_some() { "the camera taken" } else { "the nearest camera" };
    let marked: Vec<(f64, f64)> = of(&priced).into_iter().chain(of(&shown)).chain(of(&study.front)).collect();
    let heaviest = marked.iter().map(|p| p.0).fold(10.0, f64::max);
    // The front of small, coarse cameras runs far up; what was asked about is what the eye needs.
    let asked = of(&priced).into_iter().chain(of(&shown)).map(|p| p.1);
    let coarsest = asked.fold(wants.mission.grd_m, f64::max);
    let x = (0.0, 1.08 * heaviest);
    let y = (0.0, 1.3 * coarsest);
    let inside = |points: Vec<(f64, f64)>| -> Vec<(f64, f64)> {
        points.into_iter().filter(|(mass, grd)| *mass <= x.1 && *grd <= y.1).collect()
    };
    let mut series = vec![
        Series::named("best without limits and swath", palette::GREY, Mark::Dotted, 1.4, inside(of(&study.free_front))),
        Series::named(
            "best within swath and limits (mass aside)",
            palette::BLUE,
            Mark::Line,
            1.6,
            inside(of(&study.front)),
        ),
        Series::named("other distances", palette::ORANGE, Mark::Crosses, 5.0, inside(of(&priced))),
        Series::named(name, palette::VERMILLION, Mark::Diamonds, 6.0, of(&shown)),
    ];
    if let Some(limit_kg) = wants.limits.mass_kg.filter(|limit_kg| *limit_kg <= x.1) {
        let line = vec![(limit_kg, y.0), (limit_kg, y.1)];
        series.push(Series::named("mass allowed", palette::BLACK, Mark::Dashed, 0.9, line));
    }
    Chart {
        alt: "Ground resolved distance against camera mass".into(),
        x_label: "mass of the camera with film, kg".into(),
        y_label: "ground resolved distance, m".into(),
        width: WIDTH,
        height: 320.0,
        x,
        y,
        series,
        levels: vec![(wants.mission.grd_m, "wanted".into())],
        ..Chart::default()
    }
    .draw()
}

/// Modulation that reaches the film and modulation that it needs, against frequency.
pub fn modulation(model: &Model<'_>, camera: &Candidate, terms: Terms) -> Markup {
    let (f, n) = (camera.point.focal_length_m, camera.point.f_number);
    let lens = model.lens(f, n, terms);
    let ends = [camera.squares_per_m, camera.modulation_per_m].map(|axes| axes.larger() * 1e-3);
    let finest = ends.into_iter().filter(|end| end.is_finite()).fold(20.0, f64::max) * 1.9;
    let curve = |value: &dyn Fn(f64) -> f64| -> Vec<(f64, f64)> {
        let step = finest / FINE as f64;
        (1..=FINE).map(|k| k as f64 * step).map(|lp_mm| (lp_mm, value(lp_mm * 1e3))).collect()
    };
    let left = |smear_m: f64| {
        let smear_zero = 1.0 / smear_m;
        move |nu: f64| {
            let smear = if nu < smear_zero { mtf::linear_smear(nu, smear_m) } else { 0.0 };
            model.modulation * lens.mtf(nu) * smear
        }
    };
    let top = 1.1 * model.modulation;
    let needed = curve(&|nu| model.modulation_needed(camera.point.film, nu, terms));
    let needed = needed.into_iter().map(|(x, y)| (x, if y <= top { y } else { f64::NAN })).collect();
    let meets = |per_m: f64| (per_m * 1e-3, model.modulation_needed(camera.point.film, per_m, terms));
    let crossings = vec![meets(camera.modulation_per_m.along), meets(camera.modulation_per_m.across)];
    let series = vec![
        Series::named(
            "diffraction alone",
            palette::GREY,
            Mark::Dotted,
            1.2,
            curve(&|nu| model.modulation * mtf::diffraction(nu, lens.wavelength_m, lens.f_number)),
        ),
        Series::named("lens as focused", palette::GREEN, Mark::Dashed, 1.4, curve(&left(0.0))),
        Series::named("with smear along", palette::BLUE, Mark::Line, 1.4, curve(&left(camera.smear_m.along))),
        Series::named("with smear across", palette::PURPLE, Mark::Line, 1.4, curve(&left(camera.smear_m.across))),
        Series::named("needed by the film", palette::VERMILLION, Mark::Dashed, 1.8, needed),
        Series::named("resolution ends", palette::BLACK, Mark::Diamonds, 4.0, crossings),
    ];
    Chart {
        alt: "Modulation left by lens and smear, and modulation needed by the film, against frequency".into(),
        x_label: "frequency on film, lp/mm".into(),
        y_label: "modulation of the target's image".into(),
        width: WIDTH,
        height: 280.0,
        x: (0.0, finest),
        y: (0.0, top),
        series,
        ..Chart::default()
    }
    .draw()
}

/// Ground resolved distance against focal length, on the camera's film, for apertures on either side.
pub fn lengths(model: &Model<'_>, camera: &Candidate, terms: Terms) -> Markup {
    let n = camera.point.f_number;
    let apertures = [
        (n / 1.5, palette::GREEN, Mark::Dashed),
        (n, palette::BLUE, Mark::Line),
        (1.5 * n, palette::PURPLE, Mark::Dotted),
    ];
    let [shortest, longest] = model.wants.search.focal_lengths_m;
    let middle = camera.point.focal_length_m;
    let (from, to) = (shortest.max(0.4 * middle).min(middle), longest.min(2.2 * middle).max(1.05 * middle));
    let series: Vec<Series> = apertures
        .iter()
        .map(|(f_number, colour, mark)| {
            let curve = (0..=FINE)
                .map(|k| from + (to - from) * k as f64 / FINE as f64)
                .map(|f| (f * 1e3, best(model, f, *f_number, camera, terms).unwrap_or(f64::NAN)));
            Series::named(&format!("f/{f_number:.1}"), colour, *mark, 1.5, curve.collect())
        })
        .chain([Series::named(
            "this camera",
            palette::VERMILLION,
            Mark::Diamonds,
            5.0,
            vec![(middle * 1e3, camera.grd_m)],
        )])
        .collect();
    let top = series.iter().flat_map(|s| &s.points).map(|p| p.1).filter(|y| y.is_finite()).fold(0.0, f64::max);
    Chart {
        alt: "Ground resolved distance against focal length for three apertures".into(),
        x_label: "focal length, mm".into(),
        y_label: "ground resolved distance, m".into(),
        width: WIDTH,
        height: 240.0,
        x: (from * 1e3, to * 1e3),
        y: (0.0, 1.05 * top.min(4.0 * camera.grd_m)),
        series,
        levels: vec![(model.wants.mission.grd_m, "wanted".into())],
        ..Chart::default()
    }
    .draw()
}

/// Ground resolved distance of a lens on the camera's film, exposed exactly as the light asks.
fn best(model: &Model<'_>, focal_length_m: f64, f_number: f64, like: &Candidate, terms: Terms) -> Option<f64> {
    let point = Point { focal_length_m, f_number, film: like.point.film, opening: super::light::Opening::Fitted };
    Some(model.evaluate(point, terms)?.grd_m)
}

/// Resolution of lens and film against the distance of the film from best focus.
pub fn focus(model: &Model<'_>, camera: &Candidate, terms: Terms) -> Markup {
    let (f, n) = (camera.point.focal_length_m, camera.point.f_number);
    let reach_m = 2.5 * camera.depth_of_focus_m;
    let threshold = model.wants.lens.threshold;
    let in_focus = model.lens(f, n, terms);
    let curve: Vec<(f64, f64)> = (0..=FINE)
        .map(|k| reach_m * (2.0 * k as f64 / FINE as f64 - 1.0))
        .map(|off_m| {
            let lens = super::lens::Lens { defocus_m: off_m.abs(), ..in_focus };
            let per_m = lens.resolution_per_m(model.modulation, threshold);
            let both = (1.0 / (per_m * per_m) + 1.0 / (camera.film_per_m * camera.film_per_m)).sqrt().recip();
            (off_m * 1e6, both * 1e-3)
        })
        .collect();
    let top = curve.iter().map(|p| p.1).filter(|y| y.is_finite()).fold(1.0, f64::max);
    let depth = camera.depth_of_focus_m * 1e6;
    let allowed = depth * model.wants.focus.share;
    let bar = |x: f64| vec![(x, 0.0), (x, 1.2 * top)];
    let series = vec![
        Series::named("lens and film", palette::BLUE, Mark::Line, 1.6, curve),
        Series::named("depth of focus ±2λN²", palette::GREY, Mark::Dotted, 1.0, bar(-depth)),
        Series { name: None, ..Series::named("", palette::GREY, Mark::Dotted, 1.0, bar(depth)) },
        Series::named("errors expected", palette::VERMILLION, Mark::Dashed, 1.0, bar(-camera.focus_error_m * 1e6)),
        Series {
            name: None,
            ..Series::named("", palette::VERMILLION, Mark::Dashed, 1.0, bar(camera.focus_error_m * 1e6))
        },
    ];
    Chart {
        alt: "Resolution of lens and film through focus".into(),
        x_label: "film off best focus, µm".into(),
        y_label: "resolution, lp/mm".into(),
        width: WIDTH,
        height: 210.0,
        x: (-reach_m * 1e6, reach_m * 1e6),
        y: (0.0, 1.1 * top),
        series,
        shaded: vec![(-allowed, allowed)],
        ..Chart::default()
    }
    .draw()
}
