//! The schema against the reader: what one accepts the other does, and limits are the same.

use serde_json::Value;
use stillframe::scenario::demo::Demo;
use stillframe::scenario::schema;

use crate::support::{BASE, FRAMING, edited, read_text};

/// Why `value` does not meet `schema`; covers the keywords that the schema uses and refuses any other.
fn against(schema: &Value, value: &Value, root: &Value, at: &str) -> Result<(), String> {
    for (keyword, rule) in schema.as_object().expect("a schema is an object") {
        match keyword.as_str() {
            "description" | "title" | "default" | "$schema" | "$defs" | "format" => {}
            "$ref" => {
                let name = rule.as_str().and_then(|name| name.strip_prefix("#/$defs/")).expect("local reference");
                against(&root["$defs"][name], value, root, at)?;
            }
            "type" => of_type(rule, value, at)?,
            "minimum" => within(value.as_f64() >= rule.as_f64(), at, "below minimum")?,
            "maximum" => within(value.as_f64() <= rule.as_f64(), at, "above maximum")?,
            "minLength" | "maxLength" => {}
            "const" => within(value == rule, at, "another constant")?,
            "enum" => within(rule.as_array().expect("enum").contains(value), at, "not one of the choices")?,
            "minItems" => within(length(value) >= rule.as_u64(), at, "too few entries")?,
            "maxItems" => within(length(value) <= rule.as_u64(), at, "too many entries")?,
            "items" => {
                for (index, entry) in value.as_array().into_iter().flatten().enumerate() {
                    against(rule, entry, root, &format!("{at}[{index}]"))?;
                }
            }
            "anyOf" | "oneOf" => {
                let rules = rule.as_array().expect("rules");
                let met = rules.iter().filter(|rule| against(rule, value, root, at).is_ok()).count();
                within(
                    if keyword == "oneOf" { met == 1 } else { met >= 1 },
                    at,
                    "meets none of the choices, or several",
                )?;
            }
            "required" => {
                for key in rule.as_array().into_iter().flatten().filter_map(Value::as_str) {
                    within(value.get(key).is_some(), at, &format!("{key} is missing"))?;
                }
            }
            "additionalProperties" => {
                for key in value.as_object().into_iter().flat_map(|object| object.keys()) {
                    within(schema["properties"].get(key).is_some(), at, &format!("{key} is unknown"))?;
                }
            }
            "properties" => {
                for (key, rule) in rule.as_object().expect("properties") {
                    if let Some(value) = value.get(key) {
                        against(rule, value, root, &format!("{at}.{key}"))?;
                    }
                }
            }
            other => panic!("keyword {other} is not covered by this test"),
        }
    }
    Ok(())
}

fn within(good: bool, at: &str, why: &str) -> Result<(), String> {
    if good { Ok(()) } else { Err(format!("{at}: {why}")) }
}

fn length(value: &Value) -> Option<u64> {
    value.as_array().map(|list| list.len() as u64)
}

fn of_type(rule: &Value, value: &Value, at: &str) -> Result<(), String> {
    let good = match rule.as_str() {
        Some("object") => value.is_object(),
        Some("array") => value.is_array(),
        Some("number") => value.is_number(),
        Some("integer") => value.as_f64().is_some_and(|number| number.fract() == 0.0),
        Some("string") => value.is_string(),
        Some("boolean") => value.is_boolean(),
        other => panic!("type {other:?} is not covered by this test"),
    };
    within(good, at, "of another type")
}

/// TOML as JSON; times become text, as editors hand them to a schema.
fn as_json(value: toml::Value) -> Value {
    match value {
        toml::Value::String(text) => text.into(),
        toml::Value::Integer(whole) => whole.into(),
        toml::Value::Float(float) => serde_json::Number::from_f64(float).map_or(Value::Null, Value::Number),
        toml::Value::Boolean(flag) => flag.into(),
        toml::Value::Datetime(time) => time.to_string().into(),
        toml::Value::Array(list) => list.into_iter().map(as_json).collect(),
        toml::Value::Table(table) => table.into_iter().map(|(key, value)| (key, as_json(value))).collect(),
    }
}

fn judged(text: &str) -> Result<(), String> {
    let schema = schema();
    let value = as_json(toml::Value::Table(text.parse().expect("TOML")));
    against(&schema, &value, &schema, "")
}

#[test]
fn what_the_reader_accepts_the_schema_accepts() {
    for text in [Demo::Strip.text(), Demo::Frame.text(), Demo::Sweep.text(), BASE, &edited(&FRAMING)] {
        judged(text).expect("schema");
        read_text(text).expect("reader");
    }
    let spread = edited(&[("gas_kg = 4.0", "gas_kg = { value = 3.5, sigma = 0.05 }")]);
    judged(&spread).expect("a spread");
}

#[test]
fn what_the_schema_refuses_the_reader_refuses() {
    let bad = [
        ("focal_length_mm = 1000.0", "focal_length_m = 1.0"),
        ("seed = 1", "seed = 1.5"),
        ("inclination_deg = 82.0\n", ""),
        ("gas_kg = 4.0", "gas_kg = { value = 4.0 }"),
        ("gas_kg = 4.0", "gas_kg = { value = 4.0, sd = 1.0 }"),
        ("bank = \"A\"", "bank = \"C\""),
        ("kind = \"strip\"", "kind = \"frame\""),
        ("slit = 3", "slit = 0"),
        ("roll_deg = 2.0\n", ""),
        ("tip_off_deg_s = [0.6, -0.6, 0.5]", "tip_off_deg_s = [0.6, -0.6]"),
        ("[[52.0, -4.0], [52.5, -3.0], [51.5, -3.0]]", "[[52.0, -4.0]]"),
    ];
    for edit in bad {
        let text = edited(&[edit]);
        assert!(judged(&text).is_err(), "the schema accepts {edit:?}");
        assert!(read_text(&text).is_err(), "the reader accepts {edit:?}");
    }
}

/// Visits every number in the schema that has a plain path of tables.
fn numbers(schema: &Value, at: &str, found: &mut Vec<(String, f64, f64)>) {
    for (key, rule) in schema["properties"].as_object().into_iter().flatten() {
        let path = if at.is_empty() { key.clone() } else { format!("{at}.{key}") };
        numbers(rule, &path, found);
        for rule in rule["anyOf"].as_array().into_iter().flatten() {
            if let (Some(min), Some(max)) = (rule["minimum"].as_f64(), rule["maximum"].as_f64()) {
                found.push((path.clone(), min, max));
            }
        }
    }
}

#[test]
fn every_range_of_the_schema_is_the_readers_range() {
    let mut found = Vec::new();
    numbers(&schema(), "", &mut found);
    assert!(found.len() > 60, "only {} numbers", found.len());
    for (path, min, max) in found {
        let (table, key) = path.rsplit_once('.').expect("a table");
        let header = format!("[{table}]");
        // Only the tables that the base scenario holds can be tried; the others share the same reader.
        let Some(start) = BASE.find(&header) else {
            continue;
        };
        let body = start + BASE[start..].find('\n').expect("line");
        for beyond in [min - 0.01 * min.abs() - 1e-6, max + 0.01 * max.abs() + 1e-6] {
            let rest = without(key, &BASE[body + 1..]);
            let text = format!("{}\n{key} = {beyond:?}\n{rest}", &BASE[..body]);
            let refusal = read_text(&text).expect_err(&path);
            assert!(
                refusal.problems.iter().any(|problem| problem.key == path),
                "{path} = {beyond}: {:?}",
                refusal.problems
            );
        }
    }
}

/// The text with the first line of `key` in its first table taken out.
fn without(key: &str, text: &str) -> String {
    let mut in_table = true;
    let keep = text.lines().filter(|line| {
        in_table = in_table && !line.starts_with('[');
        !(in_table && line.split('=').next().is_some_and(|name| name.trim() == key))
    });
    keep.collect::<Vec<_>>().join("\n")
}

#[test]
fn every_key_is_explained() {
    fn walk(schema: &Value, at: &str) {
        for (key, rule) in schema["properties"].as_object().into_iter().flatten() {
            let text = rule["description"].as_str().unwrap_or_default();
            assert!(text.len() > 3, "{at}.{key} has no description");
            walk(rule, &format!("{at}.{key}"));
            walk(&rule["items"], &format!("{at}.{key}"));
            for choice in rule["oneOf"].as_array().into_iter().flatten() {
                walk(choice, &format!("{at}.{key}"));
            }
        }
    }
    walk(&schema(), "");
}
