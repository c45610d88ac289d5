//! The way in: from a spanned TOML document to typed SI values, driven by one table for each group of keys.
//!
//! [`record!`](macro@crate::record) turns lines (field, type, key, limits) into a struct, its documentation, its
//! reader, its errors and its JSON Schema, so that a limit is written once. Unlike a derived
//! deserialiser, a reading goes on after a problem, so that a file's problems are told together.

pub mod context;
pub mod number;
pub mod problem;
pub mod spec;
pub mod spread;
pub mod table;
pub mod tagged;
pub mod unit;
mod value;

use serde_json::Value;
use toml::Spanned;
use toml::de::DeValue;

use context::Context;
use spec::{FieldSpec, Spec};
use table::{TableReader, read_record, record_schema};

/// A type that a key may hold.
pub trait FromToml: Sized {
    /// Reads `value`, which stands at `key`. A failure leaves a problem behind.
    fn read(spec: &Spec, meaning: &str, value: &Spanned<DeValue<'_>>, key: &str, cx: &mut Context) -> Option<Self>;

    /// The value where the file says nothing; `None` if it must say.
    fn fallback(_: &Spec) -> Option<Self> {
        None
    }

    /// Values of a list's default.
    fn each_fallback(_: &Spec, _: &[f64]) -> Vec<Self> {
        Vec::new()
    }

    /// JSON Schema of the value.
    fn schema(spec: &Spec) -> Value;
}

/// A table with fixed keys.
pub trait Record: Sized {
    /// What the table is.
    const MEANING: &'static str;
    /// Its keys.
    const FIELDS: &'static [FieldSpec];
    /// Reads every key.
    fn read_fields(reader: &mut TableReader<'_, '_>, cx: &mut Context) -> Option<Self>;
    /// Schema of every key.
    fn schemas() -> Vec<(FieldSpec, Value)>;
    /// Checks keys against each other.
    fn check(&self, _key: &str, _cx: &mut Context) {}
}

impl<R: Record> FromToml for R {
    fn read(_: &Spec, _: &str, value: &Spanned<DeValue<'_>>, key: &str, cx: &mut Context) -> Option<Self> {
        read_record(value, key, cx)
    }

    fn schema(_: &Spec) -> Value {
        record_schema(Self::schemas())
    }
}

/// Declares a table of the file: a struct in SI, read from keys in file units.
///
/// Each line is `/// meaning`, `field: type = "key", limits;`. An optional `checked by path` names a
/// `fn(&Self, &str, &mut Context)` that judges the keys against each other.
#[macro_export]
macro_rules! record {
    (
        $(#[doc = $doc:literal])+
        $name:ident $(checked by $check:path)? {
            $( $(#[doc = $meaning:literal])+ $field:ident: $ty:ty = $key:literal, $spec:expr; )*
        }
    ) => {
        $(#[doc = $doc])+
        #[derive(Clone, Debug, PartialEq)]
        pub struct $name {
            $( $(#[doc = $meaning])+ #[doc = concat!("\n\nKey `", $key, "`.")] pub $field: $ty, )*
        }

        impl $crate::scenario::read::Record for $name {
            const MEANING: &'static str = concat!($($doc),+);
            const FIELDS: &'static [$crate::scenario::read::spec::FieldSpec] = &[
                $( $crate::scenario::read::spec::FieldSpec {
                    key: $key,
                    meaning: concat!($($meaning),+),
                    spec: $spec,
                }, )*
            ];

            #[allow(unused_mut, unused_variables)]
            fn read_fields(
                reader: &mut $crate::scenario::read::table::TableReader<'_, '_>,
                cx: &mut $crate::scenario::read::context::Context,
            ) -> Option<Self> {
                let mut lines = Self::FIELDS.iter();
                $( let $field: Option<$ty> = reader.field(lines.next()?, cx); )*
                Some(Self { $( $field: $field?, )* })
            }

            #[allow(unused_mut, unused_variables)]
            fn schemas() -> Vec<($crate::scenario::read::spec::FieldSpec, serde_json::Value)> {
                let mut lines = Self::FIELDS.iter().copied();
                let mut schemas = Vec::new();
                $( if let Some(line) = lines.next() {
                    schemas.push((line, <$ty as $crate::scenario::read::FromToml>::schema(&line.spec)));
                } )*
                schemas
            }

            $( fn check(&self, key: &str, cx: &mut $crate::scenario::read::context::Context) {
                $check(self, key, cx);
            } )?
        }
    };
}

/// Declares a value that is one of a few words.
#[macro_export]
macro_rules! choice {
    (
        $(#[doc = $doc:literal])+
        $name:ident { $( $(#[doc = $meaning:literal])+ $variant:ident = $word:literal, )+ }
    ) => {
        $(#[doc = $doc])+
        #[derive(Clone, Copy, Debug, Eq, Hash, Ord, PartialEq, PartialOrd)]
        pub enum $name { $( $(#[doc = $meaning])+ $variant, )+ }

        impl $name {
            /// Every choice.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The word in the file.
            pub const fn word(self) -> &'static str {
                match self { $( Self::$variant => $word, )+ }
            }
        }

        impl $crate::scenario::read::FromToml for $name {
            fn read(
                _: &$crate::scenario::read::spec::Spec,
                meaning: &str,
                value: &toml::Spanned<toml::de::DeValue<'_>>,
                key: &str,
                cx: &mut $crate::scenario::read::context::Context,
            ) -> Option<Self> {
                let found = value.get_ref().as_str();
                let choice = Self::ALL.iter().copied().find(|choice| Some(choice.word()) == found);
                if choice.is_none() {
                    let all: Vec<_> = Self::ALL.iter().map(|choice| format!("\"{}\"", choice.word())).collect();
                    let message = match found {
                        Some(word) => format!("{key} = \"{word}\" is not known"),
                        None => format!("{key} must be text"),
                    };
                    cx.refuse_at(key, Some(value.span()), message, format!("allowed: {}", all.join(", ")), meaning);
                }
                choice
            }

            fn fallback(spec: &$crate::scenario::read::spec::Spec) -> Option<Self> {
                match spec.fallback {
                    $crate::scenario::read::spec::Fallback::Text(word) => {
                        Self::ALL.iter().copied().find(|choice| choice.word() == word)
                    }
                    _ => None,
                }
            }

            fn schema(_: &$crate::scenario::read::spec::Spec) -> serde_json::Value {
                serde_json::json!({ "enum": [$($word),+] })
            }
        }
    };
}

/// Declares the choices of a table whose keys depend on one of them.
#[macro_export]
macro_rules! union {
    (
        $(#[doc = $doc:literal])+
        $name:ident by $tag:literal {
            $( $(#[doc = $meaning:literal])+ $variant:ident($ty:ty) = $word:literal, )+
        }
    ) => {
        $(#[doc = $doc])+
        #[derive(Clone, Debug, PartialEq)]
        pub enum $name { $( $(#[doc = $meaning])+ $variant($ty), )+ }

        impl $name {
            /// The word in the file.
            pub const fn word(&self) -> &'static str {
                match self { $( Self::$variant(_) => $word, )+ }
            }
        }

        impl $crate::scenario::read::tagged::Union for $name {
            const TAG: &'static str = $tag;
            const VARIANTS: &'static [(&'static str, &'static str)] = &[$( ($word, concat!($($meaning),+)), )+];

            fn fields(index: usize) -> &'static [$crate::scenario::read::spec::FieldSpec] {
                let all = [$( <$ty as $crate::scenario::read::Record>::FIELDS, )+];
                all.get(index).copied().unwrap_or(&[])
            }

            fn read_variant(
                index: usize,
                key: &str,
                reader: &mut $crate::scenario::read::table::TableReader<'_, '_>,
                cx: &mut $crate::scenario::read::context::Context,
            ) -> Option<Self> {
                let word = Self::VARIANTS.get(index)?.0;
                $( if word == $word {
                    let read = <$ty as $crate::scenario::read::Record>::read_fields(reader, cx)?;
                    $crate::scenario::read::Record::check(&read, key, cx);
                    return Some(Self::$variant(read));
                } )+
                None
            }

            fn schemas(index: usize) -> Vec<($crate::scenario::read::spec::FieldSpec, serde_json::Value)> {
                let all = [$( <$ty as $crate::scenario::read::Record>::schemas as fn() -> Vec<_>, )+];
                all.get(index).map_or_else(Vec::new, |schemas| schemas())
            }
        }
    };
}

/// Schema of a number with a spread.
pub fn spread_schema() -> Value {
    spread::schema()
}
