//! The study's JSON and its published schema.

use serde_json::Value;
use stillframe::descent::document::{Descent, descent_schema};

use crate::made;

#[test]
fn published_schema_is_the_programs() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/src/descent.schema.json");
    let now = descent_schema();
    if std::env::var_os("STILLFRAME_BLESS").is_some() {
        std::fs::write(path, &now).expect("written");
    }
    let published = std::fs::read_to_string(path).unwrap_or_default();
    assert!(published == now, "docs/src/descent.schema.json is out of date; run once with STILLFRAME_BLESS=1");
}

/// A study comes back from its JSON, and holds no number that JSON cannot.
#[test]
fn a_study_comes_back_from_its_json() {
    let json = made().summary.to_json();
    let again: Descent = serde_json::from_str(&json).expect("reads");
    assert_eq!(again.passes.len(), made().summary.passes.len());
    crate::close(again.footprint.sigma_km[0], made().summary.footprint.sigma_km[0], 1e-14);
    let value: Value = serde_json::from_str(&json).expect("JSON");
    let schema: Value = serde_json::from_str(&descent_schema()).expect("JSON");
    for key in value.as_object().expect("an object").keys() {
        assert!(schema["properties"].as_object().expect("properties").contains_key(key), "{key} is not in the schema");
    }
}
