//! Chosen settings put into a settings file, with its comments and order kept.

use super::keys::differences;
use stillframe_controller::settings::Settings;
use thiserror::Error;
use toml_edit::{DocumentMut, Item, Table, TomlError, Value, value};

/// A number that was changed.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// Group and key.
    pub key: String,
    /// Before.
    pub from: f64,
    /// Now.
    pub to: f64,
}

/// Why a file cannot be changed.
#[derive(Debug, Error)]
pub enum ApplyError {
    /// Not TOML.
    #[error("it is not TOML: {0}")]
    Syntax(#[from] TomlError),
    /// A group's name stands for something else.
    #[error("[{0}] is not a table in it")]
    NoTable(String),
}

/// Text of a settings file with every number in which `to` differs from `from` set to `to`'s. Comments, order and
/// all other lines stay.
///
/// # Errors
/// [`ApplyError`].
pub fn applied(text: &str, from: &Settings, to: &Settings) -> Result<(String, Vec<Change>), ApplyError> {
    let mut document: DocumentMut = text.parse()?;
    let mut changes = Vec::new();
    for (entry, new) in differences(from, to) {
        let Some((group, key)) = entry.key.split_once('.') else { continue };
        let table = document.entry(group).or_insert_with(|| Item::Table(Table::new()));
        let table = table.as_table_like_mut().ok_or_else(|| ApplyError::NoTable(group.to_owned()))?;
        set(table, key, new);
        changes.push(Change { key: entry.key.clone(), from: entry.value, to: new });
    }
    Ok((document.to_string(), changes))
}

/// Text of a scenario file with `settings = "NAME"` in its `[run]`.
///
/// # Errors
/// [`ApplyError`].
pub fn with_settings_file(text: &str, name: &str) -> Result<String, ApplyError> {
    let mut document: DocumentMut = text.parse()?;
    let run = document.get_mut("run").and_then(Item::as_table_like_mut);
    let run = run.ok_or_else(|| ApplyError::NoTable("run".into()))?;
    run.insert("settings", value(name));
    Ok(document.to_string())
}

fn set(table: &mut dyn toml_edit::TableLike, key: &str, new: f64) {
    let mut number = number(new);
    if let Some(old) = table.get(key).and_then(Item::as_value) {
        // The comment after a number hangs on the number.
        *number.decor_mut() = old.decor().clone();
    }
    match table.get_mut(key) {
        Some(item) => *item = Item::Value(number),
        None => {
            table.insert(key, Item::Value(number));
        }
    }
}

/// A number as short as its `f32`, whole ones without a point.
fn number(new: f64) -> Value {
    let short = (new as f32).to_string();
    short.parse().unwrap_or_else(|_| Value::from(new))
}

#[cfg(test)]
mod tests {
    use super::*;

    const FILE: &str = "# mine\nformat = 1\n\n[pitch]\n# as flown\ndeadband_deg = 0.3    # deg, first guess\nfill = 0.7\n\n[gas]\nreserve_kg = 0.5 # keep\n";

    #[test]
    fn numbers_change_and_comments_stay() {
        let from = Settings::default();
        let mut to = from.clone();
        (to.pitch.deadband_deg, to.yaw.lockout_ms) = (0.25, 120);
        let (text, changes) = applied(FILE, &from, &to).expect("sound");
        assert!(text.contains("# as flown\ndeadband_deg = 0.25    # deg, first guess\nfill = 0.7"), "{text}");
        assert!(text.contains("[yaw]\nlockout_ms = 120\n") && text.contains("reserve_kg = 0.5 # keep"), "{text}");
        assert_eq!(changes.len(), 2);
        // Nothing to change leaves the file byte for byte.
        assert_eq!(applied(FILE, &from, &from).expect("sound").0, FILE);
    }

    #[test]
    fn a_scenario_is_given_its_settings_file() {
        let text = "format = 1\n[run] # what\nname = \"a\" # here\n[orbit]\n";
        let now = with_settings_file(text, "a-settings.toml").expect("sound");
        assert!(now.contains("name = \"a\" # here\nsettings = \"a-settings.toml\"\n[orbit]"), "{now}");
        assert!(with_settings_file("format = 1\n", "b").is_err());
    }
}
