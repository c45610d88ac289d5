//! Areas from a GeoJSON file (RFC 7946): polygons, or points with a radius.
//!
//! | property | meaning |
//! | --- | --- |
//! | `name` | text, different for each area |
//! | `priority` | what the area is worth, 0.001 to 1000; 1 if left out |
//! | `lowest_sun_deg`, `highest_sun_deg` | elevation of the Sun by which it may be photographed |
//! | `cover` | `"single"` or `"stereo"`; single if left out |
//! | `ground_height_m` | height of the ground above the ellipsoid; 0 if left out |
//! | `radius_km` | of a point: 0.1 to 5000; 5 if left out |
//!
//! Other properties are left alone, unless they look like one of these misspelt.

use crate::scenario::{
    Problem, Refusal,
    parts::{
        ground::{Area, Cover},
        outline,
    },
};
use crate::world::geo_text;
use geojson::{Feature, GeoJson, GeometryValue, JsonObject, Position};
use std::ops::Range;

const KNOWN: [&str; 7] =
    ["name", "priority", "lowest_sun_deg", "highest_sun_deg", "cover", "ground_height_m", "radius_km"];
/// Radius of a point where none is given, km.
const POINT_RADIUS_KM: f64 = 5.0;
/// Most areas, as in a scenario.
const MOST_AREAS: usize = 500;
/// Most corners, as in a scenario.
const MOST_CORNERS: usize = 500;

/// Reads areas.
///
/// # Errors
/// A [`Refusal`] with everything found wrong, each with feature, property, reason and remedy.
pub fn read(name: &str, text: &str) -> Result<Vec<Area>, Box<Refusal>> {
    let whole = |message: String, help: &str| Box::new(Refusal::of_file(name, message, help));
    let found = geo_text::read(text).map_err(|error| {
        whole(format!("{name} is not GeoJSON: {error}"), "Areas are a FeatureCollection as RFC 7946 describes it.")
    })?;
    let features = match found {
        GeoJson::FeatureCollection(collection) => collection.features,
        GeoJson::Feature(feature) => vec![feature],
        GeoJson::Geometry(_) => {
            return Err(whole(
                format!("{name} holds a bare geometry"),
                "An area needs a name: wrap the geometry in a Feature with properties.",
            ));
        }
    };
    if features.is_empty() || features.len() > MOST_AREAS {
        let message = format!("{name} holds {} features (allowed: 1 to {MOST_AREAS})", features.len());
        return Err(whole(message, "Each Feature is one area to be photographed."));
    }
    let places = feature_spans(text, features.len());
    let mut reader = Reader { problems: Vec::new(), at: String::new(), span: None };
    let mut areas: Vec<Area> = Vec::new();
    for (index, feature) in features.iter().enumerate() {
        reader.at = format!("features[{}]", index + 1);
        reader.span = places.get(index).cloned();
        let Some(area) = reader.area(feature) else { continue };
        if areas.iter().any(|other| other.name == area.name) {
            let message = format!("there are two areas called \"{}\"", area.name);
            reader.refuse("properties.name", message, "Give every area a name of its own.");
        }
        areas.push(area);
    }
    if reader.problems.is_empty() { Ok(areas) } else { Err(Box::new(Refusal::new(name, text, reader.problems))) }
}

/// Where each feature stands in the text, if that is plain to see.
fn feature_spans(text: &str, count: usize) -> Vec<Range<usize>> {
    const MARK: &str = "\"Feature\"";
    let spans: Vec<_> = text.match_indices(MARK).map(|(at, _)| at..at + MARK.len()).collect();
    if spans.len() == count { spans } else { Vec::new() }
}

struct Reader {
    problems: Vec<Problem>,
    /// The feature being read.
    at: String,
    span: Option<Range<usize>>,
}

impl Reader {
    fn refuse(&mut self, key: &str, message: String, help: &str) {
        let key = format!("{}.{key}", self.at);
        let message = format!("{key}: {message}");
        self.problems.push(Problem {
            key,
            span: self.span.clone(),
            message,
            label: "in this feature".into(),
            help: help.into(),
        });
    }

    fn area(&mut self, feature: &Feature) -> Option<Area> {
        let before = self.problems.len();
        let empty = JsonObject::new();
        let properties = feature.properties.as_ref().unwrap_or(&empty);
        for key in properties.keys().filter(|key| !KNOWN.contains(&key.as_str())) {
            // Short names have honest neighbours: "color" is no misspelt "cover".
            let like = |known: &&&str| strsim::damerau_levenshtein(known, key) <= 1 + known.len() / 8;
            if let Some(meant) = KNOWN.iter().find(like) {
                let message = format!("there is no property of this name; \"{meant}\" is meant?");
                self.refuse(&format!("properties.{key}"), message, "Correct the name, or rename the property.");
            }
        }
        let name = match properties.get("name").and_then(|value| value.as_str()) {
            Some(name) if (1..=40).contains(&name.len()) => name.to_owned(),
            _ => {
                self.refuse("properties.name", "missing, or no text of 1 to 40 characters".into(), "Name the area.");
                String::new()
            }
        };
        let number = |reader: &mut Self, key: &str, low: f64, high: f64, usual: Option<f64>| -> Option<f64> {
            let Some(value) = properties.get(key).filter(|value| !value.is_null()) else { return usual };
            let found = value.as_f64().filter(|number| (low..=high).contains(number));
            if found.is_none() {
                let message = format!("{value} is no number from {low} to {high}");
                reader.refuse(&format!("properties.{key}"), message, "The unit is the ending of the name.");
            }
            found
        };
        let priority = number(self, "priority", 0.001, 1_000.0, Some(1.0));
        let lowest = number(self, "lowest_sun_deg", -90.0, 90.0, None);
        let highest = number(self, "highest_sun_deg", 0.0, 90.0, None);
        let height = number(self, "ground_height_m", -500.0, 9_000.0, Some(0.0));
        let radius_km = number(self, "radius_km", 0.1, 5_000.0, None);
        if let (Some(low), Some(high)) = (lowest, highest)
            && low >= high
        {
            let message = format!("the Sun cannot be above {low}° and below {high}° at once");
            self.refuse("properties.lowest_sun_deg", message, "Lower the one or raise the other.");
        }
        let cover = self.cover(properties);
        let shape = self.shape(feature, radius_km);
        if self.problems.len() > before {
            return None;
        }
        let (polygon_rad, centre_rad, radius_m) = shape?;
        Some(Area {
            name,
            polygon_rad,
            centre_rad,
            radius_m,
            ground_height_m: height?,
            priority: priority?,
            lowest_sun_rad: lowest.map(f64::to_radians),
            highest_sun_rad: highest.map(f64::to_radians),
            cover,
        })
    }

    fn cover(&mut self, properties: &JsonObject) -> Cover {
        let Some(value) = properties.get("cover").filter(|value| !value.is_null()) else { return Cover::Single };
        let known = Cover::ALL.iter().copied().find(|cover| value.as_str() == Some(cover.word()));
        known.unwrap_or_else(|| {
            let message = format!("{value} is no kind of cover (allowed: \"single\", \"stereo\")");
            self.refuse("properties.cover", message, "Single: once; stereo: from two directions, for heights.");
            Cover::Single
        })
    }

    #[allow(clippy::type_complexity)]
    fn shape(
        &mut self,
        feature: &Feature,
        radius_km: Option<f64>,
    ) -> Option<(Option<Vec<[f64; 2]>>, Option<[f64; 2]>, Option<f64>)> {
        match feature.geometry.as_ref().map(|geometry| &geometry.value) {
            Some(GeometryValue::Point { coordinates }) => {
                let centre = self.place(coordinates)?;
                Some((None, Some(centre), Some(radius_km.unwrap_or(POINT_RADIUS_KM) * 1e3)))
            }
            Some(GeometryValue::Polygon { coordinates }) => {
                if radius_km.is_some() {
                    let help = "Take the radius away, or give a Point.";
                    self.refuse("properties.radius_km", "a polygon has no radius".into(), help);
                }
                let [ring] = coordinates.as_slice() else {
                    let message = format!("the polygon has {} rings (allowed: one, without holes)", coordinates.len());
                    self.refuse("geometry", message, "Leave holes out: film cannot spare them anyway.");
                    return None;
                };
                Some((Some(self.ring(ring)?), None, None))
            }
            other => {
                let kind = other.map_or("missing", |_| "of another kind");
                let help = "Cut other shapes into polygons, one Feature each.";
                self.refuse("geometry", format!("is {kind} (allowed: Polygon, Point)"), help);
                None
            }
        }
    }

    fn place(&mut self, position: &Position) -> Option<[f64; 2]> {
        let (longitude, latitude) = (position[0], position[1]);
        let good = (-180.0..=180.0).contains(&longitude) && (-90.0..=90.0).contains(&latitude);
        if !good {
            let message = format!("[{longitude}, {latitude}] is no place on Earth");
            self.refuse(
                "geometry.coordinates",
                message,
                "Longitude comes first (-180 to 180), then latitude (-90 to 90).",
            );
        }
        good.then(|| [latitude.to_radians(), longitude.to_radians()])
    }

    fn ring(&mut self, ring: &[Position]) -> Option<Vec<[f64; 2]>> {
        let corners = ring.len().saturating_sub(1);
        let closed = ring.len() >= 2 && ring.first().map(|p| [p[0], p[1]]) == ring.last().map(|p| [p[0], p[1]]);
        if !closed || !(3..=MOST_CORNERS).contains(&corners) {
            let message = format!("a ring of {} positions (allowed: closed, 3 to {MOST_CORNERS} corners)", ring.len());
            self.refuse("geometry.coordinates", message, "RFC 7946 wants the first position again as the last.");
            return None;
        }
        let places: Option<Vec<[f64; 2]>> = ring.iter().take(corners).map(|at| self.place(at)).collect();
        let places = places?;
        if let Some(flaw) = outline::flaw(&places) {
            self.refuse("geometry.coordinates", flaw.words().into(), flaw.help());
            return None;
        }
        Some(places)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(geometry: &str, properties: &str) -> String {
        format!(
            r#"{{"type":"FeatureCollection","features":[{{"type":"Feature","geometry":{geometry},"properties":{properties}}}]}}"#
        )
    }

    const SQUARE: &str = r#"{"type":"Polygon","coordinates":[[[10,50],[11,50],[11,51],[10,51],[10,50]]]}"#;

    #[test]
    fn a_polygon_and_a_point_are_read() {
        let areas =
            read("a", &file(SQUARE, r#"{"name":"Box","priority":3,"cover":"stereo","owner":"x"}"#)).expect("sound");
        assert_eq!((areas[0].priority, areas[0].cover), (3.0, Cover::Stereo));
        assert_eq!(areas[0].polygon_rad.as_ref().map(Vec::len), Some(4));
        let areas = read("a", &file(r#"{"type":"Point","coordinates":[-20,40]}"#, r#"{"name":"Dot"}"#)).expect("sound");
        assert_eq!(areas[0].centre_rad, Some([40_f64.to_radians(), -20_f64.to_radians()]));
        assert_eq!(areas[0].radius_m, Some(5e3));
    }

    #[test]
    fn everything_wrong_is_told_with_its_place() {
        for (geometry, properties, told) in [
            (SQUARE, "{}", "properties.name"),
            (SQUARE, r#"{"name":"A","priority":"high"}"#, "no number from 0.001 to 1000"),
            (SQUARE, r#"{"name":"A","prority":2}"#, "\"priority\" is meant?"),
            (SQUARE, r#"{"name":"A","cover":"double"}"#, "no kind of cover"),
            (SQUARE, r#"{"name":"A","lowest_sun_deg":50,"highest_sun_deg":40}"#, "at once"),
            (SQUARE, r#"{"name":"A","radius_km":4}"#, "no radius"),
            (r#"{"type":"Point","coordinates":[40,120]}"#, r#"{"name":"A"}"#, "no place on Earth"),
            (r#"{"type":"LineString","coordinates":[[0,0],[1,1]]}"#, r#"{"name":"A"}"#, "allowed: Polygon, Point"),
            (r#"{"type":"Polygon","coordinates":[[[0,0],[1,0],[0,1]]]}"#, r#"{"name":"A"}"#, "closed"),
            (r#"{"type":"Polygon","coordinates":[[[179,0],[-179,0],[-179,1],[179,0]]]}"#, r#"{"name":"A"}"#, "180°"),
            (r#"{"type":"Polygon","coordinates":[[[0,0],[1,1],[1,0],[0,1],[0,0]]]}"#, r#"{"name":"A"}"#, "itself"),
        ] {
            let refusal = read("areas.geojson", &file(geometry, properties)).expect_err(told);
            let text = refusal.render(200, false);
            assert!(text.contains(told) && text.contains("features[1]") && text.contains("areas.geojson"), "{text}");
        }
        assert!(read("a", "{").is_err() && read("a", r#"{"type":"FeatureCollection","features":[]}"#).is_err());
    }

    #[test]
    fn two_areas_of_one_name_are_refused() {
        let one = format!(r#"{{"type":"Feature","geometry":{SQUARE},"properties":{{"name":"A"}}}}"#);
        let both = format!(r#"{{"type":"FeatureCollection","features":[{one},{one}]}}"#);
        assert!(read("a", &both).expect_err("twice").render(100, false).contains("two areas"));
    }
}
