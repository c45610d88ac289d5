//! One line of a table: what a key may hold, in file units.

use super::unit::{NONE, Unit};

/// What a key holds where the file says nothing, in file units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fallback {
    /// The file must say.
    Required,
    /// One number.
    Number(f64),
    /// A list of numbers.
    Numbers(&'static [f64]),
    /// A text or the name of a choice.
    Text(&'static str),
    /// On or off.
    Flag(bool),
    /// A table whose own keys all have defaults.
    Table,
    /// Nothing at all.
    Absent,
}

/// Limits of a key, in file units. One `Spec` feeds the check, the error text, the schema and the tests.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spec {
    /// Unit of the file's number.
    pub unit: Unit,
    /// Smallest number.
    pub min: f64,
    /// Largest number.
    pub max: f64,
    /// Shortest list or text.
    pub min_len: usize,
    /// Longest list or text.
    pub max_len: usize,
    /// Value where the file says nothing.
    pub fallback: Fallback,
}

/// A number of `unit` from `min` to `max`.
pub const fn number(unit: Unit, min: f64, max: f64) -> Spec {
    Spec { unit, min, max, min_len: 0, max_len: usize::MAX, fallback: Fallback::Required }
}

/// A whole number from `min` to `max`.
pub const fn whole(min: f64, max: f64) -> Spec {
    number(NONE, min, max)
}

/// A text of 1 to `max_len` bytes.
pub const fn text(max_len: usize) -> Spec {
    Spec { min_len: 1, max_len, ..whole(0.0, 0.0) }
}

/// Something that carries its own limits: a flag, a choice, a table, a time.
pub const fn plain() -> Spec {
    whole(0.0, 0.0)
}

impl Spec {
    const fn with(self, fallback: Fallback) -> Self {
        Self { fallback, ..self }
    }

    /// Default of a number.
    pub const fn or(self, value: f64) -> Self {
        self.with(Fallback::Number(value))
    }

    /// Default of a list of numbers.
    pub const fn or_all(self, values: &'static [f64]) -> Self {
        self.with(Fallback::Numbers(values))
    }

    /// Default of a text or choice.
    pub const fn or_text(self, value: &'static str) -> Self {
        self.with(Fallback::Text(value))
    }

    /// Default of a flag.
    pub const fn or_flag(self, value: bool) -> Self {
        self.with(Fallback::Flag(value))
    }

    /// A table that may be left out, because each of its keys has a default.
    pub const fn or_defaults(self) -> Self {
        self.with(Fallback::Table)
    }

    /// May be left out.
    pub const fn optional(self) -> Self {
        self.with(Fallback::Absent)
    }

    /// A list of `min_len` to `max_len` entries.
    pub const fn list(self, min_len: usize, max_len: usize) -> Self {
        Self { min_len, max_len, ..self }
    }

    /// The allowed range as people read it.
    pub fn range_text(&self) -> String {
        let gap = if self.unit.symbol.is_empty() || self.unit.symbol.starts_with('°') { "" } else { " " };
        let unit = self.unit.symbol;
        format!("{} to {}{gap}{unit}", self.min, self.max)
    }
}

/// One key of a table.
#[derive(Clone, Copy, Debug)]
pub struct FieldSpec {
    /// Key in the file.
    pub key: &'static str,
    /// What it does, from the field's documentation.
    pub meaning: &'static str,
    /// Its limits.
    pub spec: Spec,
}

impl FieldSpec {
    /// The documentation on one line.
    pub fn text(&self) -> String {
        one_line(self.meaning)
    }
}

/// Documentation lines joined and trimmed.
pub fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
