//! The summary's schema as published, and a summary against it.

use std::fs;
use std::path::PathBuf;

use serde_json::Value;
use stillframe::record::Summary;
use stillframe::record::columns::columns_as_markdown;
use stillframe::record::summary::{Balance, Bound, Criterion, summary_schema};
use stillframe::record::table::Table;
use stillframe::record::{FilmTick, FramePoint, JetEdge, Row};

use super::synthetic;

fn docs(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../docs/src").join(name)
}

/// Compares a published file with what the program makes now; with STILLFRAME_BLESS set, writes it.
#[track_caller]
fn assert_published(name: &str, now: &str) {
    if std::env::var_os("STILLFRAME_BLESS").is_some() {
        fs::write(docs(name), now).expect("written");
    }
    let published = fs::read_to_string(docs(name)).unwrap_or_default();
    assert!(
        published == now,
        "docs/src/{name} is out of date; run the tests once with STILLFRAME_BLESS=1 and look at the change"
    );
}

#[test]
fn published_schema_is_the_programs() {
    assert_published("summary.schema.json", &summary_schema());
}

#[test]
fn published_columns_are_the_programs() {
    let text = format!(
        "# Columns of the record\n\nMade from `sim/src/record/columns.rs`; a test keeps it so.\n\n## `record.parquet`\n\n{}\n## `jets.parquet`\n\n{}\n## `film.parquet`\n\n{}\n## `points.parquet`\n\n{}",
        columns_as_markdown(Row::COLUMNS),
        columns_as_markdown(JetEdge::COLUMNS),
        columns_as_markdown(FilmTick::COLUMNS),
        columns_as_markdown(FramePoint::COLUMNS)
    );
    assert_published("record-columns.md", &text);
}

/// A schema check of our own, strict for what the schema uses: types, properties, required, references, maps.
fn check(value: &Value, schema: &Value, root: &Value, path: &str) {
    if let Some(reference) = schema.get("$ref").and_then(Value::as_str) {
        let target = root.pointer(reference.trim_start_matches('#')).unwrap_or_else(|| panic!("{reference}"));
        return check(value, target, root, path);
    }
    if let Some(options) = schema.get("oneOf").and_then(Value::as_array) {
        assert!(options.iter().any(|o| o.get("const") == Some(value)), "{path}: {value} is no known word");
        return;
    }
    if let Some(options) = schema.get("anyOf").and_then(Value::as_array) {
        // What may be missing: nothing, or the one other.
        let other = options.iter().find(|o| o.get("type") != Some(&Value::from("null")));
        if !value.is_null() {
            check(value, other.expect("an option beside null"), root, path);
        }
        return;
    }
    let types: Vec<&str> = match &schema["type"] {
        Value::String(one) => vec![one],
        Value::Array(many) => many.iter().filter_map(Value::as_str).collect(),
        other => panic!("{path}: schema without a type: {other}"),
    };
    let fits = |kind: &&str| match *kind {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.is_u64() || value.is_i64(),
        "null" => value.is_null(),
        other => panic!("{path}: type {other} is not checked here"),
    };
    assert!(types.iter().any(fits), "{path}: {value} is not {types:?}");
    if let Some(object) = value.as_object() {
        check_object(object, schema, root, path);
    }
    for (k, item) in value.as_array().into_iter().flatten().enumerate() {
        check(item, &schema["items"], root, &format!("{path}.{k}"));
    }
}

fn check_object(object: &serde_json::Map<String, Value>, schema: &Value, root: &Value, path: &str) {
    for key in schema.get("required").and_then(Value::as_array).into_iter().flatten() {
        assert!(object.contains_key(key.as_str().expect("a name")), "{path}: {key} is missing");
    }
    for (key, inner) in object {
        let known = schema.get("properties").and_then(|p| p.get(key));
        let schema = known.or_else(|| schema.get("additionalProperties").filter(|s| s.is_object()));
        check(
            inner,
            schema.unwrap_or_else(|| panic!("{path}.{key} is not in the schema")),
            root,
            &format!("{path}.{key}"),
        );
    }
}

fn schema() -> Value {
    serde_json::from_str(&fs::read_to_string(docs("summary.schema.json")).expect("schema")).expect("JSON")
}

#[test]
fn a_summary_keeps_to_the_schema() {
    let text = synthetic::summary(&synthetic::frames(), 86_400.0).to_json().expect("finite");
    let summary: Value = serde_json::from_str(&text).expect("JSON");
    check(&summary, &schema(), &schema(), "summary");
}

#[test]
#[should_panic(expected = "is not in the schema")]
fn a_stray_key_breaks_the_schema() {
    let mut summary = serde_json::to_value(Summary::default()).expect("JSON");
    summary["gas"]["used_lb"] = 1.0.into();
    check(&summary, &schema(), &schema(), "summary");
}

#[test]
#[should_panic(expected = "is missing")]
fn a_missing_key_breaks_the_schema() {
    let mut summary = serde_json::to_value(Summary::default()).expect("JSON");
    summary["film"].as_object_mut().expect("object").remove("metered_m");
    check(&summary, &schema(), &schema(), "summary");
}

#[test]
fn every_number_has_a_description() {
    let schema = schema();
    let mut undescribed = Vec::new();
    for (name, definition) in schema["$defs"].as_object().expect("definitions") {
        for (key, property) in definition.get("properties").and_then(Value::as_object).into_iter().flatten() {
            if property.get("description").is_none() {
                undescribed.push(format!("{name}.{key}"));
            }
        }
    }
    assert!(undescribed.is_empty(), "{undescribed:?}");
}

#[test]
fn verdict_needs_every_criterion_and_every_limited_balance() {
    let mut summary = Summary::default();
    let criterion = |value, bound| Criterion { value, limit: 0.95, bound, ..Criterion::default() };
    summary.criteria = vec![criterion(Some(0.95), Bound::AtLeast)];
    summary.balances.truth = vec![Balance::new("gas", "kg", 0.2, -1e-7, Some(1e-6))];
    assert!(summary.all_met());
    summary.criteria.push(criterion(None, Bound::AtMost));
    assert!(!summary.all_met(), "what was never reached is not met");
    summary.criteria.pop();
    summary.balances.on_board = vec![Balance::new("film", "m", 10.0, 1.0, None)];
    assert!(summary.all_met(), "a balance without a limit is only reported");
    summary.balances.truth[0] = Balance::new("gas", "kg", 0.2, 1e-6, Some(1e-6));
    assert!(!summary.all_met());
}
