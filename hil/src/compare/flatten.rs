//! A value taken to pieces: every number in it with its path.

use serde::{
    Serialize, Serializer,
    ser::{
        Error as _, SerializeMap, SerializeSeq, SerializeStruct, SerializeStructVariant, SerializeTuple,
        SerializeTupleStruct, SerializeTupleVariant,
    },
};
use std::fmt;

/// A value without parts.
#[derive(Clone, Debug, PartialEq)]
pub enum Leaf {
    /// A whole number or a flag, with its width in bits.
    Whole(i128, u8),
    /// A number by its bits; every *not a number* has the same.
    Single(u32),
    /// A number by its bits; every *not a number* has the same.
    Double(u64),
    /// A word: the name of a choice.
    Word(String),
    /// Nothing where there could be a value.
    None,
}

impl fmt::Display for Leaf {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Whole(value, 1) => write!(f, "{}", *value != 0),
            Self::Whole(value, _) => write!(f, "{value}"),
            Self::Single(bits) => write!(f, "{:?}", f32::from_bits(*bits)),
            Self::Double(bits) => write!(f, "{:?}", f64::from_bits(*bits)),
            Self::Word(word) => write!(f, "{word}"),
            Self::None => write!(f, "none"),
        }
    }
}

impl Leaf {
    /// The bit pattern in hexadecimal; nothing for words.
    pub fn bits(&self) -> String {
        match self {
            Self::Whole(value, width) => {
                let digits = usize::from(*width).div_ceil(4);
                let mask = if *width >= 128 { u128::MAX } else { (1 << width) - 1 };
                format!("{:0digits$x}", *value as u128 & mask)
            }
            Self::Single(bits) => format!("{bits:08x}"),
            Self::Double(bits) => format!("{bits:016x}"),
            Self::Word(_) | Self::None => "–".to_owned(),
        }
    }
}

/// All leaves of `value` with their paths, in order.
pub fn flatten<T: Serialize>(name: &str, value: &T) -> Vec<(String, Leaf)> {
    let mut leaves = Vec::new();
    // Nothing in the types compared can fail to be taken to pieces; were it otherwise, what was found so far stands.
    _ = value.serialize(Walker { path: name.to_owned(), leaves: &mut leaves });
    leaves
}

struct Walker<'a> {
    path: String,
    leaves: &'a mut Vec<(String, Leaf)>,
}

impl Walker<'_> {
    fn leaf(self, leaf: Leaf) -> Result<(), Never> {
        self.leaves.push((self.path, leaf));
        Ok(())
    }
}

struct Parts<'a> {
    path: String,
    next: usize,
    leaves: &'a mut Vec<(String, Leaf)>,
}

impl Parts<'_> {
    fn numbered<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), Never> {
        let path = format!("{}[{}]", self.path, self.next);
        self.next += 1;
        value.serialize(Walker { path, leaves: self.leaves })
    }

    fn named<T: Serialize + ?Sized>(&mut self, key: &str, value: &T) -> Result<(), Never> {
        value.serialize(Walker { path: format!("{}.{key}", self.path), leaves: self.leaves })
    }
}

impl serde::ser::Error for Never {
    fn custom<T: fmt::Display>(_: T) -> Self {
        Self
    }
}

/// The walk's own error; the standard one of [`fmt`] is not an error of serde.
#[derive(Debug)]
struct Never;

impl fmt::Display for Never {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "this value cannot be taken to pieces")
    }
}

impl std::error::Error for Never {}

impl<'a> Serializer for Walker<'a> {
    type Ok = ();
    type Error = Never;
    type SerializeSeq = Parts<'a>;
    type SerializeTuple = Parts<'a>;
    type SerializeTupleStruct = Parts<'a>;
    type SerializeTupleVariant = Parts<'a>;
    type SerializeMap = Parts<'a>;
    type SerializeStruct = Parts<'a>;
    type SerializeStructVariant = Parts<'a>;

    fn serialize_bool(self, value: bool) -> Result<(), Never> {
        self.leaf(Leaf::Whole(i128::from(value), 1))
    }

    fn serialize_i8(self, value: i8) -> Result<(), Never> {
        self.leaf(Leaf::Whole(i128::from(value), 8))
    }

    fn serialize_i16(self, value: i16) -> Result<(), Never> {
        self.leaf(Leaf::Whole(i128::from(value), 16))
    }

    fn serialize_i32(self, value: i32) -> Result<(), Never> {
        self.leaf(Leaf::Whole(i128::from(value), 32))
    }

    fn serialize_i64(self, value: i64) -> Result<(), Never> {
        self.leaf(Leaf::Whole(i128::from(value), 64))
    }

    fn serialize_u8(self, value: u8) -> Result<(), Never> {
        self.leaf(Leaf::Whole(i128::from(value), 8))
    }

    fn serialize_u16(self, value: u16) -> Result<(), Never> {
        self.leaf(Leaf::Whole(i128::from(value), 16))
    }

    fn serialize_u32(self, value: u32) -> Result<(), Never> {
        self.leaf(Leaf::Whole(i128::from(value), 32))
    }

    fn serialize_u64(self, value: u64) -> Result<(), Never> {
        self.leaf(Leaf::Whole(i128::from(value), 64))
    }

    fn serialize_f32(self, value: f32) -> Result<(), Never> {
        let one = if value.is_nan() { f32::NAN } else { value };
        self.leaf(Leaf::Single(one.to_bits()))
    }

    fn serialize_f64(self, value: f64) -> Result<(), Never> {
        let one = if value.is_nan() { f64::NAN } else { value };
        self.leaf(Leaf::Double(one.to_bits()))
    }

    fn serialize_char(self, value: char) -> Result<(), Never> {
        self.leaf(Leaf::Word(value.to_string()))
    }

    fn serialize_str(self, value: &str) -> Result<(), Never> {
        self.leaf(Leaf::Word(value.to_owned()))
    }

    fn serialize_bytes(self, value: &[u8]) -> Result<(), Never> {
        value.serialize(self)
    }

    fn serialize_none(self) -> Result<(), Never> {
        self.leaf(Leaf::None)
    }

    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Result<(), Never> {
        value.serialize(self)
    }

    fn serialize_unit(self) -> Result<(), Never> {
        self.leaf(Leaf::None)
    }

    fn serialize_unit_struct(self, name: &'static str) -> Result<(), Never> {
        self.leaf(Leaf::Word(name.to_owned()))
    }

    fn serialize_unit_variant(self, _: &'static str, _: u32, variant: &'static str) -> Result<(), Never> {
        self.leaf(Leaf::Word(variant.to_owned()))
    }

    fn serialize_newtype_struct<T: Serialize + ?Sized>(self, _: &'static str, value: &T) -> Result<(), Never> {
        value.serialize(self)
    }

    fn serialize_newtype_variant<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        value: &T,
    ) -> Result<(), Never> {
        self.leaves.push((self.path.clone(), Leaf::Word(variant.to_owned())));
        value.serialize(Walker { path: format!("{}.{variant}", self.path), leaves: self.leaves })
    }

    fn serialize_seq(self, _: Option<usize>) -> Result<Parts<'a>, Never> {
        Ok(Parts { path: self.path, next: 0, leaves: self.leaves })
    }

    fn serialize_tuple(self, _: usize) -> Result<Parts<'a>, Never> {
        self.serialize_seq(None)
    }

    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Parts<'a>, Never> {
        self.serialize_seq(None)
    }

    fn serialize_tuple_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Result<Parts<'a>, Never> {
        self.leaves.push((self.path.clone(), Leaf::Word(variant.to_owned())));
        self.serialize_seq(None)
    }

    fn serialize_map(self, _: Option<usize>) -> Result<Parts<'a>, Never> {
        self.serialize_seq(None)
    }

    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Parts<'a>, Never> {
        self.serialize_seq(None)
    }

    fn serialize_struct_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Result<Parts<'a>, Never> {
        self.leaves.push((self.path.clone(), Leaf::Word(variant.to_owned())));
        self.serialize_seq(None)
    }
}

macro_rules! numbered {
    ($($kind:ident, $method:ident;)*) => {
        $(impl $kind for Parts<'_> {
            type Ok = ();
            type Error = Never;
            fn $method<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), Never> {
                self.numbered(value)
            }
            fn end(self) -> Result<(), Never> {
                Ok(())
            }
        })*
    };
}

numbered! {
    SerializeSeq, serialize_element;
    SerializeTuple, serialize_element;
    SerializeTupleStruct, serialize_field;
    SerializeTupleVariant, serialize_field;
}

macro_rules! named {
    ($($kind:ident;)*) => {
        $(impl $kind for Parts<'_> {
            type Ok = ();
            type Error = Never;
            fn serialize_field<T: Serialize + ?Sized>(&mut self, key: &'static str, value: &T) -> Result<(), Never> {
                self.named(key, value)
            }
            fn end(self) -> Result<(), Never> {
                Ok(())
            }
        })*
    };
}

named! {
    SerializeStruct;
    SerializeStructVariant;
}

impl SerializeMap for Parts<'_> {
    type Ok = ();
    type Error = Never;

    fn serialize_key<T: Serialize + ?Sized>(&mut self, _: &T) -> Result<(), Never> {
        Err(Never::custom("no map is compared"))
    }

    fn serialize_value<T: Serialize + ?Sized>(&mut self, _: &T) -> Result<(), Never> {
        Err(Never::custom("no map is compared"))
    }

    fn end(self) -> Result<(), Never> {
        Ok(())
    }
}
