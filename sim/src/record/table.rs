//! What a typed table is: its columns, and how a row's fields become columns.
//!
//! [`record_table!`](crate::record_table) turns a list of lines (field, type, column names, group, unit,
//! frame, meaning) into a row struct, its column list and the loop that gathers rows into columns. The
//! Parquet schema, its metadata and the table in the handbook all come from that one list.

use serde::Serialize;

use super::parquet_io::{Block, WriteResult};

/// Whose knowledge a column holds. The four are never mixed.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Group {
    /// When the row holds.
    Time,
    /// What the plant really did; nobody on board or on the ground can see it.
    Truth,
    /// What the vehicle was told to do, by its stored programme or by its own logic.
    Commanded,
    /// What the vehicle believes.
    Assumed,
    /// What a station last heard from the vehicle.
    Observed,
}

impl Group {
    /// The word used in metadata and tables.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Time => "time",
            Self::Truth => "truth",
            Self::Commanded => "commanded",
            Self::Assumed => "assumed",
            Self::Observed => "observed",
        }
    }
}

/// How a column is stored.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// 64-bit float.
    F64,
    /// 32-bit float.
    F32,
    /// Unsigned 8-bit code.
    U8,
    /// Unsigned 32-bit count or bits.
    U32,
    /// Signed 16-bit index; negative where there is none.
    I16,
    /// Yes or no.
    Bool,
}

impl Kind {
    /// The word used in metadata and tables.
    pub const fn name(self) -> &'static str {
        match self {
            Self::F64 => "f64",
            Self::F32 => "f32",
            Self::U8 => "u8",
            Self::U32 => "u32",
            Self::I16 => "i16",
            Self::Bool => "bool",
        }
    }
}

/// One column of a table.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Serialize)]
pub struct Column {
    /// Name in the file; the unit is its ending.
    pub name: &'static str,
    /// Storage.
    pub kind: Kind,
    /// Whose knowledge it is.
    pub group: Group,
    /// Unit, as printed for people; `1` where it has none.
    pub unit: &'static str,
    /// Frame of a vector's component, or `-`.
    pub frame: &'static str,
    /// One sentence: what the number is.
    pub meaning: &'static str,
}

/// A number that a column can hold.
pub trait Scalar: Copy {
    /// Storage of such a column.
    const KIND: Kind;
    /// The value of a field nobody filled: NaN for floats, so that a forgotten column shows.
    const BLANK: Self;
    /// Widened, for digests and tests; `false` is 0 and `true` 1.
    fn widen(self) -> f64;
    /// Writes one column of these.
    ///
    /// # Errors
    /// As the file's writer.
    fn write(block: &mut Block<'_>, values: impl Iterator<Item = Self>) -> WriteResult<()>;
}

macro_rules! scalar {
    ($type:ty, $kind:ident, $blank:expr, $widen:expr, $put:ident) => {
        impl Scalar for $type {
            const KIND: Kind = Kind::$kind;
            const BLANK: Self = $blank;
            fn widen(self) -> f64 {
                let widen: fn(Self) -> f64 = $widen;
                widen(self)
            }
            fn write(block: &mut Block<'_>, values: impl Iterator<Item = Self>) -> WriteResult<()> {
                block.$put(values)
            }
        }
    };
}

scalar!(f64, F64, f64::NAN, |v| v, put_f64);
scalar!(f32, F32, f32::NAN, f64::from, put_f32);
scalar!(u8, U8, 0, f64::from, put_u8);
scalar!(u32, U32, 0, f64::from, put_u32);
scalar!(i16, I16, -1, f64::from, put_i16);
scalar!(bool, Bool, false, |v| f64::from(u8::from(v)), put_bool);

/// A field of a row: one number, or a fixed number of them, one column each.
pub trait Cell: Copy {
    /// What each of its columns holds.
    type Part: Scalar;
    /// How many columns it makes.
    const PARTS: usize;
    /// A field nobody filled.
    const BLANK: Self;
    /// The part for column `index` of this field (the last one past the end).
    fn part(&self, index: usize) -> Self::Part;
}

impl<S: Scalar> Cell for S {
    type Part = S;
    const PARTS: usize = 1;
    const BLANK: Self = S::BLANK;
    fn part(&self, _index: usize) -> S {
        *self
    }
}

impl<S: Scalar, const N: usize> Cell for [S; N] {
    type Part = S;
    const PARTS: usize = N;
    const BLANK: Self = [S::BLANK; N];
    fn part(&self, index: usize) -> S {
        self[index.min(N - 1)]
    }
}

/// A row type made by [`record_table!`](crate::record_table).
pub trait Table: Clone {
    /// Its columns, in file order.
    const COLUMNS: &'static [Column];
    /// A row with nothing filled in.
    const BLANK: Self;
    /// Hands the rows over column by column, in the order of [`Table::COLUMNS`].
    ///
    /// # Errors
    /// As the file's writer.
    fn gather(rows: &[Self], block: &mut Block<'_>) -> WriteResult<()>;
    /// The number in column `index`, widened; `None` past the end.
    fn value(&self, index: usize) -> Option<f64>;
}

/// Declares a row struct and its columns; see the module's text.
#[macro_export]
macro_rules! record_table {
    (
        $(#[$doc:meta])*
        $name:ident {
            $( $field:ident: $type:ty [ $($column:literal)+ ] $group:ident, $unit:literal, $frame:literal, $meaning:literal; )*
        }
    ) => {
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq)]
        pub struct $name {
            $(
                #[doc = concat!($meaning, "\n\nUnit ", $unit, "; frame ", $frame, "; ", stringify!($group), ".")]
                pub $field: $type,
            )*
        }

        impl Default for $name {
            fn default() -> Self {
                <Self as $crate::record::table::Table>::BLANK
            }
        }

        impl $crate::record::table::Table for $name {
            const COLUMNS: &'static [$crate::record::table::Column] = &[
                $( $( $crate::record::table::Column {
                    name: $column,
                    kind: <<$type as $crate::record::table::Cell>::Part as $crate::record::table::Scalar>::KIND,
                    group: $crate::record::table::Group::$group,
                    unit: $unit,
                    frame: $frame,
                    meaning: $meaning,
                }, )+ )*
            ];
            const BLANK: Self = Self {
                $( $field: <$type as $crate::record::table::Cell>::BLANK, )*
            };

            fn gather(
                rows: &[Self],
                block: &mut $crate::record::parquet_io::Block<'_>,
            ) -> $crate::record::parquet_io::WriteResult<()> {
                use $crate::record::table::{Cell, Scalar};
                $(
                    for part in 0..<$type as Cell>::PARTS {
                        <$type as Cell>::Part::write(block, rows.iter().map(|row| row.$field.part(part)))?;
                    }
                )*
                Ok(())
            }

            fn value(&self, index: usize) -> Option<f64> {
                use $crate::record::table::{Cell, Scalar};
                let mut start = 0_usize;
                $(
                    if index < start + <$type as Cell>::PARTS {
                        return Some(self.$field.part(index - start).widen());
                    }
                    start += <$type as Cell>::PARTS;
                )*
                let _ = start;
                None
            }
        }
    };
}
