//! Numbers: finite, in range, from file units to SI.

use std::ops::Range;

use serde_json::{Value, json};
use toml::Spanned;
use toml::de::DeValue;

use super::FromToml;
use super::context::Context;
use super::spec::{Fallback, Spec};
use super::spread::{as_spread, read_spread};

/// A finite number as the file has it, or a problem.
pub fn plain_number(value: &Spanned<DeValue<'_>>, key: &str, cx: &mut Context) -> Option<f64> {
    let found = match value.get_ref() {
        DeValue::Float(float) => float.as_str().parse::<f64>().ok(),
        DeValue::Integer(whole) => i64::from_str_radix(whole.as_str(), whole.radix()).ok().map(|n| n as f64),
        other => {
            let message = format!("{key} is {}, but a number is needed", kind_of(other));
            cx.refuse_at(key, Some(value.span()), message, "must be a number", number_hint(key, other));
            return None;
        }
    };
    let finite = found.filter(|number| number.is_finite());
    if finite.is_none() {
        let message = format!("{key} is not a finite number");
        let help = "nan, inf and numbers too large to hold are refused everywhere: write an ordinary number.";
        cx.refuse_at(key, Some(value.span()), message, "must be finite", help);
    }
    finite
}

fn number_hint(key: &str, value: &DeValue<'_>) -> String {
    let name = key.rsplit('.').next().unwrap_or(key);
    let text = value.as_str().unwrap_or_default().trim();
    let digits = text.find(|c: char| !(c.is_ascii_digit() || "+-.eE".contains(c))).unwrap_or(text.len());
    let number = text.get(..digits).unwrap_or_default();
    let wanted = if name.contains('[') { String::new() } else { format!("{name} = ") };
    if number.parse::<f64>().is_ok() {
        format!("Write the number alone, without quotes or unit (the unit is the key's ending): {wanted}{number}")
    } else {
        format!("Write a number: {wanted}1")
    }
}

/// What a value of the file is, in words.
pub fn kind_of(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true/false",
        DeValue::Datetime(_) => "a date and time",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

/// Whether `number` (file units) lies in the key's range; otherwise a problem.
pub fn in_range(spec: &Spec, number: f64, key: &str, span: Range<usize>, meaning: &str, cx: &mut Context) -> bool {
    let inside = number >= spec.min && number <= spec.max;
    if !inside {
        let side = if number < spec.min { "below" } else { "above" };
        let label = format!("allowed: {}", spec.range_text());
        let help = format!("{meaning} Write a number from {}.", spec.range_text());
        let message = format!("{key} = {number} is {side} its range");
        cx.refuse_at(key, Some(span), message, label, help.trim().to_owned());
    }
    inside
}

impl FromToml for f64 {
    fn read(spec: &Spec, meaning: &str, value: &Spanned<DeValue<'_>>, key: &str, cx: &mut Context) -> Option<Self> {
        let number = match as_spread(value) {
            Some(table) => read_spread(spec, table, key, cx)?,
            None => plain_number(value, key, cx)?,
        };
        let number = cx.drawn.get(key).copied().unwrap_or(number);
        in_range(spec, number, key, value.span(), meaning, cx).then(|| spec.unit.to_si(number))
    }

    fn fallback(spec: &Spec) -> Option<Self> {
        match spec.fallback {
            Fallback::Number(number) => Some(spec.unit.to_si(number)),
            _ => None,
        }
    }

    fn each_fallback(spec: &Spec, values: &[f64]) -> Vec<Self> {
        values.iter().map(|value| spec.unit.to_si(*value)).collect()
    }

    fn schema(spec: &Spec) -> Value {
        let number = json!({ "type": "number", "minimum": spec.min, "maximum": spec.max });
        json!({ "anyOf": [number, { "$ref": "#/$defs/spread" }] })
    }
}

impl FromToml for u64 {
    fn read(spec: &Spec, meaning: &str, value: &Spanned<DeValue<'_>>, key: &str, cx: &mut Context) -> Option<Self> {
        let number = plain_number(value, key, cx)?;
        if number.fract() != 0.0 {
            let help = format!("{meaning} Write it without a fraction, from {}.", spec.range_text());
            let message = format!("{key} = {number} is not a whole number");
            cx.refuse_at(key, Some(value.span()), message, "must be whole", help);
            return None;
        }
        in_range(spec, number, key, value.span(), meaning, cx).then_some(number as Self)
    }

    fn fallback(spec: &Spec) -> Option<Self> {
        match spec.fallback {
            Fallback::Number(number) => Some(number as Self),
            _ => None,
        }
    }

    fn schema(spec: &Spec) -> Value {
        json!({ "type": "integer", "minimum": spec.min, "maximum": spec.max })
    }
}
