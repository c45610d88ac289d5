//! GeoJSON out of a text.
//!
//! By way of a JSON value: the reader of coordinates takes no numbers of arbitrary precision, which a library elsewhere in
//! the same build may switch on for every reader of JSON.

use geojson::GeoJson;

/// Reads GeoJSON (RFC 7946).
///
/// # Errors
/// What is wrong with it, for people.
pub fn read(text: &str) -> Result<GeoJson, String> {
    let value: serde_json::Value = serde_json::from_str(text).map_err(|error| error.to_string())?;
    GeoJson::from_json_value(value).map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use geojson::GeometryValue;

    #[test]
    fn numbers_and_mistakes_are_read() {
        let found = read(r#"{"type": "Point", "coordinates": [35.97, 63.91781]}"#);
        let Ok(GeoJson::Geometry(geometry)) = found else { panic!("{found:?}") };
        let GeometryValue::Point { coordinates } = &geometry.value else { panic!("{geometry:?}") };
        assert_eq!((coordinates[0], coordinates[1]), (35.97, 63.91781));
        assert!(read("{").is_err() && read(r#"{"type": "Point"}"#).is_err());
    }
}
