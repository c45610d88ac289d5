//! Tables: known keys read by their line of the table, unknown ones refused with a suggestion.

use std::ops::Range;

use serde_json::{Map, Value, json};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::context::Context;
use super::number::{kind_of, plain_number};
use super::spec::{Fallback, FieldSpec, Spec, one_line};
use super::unit::split_key;
use super::{FromToml, Record};

/// A table on its way to a struct.
pub struct TableReader<'a, 'i> {
    table: &'a DeTable<'i>,
    path: String,
    span: Range<usize>,
}

impl<'a, 'i> TableReader<'a, 'i> {
    /// Reads `table`, whose place and key in the file are given, and notes where its keys stand.
    pub fn new(table: &'a DeTable<'i>, path: &str, span: Range<usize>, cx: &mut Context) -> Self {
        let reader = Self { table, path: path.to_owned(), span };
        for (key, value) in table.iter() {
            let place = Self::anchor(value).unwrap_or_else(|| key.span());
            cx.note(&reader.key(key.get_ref()), place, value.span());
        }
        reader
    }

    /// Where a complaint about a missing key of a table should point: its header.
    fn anchor(value: &Spanned<DeValue<'_>>) -> Option<Range<usize>> {
        value.get_ref().as_table().map(|_| value.span())
    }

    /// Key of the file for a key of this table.
    pub fn key(&self, name: &str) -> String {
        if self.path.is_empty() { name.to_owned() } else { format!("{}.{name}", self.path) }
    }

    /// The raw value of a key.
    pub fn raw(&self, name: &str) -> Option<&'a Spanned<DeValue<'i>>> {
        self.table.get(name)
    }

    /// Reads one key by its line; where the file says nothing, its default.
    pub fn field<T: FromToml>(&mut self, field: &FieldSpec, cx: &mut Context) -> Option<T> {
        let key = self.key(field.key);
        if let Some(value) = self.table.get(field.key) {
            return T::read(&field.spec, &field.text(), value, &key, cx);
        }
        if field.spec.fallback == Fallback::Table {
            let empty = Spanned::new(self.span.clone(), DeValue::Table(DeTable::new()));
            return T::read(&field.spec, &field.text(), &empty, &key, cx);
        }
        let fallback = T::fallback(&field.spec);
        if fallback.is_none() {
            self.missing(field, &key, cx);
        }
        fallback
    }

    fn missing(&self, field: &FieldSpec, key: &str, cx: &mut Context) {
        let span = Some(self.span.clone());
        // A misspelt key is told once, where it stands, not a second time as missing.
        if self.table.keys().any(|found| resembles(found.get_ref(), field.key)) {
            return;
        }
        let help = format!("{} Add `{}`.", field.text(), field.key);
        cx.refuse_at(key, span, format!("{key} is missing"), format!("`{}` must be given here", field.key), help);
    }

    /// Refuses every key that no line of `known` names.
    pub fn finish(&self, known: &[&[FieldSpec]], also: &[&str], cx: &mut Context) {
        let known: Vec<&FieldSpec> = known.iter().flat_map(|fields| fields.iter()).collect();
        for (key, value) in self.table.iter() {
            let name = key.get_ref().as_ref();
            if also.contains(&name) || known.iter().any(|field| field.key == name) {
                continue;
            }
            let place = match self.path.as_str() {
                "" => "the file".to_owned(),
                path if path.ends_with(']') => path.to_owned(),
                path => format!("[{path}]"),
            };
            let path = self.key(name);
            let help = suggestion(name, value, &known, also, &path);
            cx.refuse_at(&path, Some(key.span()), format!("{path} is not a key of {place}"), "unknown key", help);
        }
    }
}

/// What was probably meant by an unknown key.
fn suggestion(name: &str, value: &Spanned<DeValue<'_>>, known: &[&FieldSpec], also: &[&str], path: &str) -> String {
    let (stem, unit) = split_key(name);
    let same_thing = known.iter().find(|field| split_key(field.key).0 == stem);
    if let (Some(field), Some(unit)) = (same_thing, unit) {
        let wanted = field.spec.unit;
        let mut scratch = Context::default();
        let number = value.get_ref().as_table().is_none().then(|| plain_number(value, path, &mut scratch)).flatten();
        return match number.filter(|_| unit.dimension == wanted.dimension) {
            Some(number) => {
                let converted = tidy(wanted.from_si(unit.to_si(number)));
                format!("This number is written in {}: {} = {converted}", wanted.symbol, field.key)
            }
            None => format!("This number is written in {}, as `{}`.", wanted.symbol, field.key),
        };
    }
    let names = known.iter().map(|field| field.key).chain(also.iter().copied());
    if let Some(near) = nearest(name, names.clone()) {
        return format!("Did you mean `{near}`?");
    }
    let mut all: Vec<_> = names.collect();
    all.sort_unstable();
    format!("Keys that may stand here: {}.", all.join(", "))
}

/// Rounds away the last digits that unit conversion leaves behind.
fn tidy(number: f64) -> f64 {
    format!("{number:.12e}").parse().unwrap_or(number)
}

/// The name most like `name`, if one is like it at all.
pub fn nearest<'n>(name: &str, names: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    let scored = names.map(|candidate| (strsim::jaro_winkler(name, candidate), candidate));
    let best = scored.max_by(|a, b| a.0.total_cmp(&b.0));
    best.filter(|(score, _)| *score > 0.86).map(|(_, candidate)| candidate)
}

fn resembles(found: &str, wanted: &str) -> bool {
    let (stem, unit) = split_key(found);
    unit.is_some() && stem == split_key(wanted).0 || strsim::jaro_winkler(found, wanted) > 0.93
}

/// Reads a record from a value that must be a table.
pub fn read_record<R: Record>(value: &Spanned<DeValue<'_>>, key: &str, cx: &mut Context) -> Option<R> {
    let mut reader = open(value, key, one_line(R::MEANING), cx)?;
    let record = R::read_fields(&mut reader, cx);
    reader.finish(&[R::FIELDS], &[], cx);
    let record = record?;
    record.check(key, cx);
    Some(record)
}

/// The reader of a value that must be a table.
pub fn open<'a, 'i>(
    value: &'a Spanned<DeValue<'i>>,
    key: &str,
    meaning: String,
    cx: &mut Context,
) -> Option<TableReader<'a, 'i>> {
    let Some(table) = value.get_ref().as_table() else {
        let message = format!("{key} is {}, but a table is needed", kind_of(value.get_ref()));
        let help = if value.get_ref().is_array() {
            format!("{meaning} Only one may be given: write [{key}], with one pair of brackets.")
        } else {
            meaning
        };
        cx.refuse_at(key, Some(value.span()), message, "must be a table", help);
        return None;
    };
    Some(TableReader::new(table, key, value.span(), cx))
}

/// Schema of a record's keys.
pub fn record_schema(fields: Vec<(FieldSpec, Value)>) -> Value {
    let mut properties = Map::new();
    let mut required = Vec::new();
    for (field, mut schema) in fields {
        schema["description"] = json!(describe(&field));
        match field.spec.fallback {
            Fallback::Required => required.push(field.key),
            Fallback::Number(number) => schema["default"] = json!(number),
            Fallback::Numbers(numbers) => schema["default"] = json!(numbers),
            Fallback::Text(text) => schema["default"] = json!(text),
            Fallback::Flag(flag) => schema["default"] = json!(flag),
            Fallback::Table | Fallback::Absent => {}
        }
        properties.insert(field.key.to_owned(), schema);
    }
    json!({ "type": "object", "additionalProperties": false, "properties": properties, "required": required })
}

/// Meaning, unit and range of a key.
fn describe(field: &FieldSpec) -> String {
    let Spec { min, max, .. } = field.spec;
    if min < max { format!("{} {}.", field.text(), capital(&field.spec.range_text())) } else { field.text() }
}

fn capital(range: &str) -> String {
    format!("Range: {range}")
}
