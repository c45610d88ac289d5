//! Numbers that a campaign may vary: `{ value = 1.0, sigma = 0.1 }` or `{ value = 1.0, plus_minus = 0.1 }`.

use serde_json::{Value, json};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::context::Context;
use super::number::plain_number;
use super::spec::Spec;
use super::unit::Unit;

/// Normal spreads are cut at this many sigma, so that every draw stays inside the key's range.
pub const CUT_SIGMA: f64 = 3.0;

/// How a number varies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// Normal with this standard deviation, file units, cut at [`CUT_SIGMA`].
    Normal(f64),
    /// Even between value ± this, file units.
    Even(f64),
}

impl Shape {
    /// Largest distance of a draw from the value, file units.
    pub fn reach(self) -> f64 {
        match self {
            Self::Normal(sigma) => CUT_SIGMA * sigma,
            Self::Even(half_width) => half_width,
        }
    }
}

/// A number of the scenario that carries a spread. A single run uses its value.
#[derive(Clone, Debug, PartialEq)]
pub struct Spread {
    /// Key from the top of the file; names the number when a draw is put in its place.
    pub key: String,
    /// Middle, file units.
    pub value: f64,
    /// How it varies.
    pub shape: Shape,
    /// Unit of the file's numbers.
    pub unit: Unit,
}

/// Reads a number given as a table, and notes its spread.
pub(super) fn read_spread(spec: &Spec, table: &DeTable<'_>, key: &str, cx: &mut Context) -> Option<f64> {
    for (name, value) in table.iter() {
        cx.note(&format!("{key}.{}", name.get_ref()), name.span(), value.span());
        if !["value", "sigma", "plus_minus"].contains(&name.get_ref().as_ref()) {
            let message = format!("{key}.{} is not a key of a number with a spread", name.get_ref());
            cx.refuse_at(key, Some(name.span()), message, "unknown key", USAGE);
            return None;
        }
    }
    let value = part(table, "value", spec, key, cx)?;
    let (width_name, width) = match (table.get("sigma"), table.get("plus_minus")) {
        (Some(width), None) => ("sigma", width),
        (None, Some(width)) => ("plus_minus", width),
        _ => {
            let message = format!("{key} must carry exactly one of `sigma` and `plus_minus`");
            cx.refuse(key, message, "a number with a spread", USAGE);
            return None;
        }
    };
    let width_key = format!("{key}.{width_name}");
    let width = plain_number(width, &width_key, cx)?;
    let shape = if width_name == "sigma" { Shape::Normal(width) } else { Shape::Even(width) };
    let inside = value - shape.reach() >= spec.min && value + shape.reach() <= spec.max;
    if width < 0.0 || !inside {
        let message = format!("{width_key} = {width} reaches outside the range of {key}");
        let label = format!("draws must stay in {}", spec.range_text());
        let reach = if width_name == "sigma" { "3 × sigma" } else { "plus_minus" };
        let help = format!("Draws lie within value ± {reach}; the width may not be negative. Make it smaller.");
        cx.refuse(&width_key, message, label, help);
        return None;
    }
    cx.spreads.push(Spread { key: key.to_owned(), value, shape, unit: spec.unit });
    Some(value)
}

const USAGE: &str = "Write { value = 1.0, sigma = 0.1 } (normal, cut at 3 sigma) or \
                     { value = 1.0, plus_minus = 0.1 } (even), both in the unit of the key.";

fn part(table: &DeTable<'_>, name: &str, spec: &Spec, key: &str, cx: &mut Context) -> Option<f64> {
    let Some(value) = table.get(name) else {
        cx.refuse(key, format!("{key} has no `{name}`"), "a number with a spread", USAGE);
        return None;
    };
    let number = plain_number(value, &format!("{key}.{name}"), cx)?;
    super::number::in_range(spec, number, &format!("{key}.{name}"), value.span(), "", cx).then_some(number)
}

/// Schema of a number with a spread.
pub(super) fn schema() -> Value {
    let width = |name: &str| {
        json!({
            "type": "object",
            "additionalProperties": false,
            "required": ["value", name],
            "properties": { "value": { "type": "number" }, name: { "type": "number", "minimum": 0 } }
        })
    };
    json!({
        "description": "A number that a campaign varies; a single run uses its value. sigma: normal, cut at 3 sigma. plus_minus: even.",
        "anyOf": [width("sigma"), width("plus_minus")]
    })
}

/// A spanned value whose table, if it is one, describes a spread.
pub(super) fn as_spread<'a, 'i>(value: &'a Spanned<DeValue<'i>>) -> Option<&'a DeTable<'i>> {
    value.get_ref().as_table()
}
