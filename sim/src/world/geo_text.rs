//! GeoJSON out of a text.
//!
//! By way of a JSON value with plain numbers: the reader of coordinates takes none of arbitrary precision, which a library
//! elsewhere in the same build may switch on for every reader of JSON.

use geojson::GeoJson;
use serde_json::{Number, Value};

/// Reads GeoJSON (RFC 7946).
///
/// # Errors
/// What is wrong with it, for people.
pub fn read(text: &str) -> Result<GeoJson, String> {
    let mut value: Value = serde_json::from_str(text).map_err(|error| error.to_string())?;
    make_plain(&mut value);
    serde_json::from_value(value).map_err(|error| error.to_string())
}

/// Fractions as the nearest `f64`, in its own shortest digits. JSON's reader bounds the depth.
fn make_plain(value: &mut Value) {
    match value {
        Value::Number(number) if !number.is_i64() && !number.is_u64() => {
            if let Some(plain) = number.as_f64().and_then(Number::from_f64) {
                *number = plain;
            }
        }
        Value::Array(items) => items.iter_mut().for_each(make_plain),
        Value::Object(members) => members.values_mut().for_each(make_plain),
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geojson::GeometryValue;

    #[test]
    fn numbers_and_mistakes_are_read() {
        let found = read(r#"{"type": "Point", "coordinates": [35.970, 63.91781]}"#);
        let Ok(GeoJson::Geometry(geometry)) = found else { panic!("{found:?}") };
        let GeometryValue::Point { coordinates } = &geometry.value else { panic!("{geometry:?}") };
        assert_eq!((coordinates[0], coordinates[1]), (35.97, 63.91781));
        assert!(read("{").is_err() && read(r#"{"type": "Point"}"#).is_err());
    }
}
