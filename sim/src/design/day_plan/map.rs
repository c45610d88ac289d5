//! The plan on maps: the world with the ground track, and each area with the swaths over it.

use super::{geo::edges, study::Study};
use crate::{
    flight::page::{area_mark, station_mark},
    passes::plan::{bursts::Burst, windows::TrackPoint},
    report::{
        Area,
        map::{SIDE, View, area_outline, at, coast, graticule, scale_labels, station_mark as draw_station},
        svg::path,
        text::fixed,
    },
    world::ellipsoid::height_m,
};
use maud::{Markup, html};

/// The world chart: coast, night and day side of the track, areas, stations, camera on.
pub fn world(study: &Study) -> Markup {
    let height_m = height_m(&study.built.start_state.position_m);
    html! {
        svg viewBox="-26 -4 764 384" role="img" aria-label="World chart with ground track, stations, areas and swaths" {
            rect x="0" y="0" width="720" height="360" fill="#fbfcfd" {}
            path d=(graticule()) fill="none" stroke="#d5dade" stroke-width="0.5" {}
            path d=(coast(at)) fill="none" stroke="#7d868c" stroke-width="0.6" stroke-linejoin="round" {}
            path d=(track(&study.track, false)) fill="none" stroke="#56b4e9" stroke-width="0.7" {}
            path d=(track(&study.track, true)) fill="none" stroke="#777" stroke-width="0.6" stroke-dasharray="1.5 2" {}
            @for area in &study.scenario().areas { (area_outline(&area_mark(area))) }
            @for burst in study.plan.flown() { path d=(line(study, burst)) fill="none" stroke="#0072b2" stroke-width="3" {} }
            @for station in &study.scenario().stations { (draw_station(&station_mark(station, height_m))) }
            rect x="0" y="0" width="720" height="360" fill="none" stroke="#333" stroke-width="0.8" {}
            (scale_labels())
        }
    }
}

/// The ground track where the Sun below is up, or down; the pen is lifted at the antimeridian.
fn track(points: &[TrackPoint], night: bool) -> String {
    let mut drawn = Vec::with_capacity(points.len());
    let mut last = f64::NAN;
    for point in points {
        let [latitude, longitude] = point.place_rad.map(f64::to_degrees);
        let mine = (point.sun_rad < 0.0) == night;
        if (longitude - last).abs() > 180.0 || !mine {
            drawn.push((f64::NAN, f64::NAN));
        }
        if mine {
            drawn.push(at(longitude, latitude));
        }
        last = longitude;
    }
    path(drawn)
}

/// Middle of a swath on the world chart.
fn line(study: &Study, burst: &Burst) -> String {
    let [left, right] = edges(study, burst, [burst.on_s, burst.off_s]);
    let mut last = f64::NAN;
    let mut drawn = Vec::new();
    for (l, r) in left.iter().zip(&right) {
        // Half of the short way from one edge to the other, so that the antimeridian does not matter.
        let east = (r[0] - l[0] + 540.0).rem_euclid(360.0) - 180.0;
        let longitude = (l[0] + 0.5 * east + 540.0).rem_euclid(360.0) - 180.0;
        if (longitude - last).abs() > 180.0 {
            drawn.push((f64::NAN, f64::NAN));
        }
        drawn.push(at(longitude, 0.5 * (l[1] + r[1])));
        last = longitude;
    }
    path(drawn)
}

/// A chart of each area with every fit pass over it and what is flown.
pub fn areas(study: &Study) -> Markup {
    html! {
        div class="small-charts" {
            @for (number, area) in study.scenario().areas.iter().enumerate() { (area_chart(study, number, &area_mark(area))) }
        }
    }
}

fn area_chart(study: &Study, number: usize, area: &Area) -> Markup {
    let view = View::around(&area.outline_deg, 1.35);
    let corners: Vec<(f64, f64)> = area.outline_deg.iter().map(|p| view.at(p[0], p[1])).collect();
    let told = &study.document.areas[number];
    let plan = &study.plan;
    let mine =
        |burst: &&Burst| burst.passes.iter().any(|&pass| plan.passes.get(pass).is_some_and(|p| p.area == number));
    let open: Vec<&Burst> = plan
        .bursts
        .iter()
        .filter(mine)
        .filter(|burst| burst.passes.len() == 1 && !plan.passes[burst.passes[0]].flown)
        .collect();
    html! {
        div class="small-chart" {
            svg viewBox=(format!("0 0 {SIDE} {SIDE}")) role="img" aria-label=(format!("Swaths over {}", area.name)) {
                rect x="0.5" y="0.5" width=(SIDE - 1.0) height=(SIDE - 1.0) fill="#fbfcfd" stroke="#333" stroke-width="0.8" {}
                path d=(view.coast()) fill="none" stroke="#7d868c" stroke-width="0.8" {}
                path d=(path(corners) + "Z") fill="#e69f00" fill-opacity="0.22" stroke="#b07800" stroke-width="1" {}
                @for burst in open { path d=(swath(&view, study, burst, burst.over_s)) fill="none" stroke="#8a8a8a" stroke-width="0.9" stroke-dasharray="3 2" {} }
                @for burst in plan.flown().filter(|burst| mine(burst)) {
                    path d=(swath(&view, study, burst, [burst.on_s, burst.off_s])) fill="#0072b2" fill-opacity="0.18" stroke="#0072b2" stroke-width="0.5" {}
                    path d=(swath(&view, study, burst, burst.over_s)) fill="#0072b2" fill-opacity="0.3" stroke="#0072b2" stroke-width="1" {}
                }
                (view.scale_bar())
            }
            p { b { (area.name) } " — " (fixed(told.covered_percent, 0)) " % covered"
                @if let Some(why) = &told.why_not { ": " (why) } }
        }
    }
}

/// Outline of a swath.
fn swath(view: &View, study: &Study, burst: &Burst, span_s: [f64; 2]) -> String {
    let [left, right] = edges(study, burst, span_s);
    path(left.iter().chain(right.iter().rev()).map(|p| view.at(p[0], p[1]))) + "Z"
}
