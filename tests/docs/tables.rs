//! Settings, scenario keys and flags as tables.

use std::fmt::Write;

use serde_json::Value;
use stillframe::design::camera::{summary::sizing_schema, wants};
use stillframe::scenario::schema;
use stillframe_controller::{
    attitude::settings::JetSettings,
    health::flags::Flag,
    io::MAX_JETS,
    settings::{Settings, Visitor},
    settings_table::{Field, Group},
};

use super::{assert_published, cell};

#[test]
fn settings_table_is_the_programs() {
    let mut table = SettingsTable(
        "# Settings of the controller\n\nMade from the tables in `firmware/controller`; a test keeps it so. `stillframe settings` prints them as a \
         file.\nA run without a settings file fits mass, jets, film and camera to the scenario and takes the defaults for the rest.\n"
            .into(),
    );
    Settings::default().visit(&mut table);
    assert_published("settings-table.md", &table.0);
}

struct SettingsTable(String);

impl SettingsTable {
    fn group(&mut self, heading: &str, fields: &[Field]) {
        let _ = write!(
            self.0,
            "\n## `{heading}`\n\n| key | unit | range | default | meaning |\n| --- | --- | --- | --- | --- |\n"
        );
        for field in fields {
            let Field { key, unit, min, max, default, meaning } = field;
            let _ = writeln!(
                self.0,
                "| `{key}` | {} | {} to {} | {} | {} |",
                cell(unit),
                *min as f32,
                *max as f32,
                *default as f32,
                cell(meaning)
            );
        }
    }
}

impl Visitor for SettingsTable {
    fn group<G: Group>(&mut self, _: &mut G) {
        self.group(&format!("[{}]", G::NAME), G::FIELDS);
    }

    fn jets(&mut self, _: &mut heapless::Vec<JetSettings, MAX_JETS>) {
        self.group(&format!("[[{}]]", JetSettings::NAME), JetSettings::FIELDS);
    }
}

#[test]
fn scenario_keys_are_the_programs() {
    let head = "# Keys of the scenario file\n\nMade from `stillframe schema`; a test keeps it so. Units are the endings of the keys. *must* marks a key that has no default.\n";
    assert_published("scenario-keys.md", &keys(head, &schema()));
}

#[test]
fn keys_of_the_wants_are_the_programs() {
    let head = "# Keys of the wants file\n\nMade from `stillframe size --schema`; a test keeps it so. Units are the endings of the keys. *must* marks a key that has no default.\n";
    assert_published("sizing-keys.md", &keys(head, &wants::schema()));
}

#[test]
fn published_schema_of_a_sizing_is_the_programs() {
    assert_published("sizing.schema.json", &sizing_schema());
}

/// Every table of a file, from its schema.
fn keys(head: &str, schema: &Value) -> String {
    let mut out = head.to_owned();
    let tables = schema["properties"].as_object().expect("tables");
    for (name, table) in tables {
        if name != "format" {
            describe(name, table, &mut out);
        }
    }
    out
}

/// One table of the file, and what hangs below it.
fn describe(name: &str, table: &Value, out: &mut String) {
    let meaning = table["description"].as_str().unwrap_or_default();
    if table["type"] == "array" {
        section(&format!("[[{name}]]"), name, meaning, &table["items"], out);
    } else {
        section(&format!("[{name}]"), name, meaning, table, out);
    }
}

fn section(heading: &str, name: &str, meaning: &str, table: &Value, out: &mut String) {
    let _ = write!(out, "\n## `{heading}`\n\n{meaning}\n");
    match table["oneOf"].as_array() {
        Some(kinds) => {
            for kind in kinds {
                let word = kind["title"].as_str().unwrap_or_default();
                let _ = write!(out, "\n### `{word}`\n");
                if let Some(meaning) = constant(kind).and_then(|property| property["description"].as_str()) {
                    let _ = write!(out, "\n{meaning}\n");
                }
                properties(name, kind, out);
            }
        }
        None => properties(name, table, out),
    }
}

/// The property that tells the kinds of a table apart.
fn constant(kind: &Value) -> Option<&Value> {
    kind["properties"].as_object()?.values().find(|property| !property["const"].is_null())
}

fn properties(name: &str, table: &Value, out: &mut String) {
    let Some(all) = table["properties"].as_object() else { return };
    let must: Vec<&str> = table["required"].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
    let mut below = Vec::new();
    out.push_str("\n| key | | meaning |\n| --- | --- | --- |\n");
    for (key, property) in all {
        if property["type"] == "object" && property["properties"].is_object() {
            below.push((key, property));
            continue;
        }
        let default = match (&property["const"], &property["default"]) {
            (Value::Null, Value::Null) if must.contains(&key.as_str()) => "*must*".to_owned(),
            (Value::Null, Value::Null) => String::new(),
            (Value::Null, default) => format!("`{default}`"),
            (word, _) => format!("`{word}`"),
        };
        let choices = property["enum"].as_array().map(|words| {
            let words: Vec<String> = words.iter().map(|word| format!("`{word}`")).collect();
            format!(" One of {}.", words.join(", "))
        });
        let meaning = property["description"].as_str().unwrap_or_default();
        let _ = writeln!(out, "| `{key}` | {default} | {}{} |", cell(meaning), choices.unwrap_or_default());
    }
    for (key, property) in below {
        let heading = format!("{name}.{key}");
        section(&format!("[{heading}]"), &heading, property["description"].as_str().unwrap_or_default(), property, out);
    }
}

#[test]
fn flags_are_the_programs() {
    let mut out = String::from(
        "# Flags in telemetry\n\nMade from `firmware/controller/src/health/flags.rs`; a test keeps it so.\n\n| bit | name | meaning |\n| --- | --- | --- |\n",
    );
    for flag in Flag::ALL {
        let _ = writeln!(out, "| {} | `{flag:?}` | {} |", flag.bit().trailing_zeros(), cell(flag.text()));
    }
    assert_published("flags.md", &out);
}
