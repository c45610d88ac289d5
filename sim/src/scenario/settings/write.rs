//! A settings file with unit, range and meaning beside every number.

use std::fmt::Write;

use stillframe_controller::settings_table::{Field, Group};

use super::{GroupVisitor, SettingsList};

/// Text of a settings file that holds `settings`; reading it gives them back bit for bit.
pub fn write_settings<S: SettingsList + Clone>(settings: &S) -> String {
    let mut visitor = Writer(HEADER.to_owned());
    settings.clone().visit(&mut visitor);
    visitor.0
}

const HEADER: &str = "# Settings of the controller. Keys left out keep their defaults; `stillframe settings` prints those.\n\
                      # Beside each number: unit, allowed range, default.\n\
                      format = 1\n";

struct Writer(String);

impl Writer {
    fn values<G: Group>(&mut self, header: &str, group: &G) {
        // Writing to a String cannot fail.
        let _ = writeln!(self.0, "\n{header}");
        for (index, field) in G::FIELDS.iter().enumerate() {
            let value = group.get(index).unwrap_or(field.default);
            let _ = writeln!(self.0, "# {}\n{} = {}    # {}", field.meaning, field.key, number(value), range(field));
        }
    }
}

/// A number that reads back to the same `f32` and no longer than it must be.
fn number(value: f64) -> String {
    let short = value as f32;
    if f64::from(short) == value { short.to_string() } else { value.to_string() }
}

fn range(field: &Field) -> String {
    let Field { unit, min, max, default, .. } = field;
    let unit = if *unit == "1" || unit.is_empty() { String::new() } else { format!("{unit}, ") };
    format!("{unit}{} to {}, default {}", *min as f32, *max as f32, *default as f32)
}

impl GroupVisitor for Writer {
    fn group<G: Group>(&mut self, group: &mut G) {
        self.values(&format!("[{}]", G::NAME), group);
    }

    fn array<G, A>(&mut self, items: &mut A, _: usize)
    where
        G: Group,
        A: AsRef<[G]> + Default + Extend<G>,
    {
        for item in items.as_ref() {
            self.values(&format!("[[{}]]", G::NAME), item);
        }
    }
}
