//! The plan's commands put into a scenario file, with its comments and order kept.

use super::{commands::instant, study::Study};
use crate::scenario::parts::{
    ground::{Area, Cover},
    time::Utc,
};
use thiserror::Error;
use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, TomlError, Value, value};

/// Why a file cannot be changed.
#[derive(Debug, Error)]
pub enum WriteError {
    /// Not TOML.
    #[error("it is not TOML: {0}")]
    Syntax(#[from] TomlError),
    /// A name stands for something else.
    #[error("{0} is no list of tables in it: write it as [[{0}]]")]
    NoTables(&'static str),
    /// A time cannot be written.
    #[error("the time {0} cannot be written")]
    Time(Utc),
}

/// Text of a scenario with the plan's camera commands in place of its own. Other commands stay, comments and all; with
/// `areas`, the plan's areas take the place of the file's.
///
/// # Errors
/// [`WriteError`].
pub fn with_plan(text: &str, study: &Study, areas: bool) -> Result<String, WriteError> {
    let mut document: DocumentMut = text.parse()?;
    let start = study.scenario().run.start;
    if areas {
        let mut list = ArrayOfTables::new();
        study.scenario().areas.iter().for_each(|area| list.push(area_table(area)));
        replace(&mut document, "area", list)?;
    }
    let mut entries: Vec<(f64, Table)> = Vec::new();
    if let Some(item) = document.get("command") {
        let old = item.as_array_of_tables().ok_or(WriteError::NoTables("command"))?;
        for table in old.iter().filter(|table| table.get("do").and_then(Item::as_str) != Some("camera")) {
            entries.push((time_s(table, start).unwrap_or(0.0), loose(table)));
        }
    }
    for (burst, told) in study.plan.flown().zip(&study.document.bursts) {
        let mut table = Table::new();
        table.insert("do", value("camera"));
        let at = instant(start, burst.on_s);
        let stamp: toml_edit::Datetime = at.to_string().parse().map_err(|_| WriteError::Time(at))?;
        let mut stamp = Value::from(stamp);
        stamp.decor_mut().set_suffix(format!("    # {}", told.areas.join(", ")));
        table.insert("at", Item::Value(stamp));
        table.insert("for_s", value((burst.duration_s() * 10.0).round() / 10.0));
        if let Some(interval_s) = burst.interval_s {
            table.insert("interval_s", value(interval_s));
        }
        table.decor_mut().set_prefix("\n");
        entries.push((burst.on_s, table));
    }
    entries.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut list = ArrayOfTables::new();
    entries.into_iter().for_each(|(_, table)| list.push(table));
    replace(&mut document, "command", list)?;
    Ok(document.to_string())
}

/// A table without its place in the file, so that it can move in the list.
fn loose(table: &Table) -> Table {
    let mut moved = table.clone();
    moved.set_position(None);
    moved
}

fn replace(document: &mut DocumentMut, key: &'static str, list: ArrayOfTables) -> Result<(), WriteError> {
    let mut first = None;
    if let Some(item) = document.get(key) {
        let old = item.as_array_of_tables().ok_or(WriteError::NoTables(key))?;
        first = old.iter().next().and_then(|table| Some((table.position()?, table.decor().prefix().cloned())));
    }
    let mut list = list;
    if list.is_empty() {
        document.remove(key);
        return Ok(());
    }
    // All stand where the first one stood; a heading above it stays.
    if let Some((position, prefix)) = first {
        list.iter_mut().for_each(|table| table.set_position(Some(position)));
        if let (Some(table), Some(prefix)) = (list.iter_mut().next(), prefix) {
            table.decor_mut().set_prefix(prefix);
        }
    }
    document.insert(key, Item::ArrayOfTables(list));
    Ok(())
}

/// When a command of the file acts, s.
fn time_s(table: &Table, start: Utc) -> Option<f64> {
    if let Some(hours) = table.get("at_h") {
        return hours.as_float().or_else(|| hours.as_integer().map(|whole| whole as f64)).map(|hours| hours * 3600.0);
    }
    let at = table.get("at")?;
    let text = at.as_datetime().map(ToString::to_string).or_else(|| at.as_str().map(str::to_owned))?;
    Some(Utc(text.parse().ok()?).since_s(start))
}

fn area_table(area: &Area) -> Table {
    let degrees = |rad: f64| (rad.to_degrees() * 1e6).round() / 1e6;
    let pair = |at: &[f64; 2]| at.iter().map(|rad| degrees(*rad)).collect::<Array>();
    let mut table = Table::new();
    table.insert("name", value(area.name.as_str()));
    if let Some(polygon) = &area.polygon_rad {
        table.insert("polygon_deg", value(polygon.iter().map(pair).collect::<Array>()));
    }
    if let (Some(centre), Some(radius_m)) = (&area.centre_rad, area.radius_m) {
        table.insert("centre_deg", value(pair(centre)));
        table.insert("radius_km", value(radius_m * 1e-3));
    }
    table.insert("ground_height_m", value(area.ground_height_m));
    table.insert("priority", value(area.priority));
    if let Some(sun) = area.lowest_sun_rad {
        table.insert("lowest_sun_deg", value(degrees(sun)));
    }
    if let Some(sun) = area.highest_sun_rad {
        table.insert("highest_sun_deg", value(degrees(sun)));
    }
    if area.cover == Cover::Stereo {
        table.insert("cover", value(Cover::Stereo.word()));
    }
    table.decor_mut().set_prefix("\n");
    table
}
