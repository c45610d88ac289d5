//! The check's JSON and its published schema.

use serde_json::Value;
use stillframe::passes::check::document::{Document, document, document_schema};

use crate::{checked, day, on_pad};

#[test]
fn published_schema_is_the_programs() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/src/check.schema.json");
    let now = document_schema();
    if std::env::var_os("STILLFRAME_BLESS").is_some() {
        std::fs::write(path, &now).expect("written");
    }
    let published = std::fs::read_to_string(path).unwrap_or_default();
    assert!(published == now, "docs/src/check.schema.json is out of date; run once with STILLFRAME_BLESS=1");
}

#[test]
fn a_check_comes_back_from_its_json() {
    let (loaded, built) = day();
    let world = (&loaded.scenario, &built.settings, built.start);
    let told = document(world, "own", &built.load, &on_pad(), &checked(&built.load));
    let json = told.to_json();
    let again: Document = serde_json::from_str(&json).expect("reads");
    assert_eq!((again.good, &again.checksum, again.contacts.len()), (true, &told.checksum, told.contacts.len()));
    let value: Value = serde_json::from_str(&json).expect("JSON");
    let schema: Value = serde_json::from_str(&document_schema()).expect("JSON");
    let properties = schema["properties"].as_object().expect("properties");
    for key in value.as_object().expect("an object").keys() {
        assert!(properties.contains_key(key), "{key} is not in the schema");
    }
}
