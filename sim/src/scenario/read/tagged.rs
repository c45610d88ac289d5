//! Tables whose other keys depend on one of them (`kind = …`, `do = …`).

use std::ops::Deref;

use serde_json::{Value, json};
use toml::Spanned;
use toml::de::DeValue;

use super::context::Context;
use super::number::kind_of;
use super::spec::{FieldSpec, Spec, one_line};
use super::table::{TableReader, nearest, open, record_schema};
use super::{FromToml, Record};

/// One of several records, chosen by a key.
pub trait Union: Sized {
    /// The key that chooses.
    const TAG: &'static str;
    /// Name and meaning of each choice.
    const VARIANTS: &'static [(&'static str, &'static str)];
    /// Keys of choice `index`.
    fn fields(index: usize) -> &'static [FieldSpec];
    /// Reads the keys of choice `index`, of the table called `key`, and checks them against each other.
    fn read_variant(index: usize, key: &str, reader: &mut TableReader<'_, '_>, cx: &mut Context) -> Option<Self>;
    /// Schemas of the keys of choice `index`.
    fn schemas(index: usize) -> Vec<(FieldSpec, Value)>;
}

/// Keys that every choice has, and those of the choice. Reads through to the common ones.
#[derive(Clone, Debug, PartialEq)]
pub struct Tagged<C, U> {
    /// Keys of every choice.
    pub common: C,
    /// The choice and its own keys.
    pub kind: U,
}

impl<C, U> Deref for Tagged<C, U> {
    type Target = C;
    fn deref(&self) -> &C {
        &self.common
    }
}

impl<C: Record, U: Union> FromToml for Tagged<C, U> {
    fn read(_: &Spec, meaning: &str, value: &Spanned<DeValue<'_>>, key: &str, cx: &mut Context) -> Option<Self> {
        let mut reader = open(value, key, meaning.to_owned(), cx)?;
        let index = read_tag::<U>(&reader, value, key, cx)?;
        let common = C::read_fields(&mut reader, cx);
        let kind = U::read_variant(index, key, &mut reader, cx);
        reader.finish(&[C::FIELDS, U::fields(index)], &[U::TAG], cx);
        let tagged = Self { common: common?, kind: kind? };
        tagged.common.check(key, cx);
        Some(tagged)
    }

    fn schema(_: &Spec) -> Value {
        let variants = U::VARIANTS.iter().enumerate().map(|(index, (name, meaning))| {
            let mut fields = C::schemas();
            fields.extend(U::schemas(index));
            let mut schema = record_schema(fields);
            schema["properties"][U::TAG] = json!({ "const": name, "description": one_line(meaning) });
            if let Some(required) = schema["required"].as_array_mut() {
                required.push(json!(U::TAG));
            }
            schema["title"] = json!(name);
            schema
        });
        json!({ "oneOf": variants.collect::<Vec<_>>() })
    }
}

fn read_tag<U: Union>(
    reader: &TableReader<'_, '_>,
    table: &Spanned<DeValue<'_>>,
    key: &str,
    cx: &mut Context,
) -> Option<usize> {
    let names = U::VARIANTS.iter().map(|(name, _)| *name);
    let all = names.clone().map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", ");
    let path = format!("{key}.{}", U::TAG);
    let Some(value) = reader.raw(U::TAG) else {
        let help = format!("Add `{}` with one of {all}.", U::TAG);
        cx.refuse_at(&path, Some(table.span()), format!("{path} is missing"), "must say which kind it is", help);
        return None;
    };
    let Some(found) = value.get_ref().as_str() else {
        let message = format!("{path} is {}, but text is needed", kind_of(value.get_ref()));
        cx.refuse_at(&path, Some(value.span()), message, "must be text in quotes", format!("Allowed: {all}."));
        return None;
    };
    let index = U::VARIANTS.iter().position(|(name, _)| *name == found);
    if index.is_none() {
        let guess = nearest(found, names).map_or_else(String::new, |near| format!("Did you mean \"{near}\"? "));
        let message = format!("{path} = \"{found}\" is not known");
        cx.refuse_at(&path, Some(value.span()), message, "unknown kind", format!("{guess}Allowed: {all}."));
    }
    index
}
