//! Texts, flags, lists and values that may be left out.

use serde_json::{Value, json};
use toml::Spanned;
use toml::de::DeValue;

use super::FromToml;
use super::context::Context;
use super::number::kind_of;
use super::spec::{Fallback, Spec};

impl FromToml for bool {
    fn read(_: &Spec, meaning: &str, value: &Spanned<DeValue<'_>>, key: &str, cx: &mut Context) -> Option<Self> {
        let flag = value.get_ref().as_bool();
        if flag.is_none() {
            let message = format!("{key} is {}, but true or false is needed", kind_of(value.get_ref()));
            cx.refuse_at(key, Some(value.span()), message, "must be true or false", meaning);
        }
        flag
    }

    fn fallback(spec: &Spec) -> Option<Self> {
        match spec.fallback {
            Fallback::Flag(flag) => Some(flag),
            _ => None,
        }
    }

    fn schema(_: &Spec) -> Value {
        json!({ "type": "boolean" })
    }
}

impl FromToml for String {
    fn read(spec: &Spec, meaning: &str, value: &Spanned<DeValue<'_>>, key: &str, cx: &mut Context) -> Option<Self> {
        let Some(text) = value.get_ref().as_str() else {
            let message = format!("{key} is {}, but text is needed", kind_of(value.get_ref()));
            cx.refuse_at(key, Some(value.span()), message, "must be text in quotes", meaning);
            return None;
        };
        let plain = text.chars().all(|c| !c.is_control()) && !text.trim().is_empty();
        if !plain || text.len() > spec.max_len {
            let message = format!("{key} is blank, too long, or holds control characters");
            let label = format!("allowed: one line of 1 to {} bytes", spec.max_len);
            cx.refuse_at(key, Some(value.span()), message, label, meaning);
            return None;
        }
        Some(text.to_owned())
    }

    fn fallback(spec: &Spec) -> Option<Self> {
        match spec.fallback {
            Fallback::Text(text) => Some(text.to_owned()),
            _ => None,
        }
    }

    fn schema(spec: &Spec) -> Value {
        json!({ "type": "string", "minLength": 1, "maxLength": spec.max_len })
    }
}

impl<T: FromToml> FromToml for Option<T> {
    fn read(spec: &Spec, meaning: &str, value: &Spanned<DeValue<'_>>, key: &str, cx: &mut Context) -> Option<Self> {
        T::read(spec, meaning, value, key, cx).map(Some)
    }

    fn fallback(_: &Spec) -> Option<Self> {
        Some(None)
    }

    fn schema(spec: &Spec) -> Value {
        T::schema(spec)
    }
}

/// Reads every entry, so that all of them are checked, then keeps the list only if each was good.
fn entries<T: FromToml>(
    spec: &Spec,
    meaning: &str,
    value: &Spanned<DeValue<'_>>,
    key: &str,
    cx: &mut Context,
) -> Option<Vec<T>> {
    let Some(list) = value.get_ref().as_array() else {
        let message = format!("{key} is {}, but a list is needed", kind_of(value.get_ref()));
        let help = if value.get_ref().is_table() {
            format!("{meaning} Write [[{key}]], with two pairs of brackets, above each one.")
        } else {
            meaning.to_owned()
        };
        cx.refuse_at(key, Some(value.span()), message, "must be a list: [a, b, …]", help);
        return None;
    };
    let read: Vec<Option<T>> = list
        .iter()
        .enumerate()
        .map(|(index, entry)| {
            let key = format!("{key}[{}]", index + 1);
            cx.note(&key, entry.span(), entry.span());
            T::read(spec, meaning, entry, &key, cx)
        })
        .collect();
    read.into_iter().collect()
}

fn wrong_length(key: &str, found: usize, allowed: &str, meaning: &str, value: &Spanned<DeValue<'_>>, cx: &mut Context) {
    let message = format!("{key} has {found} entries");
    cx.refuse_at(key, Some(value.span()), message, format!("allowed: {allowed} entries"), meaning);
}

impl<T: FromToml> FromToml for Vec<T> {
    fn read(spec: &Spec, meaning: &str, value: &Spanned<DeValue<'_>>, key: &str, cx: &mut Context) -> Option<Self> {
        let list: Self = entries(spec, meaning, value, key, cx)?;
        if list.len() < spec.min_len || list.len() > spec.max_len {
            let allowed = format!("{} to {}", spec.min_len, spec.max_len);
            wrong_length(key, list.len(), &allowed, meaning, value, cx);
            return None;
        }
        Some(list)
    }

    fn fallback(spec: &Spec) -> Option<Self> {
        match spec.fallback {
            Fallback::Absent => Some(Self::new()),
            Fallback::Numbers(values) => Some(T::each_fallback(spec, values)),
            _ => None,
        }
    }

    fn schema(spec: &Spec) -> Value {
        let mut schema = json!({ "type": "array", "items": T::schema(spec), "minItems": spec.min_len });
        if spec.max_len < usize::MAX {
            schema["maxItems"] = json!(spec.max_len);
        }
        schema
    }
}

impl<T: FromToml, const N: usize> FromToml for [T; N] {
    fn read(spec: &Spec, meaning: &str, value: &Spanned<DeValue<'_>>, key: &str, cx: &mut Context) -> Option<Self> {
        let list: Vec<T> = entries(spec, meaning, value, key, cx)?;
        let found = list.len();
        match list.try_into() {
            Ok(array) => Some(array),
            Err(_) => {
                wrong_length(key, found, &N.to_string(), meaning, value, cx);
                None
            }
        }
    }

    fn fallback(spec: &Spec) -> Option<Self> {
        match spec.fallback {
            Fallback::Numbers(values) => T::each_fallback(spec, values).try_into().ok(),
            _ => None,
        }
    }

    fn schema(spec: &Spec) -> Value {
        json!({ "type": "array", "items": T::schema(spec), "minItems": N, "maxItems": N })
    }
}
