//! JSON Schema of the scenario file, from the same lines that read it.

use serde_json::{Value, json};

use super::Scenario;
use super::read::spec::plain;
use super::read::{FromToml, spread_schema};

/// The schema (draft 2020-12), for completion and checking in an editor.
pub fn schema() -> Value {
    let mut schema = Scenario::schema(&plain());
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["title"] = json!("Stillframe scenario");
    schema["description"] = json!(
        "A run of Stillframe. Units are the endings of the keys. Checks that join several keys are made by `stillframe validate`."
    );
    schema["$defs"] = json!({ "spread": spread_schema() });
    schema
}
