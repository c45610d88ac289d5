//! The plan's JSON and its published schema.

use crate::demo_plan;
use serde_json::Value;
use stillframe::design::day_plan::{Document, plan_schema};

#[test]
fn published_schema_is_the_programs() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/src/plan.schema.json");
    let now = plan_schema();
    if std::env::var_os("STILLFRAME_BLESS").is_some() {
        std::fs::write(path, &now).expect("written");
    }
    let published = std::fs::read_to_string(path).unwrap_or_default();
    assert!(published == now, "docs/src/plan.schema.json is out of date; run once with STILLFRAME_BLESS=1");
}

/// It comes back as it was, and holds no number that JSON cannot.
#[test]
fn a_plan_comes_back_from_its_json() {
    let document = &demo_plan().document;
    let json = document.to_json();
    let again: Document = serde_json::from_str(&json).expect("reads");
    assert_eq!((again.bursts.len(), again.passes.len()), (document.bursts.len(), document.passes.len()));
    assert!((again.choice.value / document.choice.value - 1.0).abs() < 1e-14);
    let value: Value = serde_json::from_str(&json).expect("JSON");
    let schema: Value = serde_json::from_str(&plan_schema()).expect("JSON");
    let properties = schema["properties"].as_object().expect("properties");
    for key in value.as_object().expect("an object").keys() {
        assert!(properties.contains_key(key), "{key} is not in the schema");
    }
}
