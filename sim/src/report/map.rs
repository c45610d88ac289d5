//! Where it all happened: plate carrée charts of the world and of each area.

use geojson::{GeoJson, GeometryValue};
use maud::{Markup, html};

use super::data::{Area, FrameLine, ReportData, Station};
use super::svg::path;
use super::text::fixed;
use crate::record::digest::TrackPoint;
use crate::world::geo_text;

/// Pixels to a degree on the world chart.
const SCALE: f64 = 2.0;
const COASTLINE: &str = include_str!("../../assets/coastline.geojson");

/// Place on the world chart, px, of longitude and latitude in degrees.
pub(crate) fn at(longitude: f64, latitude: f64) -> (f64, f64) {
    ((longitude + 180.0) * SCALE, (90.0 - latitude) * SCALE)
}

/// The world chart: coast, track, stations with what they see, areas, frames.
pub fn world(data: &ReportData) -> Markup {
    let points = data.digest.track.samples();
    html! {
        svg viewBox="-26 -4 764 384" role="img" aria-label="World chart with ground track, stations, areas and frames" {
            rect x="0" y="0" width="720" height="360" fill="#fbfcfd" {}
            path d=(graticule()) fill="none" stroke="#d5dade" stroke-width="0.5" {}
            path d=(coast(at)) fill="none" stroke="#7d868c" stroke-width="0.6" stroke-linejoin="round" {}
            path d=(track(points, |p| !p.heard)) fill="none" stroke="#56b4e9" stroke-width="0.5" stroke-dasharray="2.5 2" {}
            path d=(track(points, |p| p.heard)) fill="none" stroke="#0072b2" stroke-width="0.8" {}
            @for area in &data.context.areas { (area_outline(area)) }
            path d=(track(points, |p| p.camera_on)) fill="none" stroke="#0072b2" stroke-width="2.2" {}
            @for station in &data.context.stations { (station_mark(station)) }
            @for frame in data.frames.iter().filter(|f| !f.met) {
                (cross(at(frame.longitude_deg, frame.latitude_deg), 3.2))
            }
            rect x="0" y="0" width="720" height="360" fill="none" stroke="#333" stroke-width="0.8" {}
            (scale_labels())
        }
    }
}

/// Meridians and parallels of the world chart.
pub(crate) fn graticule() -> String {
    let meridians = (-5..=5).map(|k| [at(f64::from(k) * 30.0, 90.0), at(f64::from(k) * 30.0, -90.0)]);
    let parallels = (-2..=2).map(|k| [at(-180.0, f64::from(k) * 30.0), at(180.0, f64::from(k) * 30.0)]);
    meridians.chain(parallels).map(path).collect()
}

/// Degrees at the world chart's edges.
pub(crate) fn scale_labels() -> Markup {
    let hemisphere = |v: i32, positive: &str, negative: &str| match v {
        0 => "0°".to_string(),
        v if v > 0 => format!("{v}° {positive}"),
        v => format!("{}° {negative}", -v),
    };
    html! {
        g font-size="8.5" fill="#333" font-family="Helvetica, Arial, sans-serif" {
            @for lon in (-180..=180).step_by(60) {
                text x=(at(f64::from(lon), 0.0).0) y="372" text-anchor="middle" { (hemisphere(lon, "E", "W")) }
            }
            @for lat in (-60..=60).step_by(30) {
                text x="-4" y=(at(0.0, f64::from(lat)).1 + 3.0) text-anchor="end" { (hemisphere(lat, "N", "S")) }
            }
        }
    }
}

/// The coastline through a projection.
pub(crate) fn coast(project: impl Fn(f64, f64) -> (f64, f64)) -> String {
    let Ok(GeoJson::Geometry(geometry)) = geo_text::read(COASTLINE) else {
        return String::new();
    };
    let GeometryValue::MultiLineString { coordinates } = &geometry.value else {
        return String::new();
    };
    let line = |line: &Vec<geojson::Position>| path(line.iter().map(|p| project(p[0], p[1])));
    coordinates.iter().map(line).collect()
}

/// The stretches of the ground track that are wanted, each drawn on to the first point beyond it so that no gap shows; the
/// pen is lifted at the antimeridian.
fn track(points: &[TrackPoint], wanted: impl Fn(&TrackPoint) -> bool) -> String {
    let mut drawn: Vec<(f64, f64)> = Vec::with_capacity(points.len());
    let (mut last, mut down) = (f64::NAN, false);
    for point in points {
        let torn = (point.longitude_deg - last).abs() > 180.0;
        let want = wanted(point);
        if torn || (want && !down) {
            drawn.push((f64::NAN, f64::NAN));
        }
        if want || (down && !torn) {
            drawn.push(at(point.longitude_deg, point.latitude_deg));
        }
        (last, down) = (point.longitude_deg, want);
    }
    path(drawn)
}

/// An area on the world chart.
pub(crate) fn area_outline(area: &Area) -> Markup {
    let corners: Vec<(f64, f64)> = area.outline_deg.iter().map(|p| at(p[0], p[1])).collect();
    let top = corners.iter().copied().fold((0.0, f64::INFINITY), |best, c| if c.1 < best.1 { c } else { best });
    html! {
        path d=(path(corners) + "Z") fill="#e69f00" fill-opacity="0.25" stroke="#b07800" stroke-width="0.8" {}
        text x=(fixed_px(top.0)) y=(fixed_px(top.1 - 3.0)) font-size="7.5" text-anchor="middle" fill="#5a3d00"
            font-family="Helvetica, Arial, sans-serif" stroke="#fbfcfd" stroke-width="2" paint-order="stroke" { (area.name) }
    }
}

/// A station on the world chart, with what it sees.
pub(crate) fn station_mark(station: &Station) -> Markup {
    let (x, y) = at(station.longitude_deg, station.latitude_deg);
    html! {
        path d=(circle_of_sight(station)) fill="none" stroke="#009e73" stroke-width="0.9" stroke-dasharray="4 2" {}
        path d=(format!("M{x:.1} {:.1}L{:.1} {:.1}L{:.1} {:.1}Z", y - 4.5, x + 4.0, y + 3.0, x - 4.0, y + 3.0)) fill="#009e73" stroke="#fff" stroke-width="0.6" {}
        text x=(fixed_px(x + 6.0)) y=(fixed_px(y + 3.0)) font-size="8" font-weight="bold" fill="#00553e"
            font-family="Helvetica, Arial, sans-serif" stroke="#fbfcfd" stroke-width="2" paint-order="stroke" { (station.name) }
    }
}

/// The small circle inside which the station sees the vehicle.
fn circle_of_sight(station: &Station) -> String {
    let (lat, radius) = (station.latitude_deg.to_radians(), station.visible_radius_deg.to_radians());
    let mut drawn = Vec::new();
    let mut last = f64::NAN;
    for k in 0..=180 {
        let azimuth = f64::from(k) * std::f64::consts::TAU / 180.0;
        let (point_lat, east) = spherical_step(lat, azimuth, radius);
        let longitude = (station.longitude_deg + east.to_degrees() + 180.0).rem_euclid(360.0) - 180.0;
        if (longitude - last).abs() > 180.0 {
            drawn.push((f64::NAN, f64::NAN));
        }
        drawn.push(at(longitude, point_lat.to_degrees()));
        last = longitude;
    }
    path(drawn)
}

/// Latitude and longitude difference after `radius` along a great circle.
fn spherical_step(lat: f64, azimuth: f64, radius: f64) -> (f64, f64) {
    let there = (lat.sin() * radius.cos() + lat.cos() * radius.sin() * azimuth.cos()).clamp(-1.0, 1.0).asin();
    let east = (azimuth.sin() * radius.sin() * lat.cos()).atan2(radius.cos() - lat.sin() * there.sin());
    (there, east)
}

/// A cross for a frame that fails.
fn cross((x, y): (f64, f64), r: f64) -> Markup {
    let d = format!(
        "M{:.1} {:.1}L{:.1} {:.1}M{:.1} {:.1}L{:.1} {:.1}",
        x - r,
        y - r,
        x + r,
        y + r,
        x - r,
        y + r,
        x + r,
        y - r
    );
    html! { path d=(d) stroke="#d55e00" stroke-width="1.6" fill="none" {} }
}

/// Pixels as text.
pub(crate) fn fixed_px(value: f64) -> String {
    format!("{value:.1}")
}

/// Side of an area's chart, px.
pub(crate) const SIDE: f64 = 200.0;

/// A chart of each area: outline, coast, and every frame taken for it.
pub fn areas(data: &ReportData) -> Markup {
    html! {
        div class="small-charts" {
            @for area in &data.context.areas {
                @let frames: Vec<&FrameLine> = data.frames.iter().filter(|f| f.area == area.name).collect();
                (area_chart(area, &frames))
            }
        }
    }
}

fn area_chart(area: &Area, frames: &[&FrameLine]) -> Markup {
    let places = area.outline_deg.iter().copied().chain(frames.iter().map(|f| [f.longitude_deg, f.latitude_deg]));
    let view = View::around(&places.collect::<Vec<_>>(), 1.25);
    let missed = frames.iter().filter(|f| !f.met).count();
    let corners: Vec<(f64, f64)> = area.outline_deg.iter().map(|p| view.at(p[0], p[1])).collect();
    html! {
        div class="small-chart" {
            svg viewBox=(format!("0 0 {SIDE} {SIDE}")) role="img" aria-label=(format!("Frames over {}", area.name)) {
                rect x="0.5" y="0.5" width=(SIDE - 1.0) height=(SIDE - 1.0) fill="#fbfcfd" stroke="#333" stroke-width="0.8" {}
                path d=(view.coast()) fill="none" stroke="#7d868c" stroke-width="0.8" {}
                path d=(path(corners) + "Z") fill="#e69f00" fill-opacity="0.22" stroke="#b07800" stroke-width="1" {}
                @for frame in frames.iter().filter(|f| f.met) {
                    @let (x, y) = view.at(frame.longitude_deg, frame.latitude_deg);
                    circle cx=(fixed_px(x)) cy=(fixed_px(y)) r="2.4" fill="#0072b2" {}
                }
                @for frame in frames.iter().filter(|f| !f.met) {
                    (cross(view.at(frame.longitude_deg, frame.latitude_deg), 4.0))
                }
                (view.scale_bar())
            }
            p { b { (area.name) } " — " (frames.len()) " frames"
                @if missed > 0 { ", " (missed) " not met" } }
        }
    }
}

/// A square view with true shape at its middle.
pub(crate) struct View {
    longitude: f64,
    latitude: f64,
    /// Pixels to a degree of latitude.
    scale: f64,
}

impl View {
    /// Around places, [longitude, latitude] in degrees, on a square `margin` times as large as they need.
    pub(crate) fn around(places: &[[f64; 2]], margin: f64) -> Self {
        let first = places.first().copied().unwrap_or([0.0, 0.0]);
        // Longitudes relative to the first one, so that an area may lie across the antimeridian.
        let east = |lon: f64| (lon - first[0] + 180.0).rem_euclid(360.0) - 180.0;
        let span = |values: &mut dyn Iterator<Item = f64>| {
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)))
        };
        let (west, far_east) = span(&mut places.iter().map(|p| east(p[0])));
        let (south, north) = span(&mut places.iter().map(|p| p[1]));
        let latitude = (south + north) / 2.0;
        let width = (far_east - west) * latitude.to_radians().cos().max(0.05);
        let size = width.max(north - south).max(0.2) * margin;
        Self { longitude: first[0] + (west + far_east) / 2.0, latitude, scale: SIDE / size }
    }

    /// Where a place lies in it, px.
    pub(crate) fn at(&self, longitude: f64, latitude: f64) -> (f64, f64) {
        let east = (longitude - self.longitude + 180.0).rem_euclid(360.0) - 180.0;
        let shrink = self.latitude.to_radians().cos().max(0.05);
        (SIDE / 2.0 + east * shrink * self.scale, SIDE / 2.0 - (latitude - self.latitude) * self.scale)
    }

    /// The coast near by; the picture's edge cuts it off.
    pub(crate) fn coast(&self) -> String {
        coast(|lon, lat| {
            let (x, y) = self.at(lon, lat);
            let near = |v: f64| v > -8.0 * SIDE && v < 9.0 * SIDE;
            if near(x) && near(y) { (x, y) } else { (f64::NAN, f64::NAN) }
        })
    }

    /// A length on the ground.
    pub(crate) fn scale_bar(&self) -> Markup {
        /// Kilometres in a degree of latitude.
        const DEGREE_KM: f64 = 111.2;
        let km = super::svg::round_step(0.3 * SIDE / self.scale * DEGREE_KM, 1.0);
        let length = km / DEGREE_KM * self.scale;
        html! {
            path d=(path([(10.0, SIDE - 10.0), (10.0 + length, SIDE - 10.0)])) stroke="#333" stroke-width="2" {}
            text x="10" y=(SIDE - 14.0) font-size="9" fill="#333" font-family="Helvetica, Arial, sans-serif" { (fixed(km, 0)) " km" }
        }
    }
}
