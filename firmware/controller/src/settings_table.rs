//! One table for every number an engineer may set.
//!
//! [`settings_group!`](crate::settings_group) turns a list of lines (key, type, default, range, unit, meaning) into a struct,
//! its defaults, its documentation, its range check and the text of its errors. Tests and the host's
//! file reader walk the same table, so a limit is written once.

/// What one number of the settings may be, and what it means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Field {
    /// Key in the settings file; the unit is its ending.
    pub key: &'static str,
    /// Unit, as printed for people.
    pub unit: &'static str,
    /// Smallest value accepted.
    pub min: f64,
    /// Largest value accepted.
    pub max: f64,
    /// Value where the file says nothing.
    pub default: f64,
    /// One sentence: what the number does.
    pub meaning: &'static str,
}

/// A number that a settings table can hold: `f32`, or `u32` for counts.
pub trait Number: Copy {
    /// Widened for checks and printing.
    fn to_f64(self) -> f64;
    /// Narrowed from a file's value. Counts round to the nearest whole number and saturate.
    fn from_f64(value: f64) -> Self;
    /// Whether `value` can be held without losing its meaning (counts must be whole).
    fn holds(value: f64) -> bool;
}

impl Number for f32 {
    fn to_f64(self) -> f64 {
        f64::from(self)
    }
    fn from_f64(value: f64) -> Self {
        value as f32
    }
    fn holds(value: f64) -> bool {
        value.is_finite()
    }
}

impl Number for u32 {
    fn to_f64(self) -> f64 {
        f64::from(self)
    }
    fn from_f64(value: f64) -> Self {
        value as u32
    }
    fn holds(value: f64) -> bool {
        value >= 0.0 && value <= f64::from(u32::MAX) && (value as u32) as f64 == value
    }
}

/// A group of numbers with a table.
pub trait Group: Default {
    /// Name of the group: the table heading in the settings file.
    const NAME: &'static str;
    /// The table, in file order.
    const FIELDS: &'static [Field];
    /// Value of field `index`, or `None` past the end.
    fn get(&self, index: usize) -> Option<f64>;
    /// Sets field `index`; `false` (and nothing changed) past the end, outside the range, or not a
    /// number the field can hold.
    fn set(&mut self, index: usize, value: f64) -> bool;

    /// First field outside its range, if any.
    ///
    /// # Errors
    /// Names the group, the field and the value found.
    fn check(&self) -> Result<(), OutOfRange> {
        for (index, field) in Self::FIELDS.iter().enumerate() {
            let value = self.get(index).unwrap_or(f64::NAN);
            if !in_range(field, value) {
                return Err(OutOfRange { group: Self::NAME, field, value });
            }
        }
        Ok(())
    }
}

/// Whether `value` lies in the field's range, judged in `f32` as the controller will hold it.
pub fn in_range(field: &Field, value: f64) -> bool {
    let value = value as f32;
    value >= field.min as f32 && value <= field.max as f32
}

/// A setting outside its range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutOfRange {
    /// Group it stands in.
    pub group: &'static str,
    /// Its line of the table.
    pub field: &'static Field,
    /// The value found (NaN if it was not a number).
    pub value: f64,
}

/// Declares a group of settings; see the module's text.
#[macro_export]
macro_rules! settings_group {
    (
        $(#[$doc:meta])*
        $name:ident = $group:literal {
            $( $key:ident: $ty:ident = $default:literal, $min:literal ..= $max:literal, $unit:literal, $meaning:literal; )*
        }
    ) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq)]
        pub struct $name {
            $(
                #[doc = concat!($meaning, "\n\nUnit ", $unit, ", ", stringify!($min), " to ", stringify!($max), ", default ", stringify!($default), ".")]
                pub $key: $ty,
            )*
        }

        impl Default for $name {
            fn default() -> Self {
                Self { $( $key: $default, )* }
            }
        }

        impl $crate::settings_table::Group for $name {
            const NAME: &'static str = $group;
            const FIELDS: &'static [$crate::settings_table::Field] = &[
                $( $crate::settings_table::Field {
                    key: stringify!($key),
                    unit: $unit,
                    min: $min as f64,
                    max: $max as f64,
                    default: $default as f64,
                    meaning: $meaning,
                }, )*
            ];

            fn get(&self, index: usize) -> Option<f64> {
                let mut at = 0_usize;
                $(
                    if index == at {
                        return Some($crate::settings_table::Number::to_f64(self.$key));
                    }
                    at += 1;
                )*
                let _ = at;
                None
            }

            fn set(&mut self, index: usize, value: f64) -> bool {
                let mut at = 0_usize;
                $(
                    if index == at {
                        let field = &Self::FIELDS[at];
                        if !<$ty as $crate::settings_table::Number>::holds(value)
                            || !$crate::settings_table::in_range(field, value)
                        {
                            return false;
                        }
                        self.$key = <$ty as $crate::settings_table::Number>::from_f64(value);
                        return true;
                    }
                    at += 1;
                )*
                let _ = at;
                false
            }
        }
    };
}
