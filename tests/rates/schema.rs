//! The study's JSON and its published schema.

use serde_json::Value;
use stillframe::{
    design::film_rates::summary::{FilmRates, film_rates_schema},
    scenario::demo::Demo,
};

#[test]
fn published_schema_is_the_programs() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/src/film-rates.schema.json");
    let now = film_rates_schema();
    if std::env::var_os("STILLFRAME_BLESS").is_some() {
        std::fs::write(path, &now).expect("written");
    }
    let published = std::fs::read_to_string(path).unwrap_or_default();
    assert!(published == now, "docs/src/film-rates.schema.json is out of date; run once with STILLFRAME_BLESS=1");
}

/// Both cameras' studies come back from their JSON as they were, and hold no number that JSON cannot.
#[test]
fn a_study_comes_back_from_its_json() {
    for kind in [Demo::Strip, Demo::Frame] {
        let summary = crate::made(&crate::demo(kind), &crate::six_hours()).summary;
        let json = summary.to_json();
        let again: FilmRates = serde_json::from_str(&json).expect("reads");
        // The reader rounds the last bit of a number; a number that JSON cannot hold would not have come back.
        crate::close(again.drive.error_percent.three_sigma, summary.drive.error_percent.three_sigma, 1e-14);
        assert_eq!((again.by_day.len(), again.cycle.len()), (summary.by_day.len(), summary.cycle.len()));
        assert_eq!(again.criteria.len(), summary.criteria.len());
        let value: Value = serde_json::from_str(&json).expect("JSON");
        let schema: Value = serde_json::from_str(&film_rates_schema()).expect("JSON");
        let properties = schema["properties"].as_object().expect("properties");
        for key in value.as_object().expect("an object").keys() {
            assert!(properties.contains_key(key), "{key} is not in the schema");
        }
    }
}
