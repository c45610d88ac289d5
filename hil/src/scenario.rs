//! The bench's built-in scenarios, and finding one by its name.

use std::path::Path;
use stillframe::scenario::{BuiltIn, Loaded, Refusal, demo::Demo, load, read};

const EDGE: &str = include_str!("../scenarios/edge.toml");
const EDGE_SETTINGS: &str = include_str!("../scenarios/edge-settings.toml");

/// Names of the built-in scenarios, for the help text.
pub const BUILT_IN: &str = "edge (72 s, exposing from the 15th on), strip or frame (the demonstration's day)";

/// The short flight at the edge of an area.
///
/// # Errors
/// None in a sound build: a test reads it.
pub fn edge() -> Result<Loaded, Box<Refusal>> {
    read("edge.toml", EDGE, &BuiltIn(&[("edge-settings.toml", EDGE_SETTINGS)]))
}

/// A built-in scenario by its name, or one in a file.
///
/// # Errors
/// Everything wrong in the file, or why it could not be read.
pub fn find(name: &Path) -> Result<Loaded, Box<Refusal>> {
    match name.to_str() {
        Some("edge") => edge(),
        Some("strip") => Demo::Strip.load(),
        Some("frame") => Demo::Frame.load(),
        Some("sweep") => Demo::Sweep.load(),
        _ => load(name),
    }
}

/// Ends a scenario after so many base ticks; how many commands and faults that leaves out.
pub fn cut(loaded: &mut Loaded, ticks: u64) -> usize {
    loaded.scenario.shorten(ticks as f64 * stillframe::plant::TICK_S)
}
