//! Charts of the return: the way over the world, and the landing place close up.

use maud::{Markup, html};

use super::ground::below;
use super::repredict::{Form, Region};
use super::study::Study;
use crate::report::map::{at, coast, graticule, scale_labels};
use crate::report::svg::{path, round_step};
use crate::report::text::fixed;
use crate::world::ellipsoid::Geodetic;

/// Most points of a line on the world chart.
const MOST: usize = 400;

fn degrees(place: &Geodetic) -> (f64, f64) {
    (place.longitude_rad.to_degrees(), place.latitude_rad.to_degrees())
}

/// A line on the world chart; the pen is lifted where it crosses the edge.
fn line(places: impl Iterator<Item = Geodetic>) -> String {
    let mut last = f64::NAN;
    let mut points = Vec::new();
    for place in places {
        let (longitude, latitude) = degrees(&place);
        if (longitude - last).abs() > 180.0 {
            points.push((f64::NAN, f64::NAN));
        }
        points.push(at(longitude, latitude));
        last = longitude;
    }
    path(points)
}

/// The way from ignition to touchdown over the world.
pub fn world(made: &Study) -> Markup {
    let fall = made.descents.shown();
    let every = fall.rows.len().div_ceil(MOST).max(1);
    let places = fall.rows.iter().step_by(every).chain(fall.rows.last());
    let track = line(places.map(|m| below(&m.at.position_m(), m.at.t_s, &made.model.earth)));
    let mark = |m: &super::fall::Moment| {
        let (lon, lat) = degrees(&below(&m.at.position_m(), m.at.t_s, &made.model.earth));
        at(lon, lat)
    };
    let first = made.descents.nominal.events.first().map(|(_, m)| mark(m)).unwrap_or_default();
    let last = mark(&fall.last);
    let zone = &made.model.plan.zone;
    let centre = at(zone.centre_rad[1].to_degrees(), zone.centre_rad[0].to_degrees());
    html! {
        svg viewBox="-26 -4 764 384" role="img" aria-label="World chart with the way from ignition to touchdown" {
            rect x="0" y="0" width="720" height="360" fill="#fbfcfd" {}
            path d=(graticule()) fill="none" stroke="#d5dade" stroke-width="0.5" {}
            path d=(coast(at)) fill="none" stroke="#7d868c" stroke-width="0.6" stroke-linejoin="round" {}
            @if let Some(region) = &made.region { (strips(region)) }
            path d=(track) fill="none" stroke="#0072b2" stroke-width="2" {}
            circle cx=(px(first.0)) cy=(px(first.1)) r="3.2" fill="#fff" stroke="#0072b2" stroke-width="1.6" {}
            circle cx=(px(centre.0)) cy=(px(centre.1)) r="5.5" fill="#e69f00" fill-opacity="0.35" stroke="#b07800" stroke-width="1" {}
            circle cx=(px(last.0)) cy=(px(last.1)) r="2.4" fill="#d55e00" {}
            rect x="0" y="0" width="720" height="360" fill="none" stroke="#333" stroke-width="0.8" {}
            (scale_labels())
        }
    }
}

/// Parts of a region that are lines.
fn strips(region: &Region) -> Markup {
    html! {
        @for part in &region.parts {
            @match &part.form {
                Form::Strip(places, _) => { path d=(line(places.iter().copied())) fill="none" stroke="#cc79a7" stroke-width="5" stroke-opacity="0.55" {} }
                Form::UnderOrbit(latitude) => {
                    @let top = at(0.0, latitude.to_degrees()).1;
                    @let bottom = at(0.0, -latitude.to_degrees()).1;
                    rect x="0" y=(px(top)) width="720" height=(px(bottom - top)) fill="#cc79a7" fill-opacity="0.08" {}
                }
                Form::Ellipse(_) => {}
            }
        }
    }
}

fn px(value: f64) -> String {
    format!("{value:.1}")
}

/// Side of the close chart, px.
const SIDE: f64 = 560.0;

/// A square with true shape about a place.
struct Close {
    latitude: f64,
    longitude: f64,
    /// Pixels to a degree of latitude.
    scale: f64,
}

impl Close {
    fn at(&self, longitude: f64, latitude: f64) -> (f64, f64) {
        let east = (longitude - self.longitude + 180.0).rem_euclid(360.0) - 180.0;
        let shrink = self.latitude.to_radians().cos().max(0.05);
        (SIDE / 2.0 + east * shrink * self.scale, SIDE / 2.0 - (latitude - self.latitude) * self.scale)
    }

    fn place(&self, place: &Geodetic) -> (f64, f64) {
        let (longitude, latitude) = degrees(place);
        self.at(longitude, latitude)
    }

    fn outline(&self, places: &[Geodetic]) -> String {
        path(places.iter().map(|place| self.place(place))) + "Z"
    }
}

/// Corners of the zone.
fn zone(made: &Study) -> Vec<Geodetic> {
    use super::ground::Along;
    let zone = &made.model.plan.zone;
    let centre = Geodetic { latitude_rad: zone.centre_rad[0], longitude_rad: zone.centre_rad[1], height_m: 0.0 };
    let along = Along { origin: centre, azimuth_rad: made.descents.along.azimuth_rad };
    let corner = |k: usize| {
        let (s, c) = (std::f64::consts::TAU * k as f64 / 72.0).sin_cos();
        along.place([zone.half_along_m * c, zone.half_across_m * s])
    };
    (0..72).map(corner).collect()
}

/// The landing place close up: zone, footprint, every descent, the ground track.
pub fn close(made: &Study) -> Markup {
    let d = &made.descents;
    let zone = zone(made);
    let ellipse: Vec<Geodetic> =
        d.ellipse.iter().flat_map(|e| e.outline(72)).map(|offset| d.along.place(offset)).collect();
    let news: Vec<&Vec<Geodetic>> = made
        .region
        .iter()
        .flat_map(|r| &r.parts)
        .filter_map(|part| match &part.form {
            Form::Ellipse(outline) => Some(outline),
            _ => None,
        })
        .collect();
    let middle = &made.passes[made.used].touchdown;
    let all = zone.iter().chain(&ellipse).chain(news.iter().copied().flatten());
    let reach = all.map(|p| d.along.offset_m(p)).fold(1.0_f64, |most, o| most.max(o[0].hypot(o[1])));
    let view = Close {
        latitude: middle.latitude_rad.to_degrees(),
        longitude: middle.longitude_rad.to_degrees(),
        scale: 0.46 * SIDE / (reach.min(4e6) / 111_200.0),
    };
    let inside = |(x, y): (f64, f64)| x.abs() < 9.0 * SIDE && y.abs() < 9.0 * SIDE;
    let near = |x: f64, y: f64| if inside((x, y)) { (x, y) } else { (f64::NAN, f64::NAN) };
    let coastline = coast(|lon, lat| {
        let (x, y) = view.at(lon, lat);
        near(x, y)
    });
    let rows = d.shown().rows.iter().map(|m| view.place(&below(&m.at.position_m(), m.at.t_s, &made.model.earth)));
    let track = path(rows.map(|(x, y)| near(x, y)));
    let dots = d.landings.iter().filter(|l| l.down).take(3_000).map(|l| view.place(&l.place));
    let shown = view.place(&below(&d.shown().last.at.position_m(), d.shown().last.at.t_s, &made.model.earth));
    let centre = view.at(made.summary.zone.longitude_deg, made.summary.zone.latitude_deg);
    html! {
        svg viewBox=(format!("0 0 {SIDE} {SIDE}")) role="img" aria-label="Chart of the zone with the footprint" style="max-width:640px" {
            rect x="0.5" y="0.5" width=(SIDE - 1.0) height=(SIDE - 1.0) fill="#fbfcfd" {}
            path d=(coastline) fill="none" stroke="#7d868c" stroke-width="0.8" {}
            path d=(view.outline(&zone)) fill="#e69f00" fill-opacity="0.18" stroke="#b07800" stroke-width="1.2" {}
            path d=(track) fill="none" stroke="#56b4e9" stroke-width="1" {}
            @for (x, y) in dots { circle cx=(px(x)) cy=(px(y)) r="1.1" fill="#0072b2" fill-opacity="0.45" {} }
            @if !ellipse.is_empty() { path d=(view.outline(&ellipse)) fill="none" stroke="#0072b2" stroke-width="1.6" {} }
            @for outline in &news { path d=(view.outline(outline)) fill="none" stroke="#cc79a7" stroke-width="2" stroke-dasharray="6 3" {} }
            path d=(format!("M{:.1} {:.1}h12M{:.1} {:.1}v12", centre.0 - 6.0, centre.1, centre.0, centre.1 - 6.0)) stroke="#5a3d00" stroke-width="1.4" {}
            circle cx=(px(shown.0)) cy=(px(shown.1)) r="3.4" fill="#d55e00" stroke="#fff" stroke-width="0.8" {}
            rect x="0.5" y="0.5" width=(SIDE - 1.0) height=(SIDE - 1.0) fill="none" stroke="#333" stroke-width="0.8" {}
            (bar(&view))
        }
    }
}

fn bar(view: &Close) -> Markup {
    /// Kilometres in a degree of latitude.
    const DEGREE_KM: f64 = 111.2;
    let km = round_step(0.25 * SIDE / view.scale * DEGREE_KM, 1.0);
    let length = km / DEGREE_KM * view.scale;
    html! {
        path d=(path([(12.0, SIDE - 12.0), (12.0 + length, SIDE - 12.0)])) stroke="#333" stroke-width="2.4" {}
        text x="12" y=(px(SIDE - 18.0)) font-size="12" fill="#333" font-family="Helvetica, Arial, sans-serif" { (fixed(km, 0)) " km · north is up" }
    }
}
