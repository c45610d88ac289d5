//! The plan as GeoJSON: areas, swaths, ground track, stations.

use super::study::Study;
use crate::passes::plan::{
    bursts::Burst,
    sight::{Sight, half_field},
};
use crate::world::ellipsoid::Geodetic;
use serde_json::{Value, json};

/// Time between points of a swath's edges, s.
const STEP_S: f64 = 5.0;

/// Left and right edge of a swath: [longitude, latitude] in degrees, each from first to last.
pub fn edges(study: &Study, burst: &Burst, [from_s, to_s]: [f64; 2]) -> [Vec<[f64; 2]>; 2] {
    let subject = study.subject();
    let look = subject.tools.look(subject.scenario);
    let sight = Sight::over(&look, subject.tools.prediction, from_s, to_s);
    let half = half_field(subject.scenario);
    let area = burst.passes.first().and_then(|&pass| study.plan.passes.get(pass)).map_or(0, |pass| pass.area);
    let height_m = subject.scenario.areas.get(area).map_or(0.0, |area| area.ground_height_m);
    let count = ((to_s - from_s) / STEP_S).ceil().max(1.0) as usize;
    [-half, half].map(|across| {
        let points = (0..=count).filter_map(|k| {
            let fixed_m = sight.ground(from_s + (to_s - from_s) * k as f64 / count as f64, across, height_m)?;
            let place = Geodetic::from_cartesian(&fixed_m);
            Some([place.longitude_rad.to_degrees(), place.latitude_rad.to_degrees()])
        });
        points.collect()
    })
}

/// A line cut where it crosses the 180° meridian (RFC 7946, section 3.1.9): where two points lie on either side.
fn cut(line: &[[f64; 2]]) -> Vec<Vec<[f64; 2]>> {
    let mut pieces: Vec<Vec<[f64; 2]>> = vec![Vec::new()];
    let mut last: Option<[f64; 2]> = None;
    for &at in line {
        if let Some(before) = last.filter(|before| (before[0] - at[0]).abs() > 180.0) {
            // Where the meridian is met, by straight lines in degrees.
            let side = 180.0 * before[0].signum();
            let way = 360.0 - (before[0] - at[0]).abs();
            let share = if way > 0.0 { (side - before[0]).abs() / way } else { 0.0 };
            let latitude = before[1] + share * (at[1] - before[1]);
            pieces.last_mut().into_iter().for_each(|piece| piece.push([side, latitude]));
            pieces.push(vec![[-side, latitude]]);
        }
        pieces.last_mut().into_iter().for_each(|piece| piece.push(at));
        last = Some(at);
    }
    pieces.retain(|piece| piece.len() > 1);
    pieces
}

fn rounded(line: &[[f64; 2]]) -> Vec<[f64; 2]> {
    line.iter().map(|at| at.map(|degrees| (degrees * 1e5).round() / 1e5)).collect()
}

fn feature(geometry: Value, properties: Value) -> Value {
    json!({ "type": "Feature", "geometry": geometry, "properties": properties })
}

fn lines(line: &[[f64; 2]]) -> Value {
    let pieces: Vec<_> = cut(line).iter().map(|piece| rounded(piece)).collect();
    json!({ "type": "MultiLineString", "coordinates": pieces })
}

/// Everything as one FeatureCollection. A swath across the 180° meridian is given by its edges, as lines.
pub fn geojson(study: &Study) -> Value {
    let d = &study.document;
    let mut features = Vec::new();
    for (area, told) in study.scenario().areas.iter().zip(&d.areas) {
        let mut ring = rounded(&crate::flight::page::area_mark(area).outline_deg);
        ring.extend(ring.first().copied());
        let properties = json!({ "kind": "area", "name": told.name, "priority": told.priority, "cover": told.cover,
            "covered_percent": told.covered_percent });
        features.push(feature(json!({ "type": "Polygon", "coordinates": [ring] }), properties));
    }
    for (burst, told) in study.plan.flown().zip(&d.bursts) {
        let [left, right] = edges(study, burst, [burst.on_s, burst.off_s]);
        let crosses = left.iter().chain(&right).any(|at| (at[0] - left[0][0]).abs() > 180.0);
        let geometry = if crosses {
            let pieces: Vec<_> = [left, right].iter().flat_map(|edge| cut(edge)).map(|piece| rounded(&piece)).collect();
            json!({ "type": "MultiLineString", "coordinates": pieces })
        } else {
            // Anticlockwise, as RFC 7946 wants it: along the right edge (seen along the track), back on the left.
            let mut ring: Vec<[f64; 2]> = right.iter().copied().chain(left.iter().rev().copied()).collect();
            ring.extend(ring.first().copied());
            json!({ "type": "Polygon", "coordinates": [rounded(&ring)] })
        };
        let properties = json!({ "kind": "swath", "areas": told.areas, "revolution": told.revolution,
            "camera_on_utc": told.on_utc, "camera_off_utc": told.off_utc, "film_m": told.film_m });
        features.push(feature(geometry, properties));
    }
    let revolutions = study.track.last().map_or(0, |point| point.revolution);
    for revolution in 1..=revolutions {
        let points = study.track.iter().filter(|point| point.revolution == revolution);
        let line: Vec<[f64; 2]> =
            points.map(|point| [point.place_rad[1].to_degrees(), point.place_rad[0].to_degrees()]).collect();
        if line.len() > 1 {
            features.push(feature(lines(&line), json!({ "kind": "track", "revolution": revolution })));
        }
    }
    for station in &study.scenario().stations {
        let at = [station.longitude_rad.to_degrees(), station.latitude_rad.to_degrees()];
        let geometry = json!({ "type": "Point", "coordinates": rounded(&[at])[0] });
        features.push(feature(geometry, json!({ "kind": "station", "name": station.name })));
    }
    json!({ "type": "FeatureCollection", "features": features })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_cut_at_the_meridian() {
        let pieces = cut(&[[170.0, 10.0], [178.0, 12.0], [-178.0, 14.0], [-170.0, 16.0]]);
        assert_eq!(
            pieces,
            [vec![[170.0, 10.0], [178.0, 12.0], [180.0, 13.0]], vec![[-180.0, 13.0], [-178.0, 14.0], [-170.0, 16.0]]]
        );
    }
}
