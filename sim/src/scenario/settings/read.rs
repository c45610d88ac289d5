//! A settings file to settings: ranges, units and meanings come from the controller's table.

use std::collections::BTreeMap;

use stillframe_controller::settings_table::{Field, Group, in_range};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::{GroupVisitor, SettingsList};
use crate::scenario::FORMAT;
use crate::scenario::load::syntax;
use crate::scenario::read::context::Context;
use crate::scenario::read::number::{kind_of, plain_number};
use crate::scenario::read::problem::Refusal;
use crate::scenario::read::table::nearest;

/// Reads settings from `text`; `name` is used in messages. Keys and tables left out keep their defaults.
///
/// # Errors
/// A [`Refusal`] with everything found wrong: unknown tables and keys, values outside their range.
pub fn read_settings<S: SettingsList>(name: &str, text: &str) -> Result<S, Box<Refusal>> {
    let refuse = |problems| Box::new(Refusal::new(name, text, problems));
    let table = DeTable::parse(text).map_err(|error| refuse(vec![syntax(text, &error)]))?;
    let cx = Context::new(text.trim_end().len(), BTreeMap::new());
    let mut reader = Reader { table: table.get_ref(), cx, known: vec!["format"] };
    let mut settings = S::default();
    settings.visit(&mut reader);
    reader.format();
    reader.unknown_tables();
    let mut cx = reader.cx;
    if cx.problems.is_empty() {
        for (key, message, help) in settings.faults() {
            cx.refuse(&key, message, "does not fit the rest", help);
        }
    }
    if cx.problems.is_empty() { Ok(settings) } else { Err(refuse(cx.problems)) }
}

struct Reader<'a, 'i> {
    table: &'a DeTable<'i>,
    cx: Context,
    known: Vec<&'static str>,
}

impl Reader<'_, '_> {
    fn format(&mut self) {
        let Some(value) = self.table.get("format") else {
            let help = format!("Write `format = {FORMAT}` as the first line.");
            let label = format!("`format = {FORMAT}` belongs here");
            self.cx.refuse_at("format", Some(0..0), "format is missing".to_owned(), label, help);
            return;
        };
        let found = plain_number(value, "format", &mut self.cx);
        if found.is_some_and(|found| found != FORMAT as f64) {
            let message = format!("format = {} is not known to this program", found.unwrap_or_default());
            self.cx.refuse_at("format", Some(value.span()), message, format!("allowed: {FORMAT}"), "");
        }
    }

    fn unknown_tables(&mut self) {
        for (key, _) in self.table.iter() {
            let name = key.get_ref().as_ref();
            if self.known.contains(&name) {
                continue;
            }
            let help = match nearest(name, self.known.iter().copied()) {
                Some(near) => format!("Did you mean [{near}]?"),
                None => format!("Tables of a settings file: {}.", self.known.join(", ")),
            };
            let message = format!("[{name}] is not a table of the settings");
            self.cx.refuse_at(name, Some(key.span()), message, "unknown table", help);
        }
    }

    fn values<G: Group>(&mut self, value: &Spanned<DeValue<'_>>, path: &str) -> G {
        let mut group = G::default();
        self.cx.note(path, value.span(), value.span());
        let Some(table) = value.get_ref().as_table() else {
            let message = format!("{path} is {}, but a table is needed", kind_of(value.get_ref()));
            self.cx.refuse_at(path, Some(value.span()), message, "must be a table", "");
            return group;
        };
        for (key, value) in table.iter() {
            let name = key.get_ref().as_ref();
            let path = format!("{path}.{name}");
            self.cx.note(&path, key.span(), value.span());
            match G::FIELDS.iter().position(|field| field.key == name) {
                Some(index) => self.value(&mut group, index, value, &path),
                None => {
                    let help = unknown_key::<G>(name);
                    let message = format!("{path} is not a key of [{}]", G::NAME);
                    self.cx.refuse_at(&path, Some(key.span()), message, "unknown key", help);
                }
            }
        }
        group
    }

    fn value<G: Group>(&mut self, group: &mut G, index: usize, value: &Spanned<DeValue<'_>>, path: &str) {
        let Some(field) = G::FIELDS.get(index) else {
            return;
        };
        let Some(number) = plain_number(value, path, &mut self.cx) else {
            return;
        };
        if group.set(index, number) {
            return;
        }
        let Field { unit, min, max, default, meaning, .. } = field;
        let (min, max, default) = (*min as f32, *max as f32, *default as f32);
        let whole = if in_range(field, number) { " as a whole number" } else { "" };
        let message = format!("{path} = {number} is not allowed");
        let label = format!("allowed: {min} to {max} {unit}{whole}");
        let help = format!("{meaning} The default is {default} {unit}.");
        self.cx.refuse_at(path, Some(value.span()), message, label, help);
    }
}

fn unknown_key<G: Group>(name: &str) -> String {
    let names = G::FIELDS.iter().map(|field| field.key);
    match nearest(name, names.clone()) {
        Some(near) => format!("Did you mean `{near}`?"),
        None => format!("Keys of [{}]: {}.", G::NAME, names.collect::<Vec<_>>().join(", ")),
    }
}

impl GroupVisitor for Reader<'_, '_> {
    fn group<G: Group>(&mut self, group: &mut G) {
        self.known.push(G::NAME);
        if let Some(value) = self.table.get(G::NAME) {
            *group = self.values(value, G::NAME);
        }
    }

    fn array<G, A>(&mut self, items: &mut A, max: usize)
    where
        G: Group,
        A: AsRef<[G]> + Default + Extend<G>,
    {
        self.known.push(G::NAME);
        let Some(value) = self.table.get(G::NAME) else {
            return;
        };
        let Some(list) = value.get_ref().as_array() else {
            let message = format!("{} is {}, but a list is needed", G::NAME, kind_of(value.get_ref()));
            let help = format!("Write each one under its own [[{}]].", G::NAME);
            self.cx.refuse_at(G::NAME, Some(value.span()), message, "must be a list of tables", help);
            return;
        };
        if list.len() > max {
            let message = format!("{} has {} entries", G::NAME, list.len());
            self.cx.refuse_at(G::NAME, Some(value.span()), message, format!("allowed: at most {max}"), "");
            return;
        }
        let read: Vec<G> =
            list.iter().zip(1..).map(|(entry, n)| self.values(entry, &format!("{}[{n}]", G::NAME))).collect();
        *items = A::default();
        items.extend(read);
    }
}
