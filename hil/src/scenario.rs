//! The bench's built-in scenarios, and finding one by its name.

use std::path::Path;
use stillframe::{
    flight::settings::{SettingsFile, fitted},
    scenario::{
        BuiltIn, Loaded, Refusal,
        demo::Demo,
        load, read,
        settings::{read_settings, write_settings},
    },
};

const EDGE: &str = include_str!("../scenarios/edge.toml");
const EDGE_SETTINGS: &str = include_str!("../scenarios/edge-settings.toml");

/// What the short flight's text has for a strip camera, and what a framing camera wants there.
const FRAMING: [(&str, &str); 5] = [
    ("name = \"edge\"", "name = \"edge-frame\""),
    ("kind = \"strip\"", "kind = \"frame\""),
    ("frame_length_mm = 34.0", "frame_length_mm = 114.0"),
    (
        "slit_widths_mm = [0.0685, 0.0969, 0.137, 0.194]   # half a stop apart\nshutter_travel_ms = 30.0",
        "shutter_ms = [1.4, 2.0, 2.8, 4.0]\nshutter_efficiency_percent = 90.0\nframe_gap_mm = 4.0\n\
         shortest_cycle_s = 2.0\noverlap_percent = 10.0\nplaten_step_mm_s = 0.1\nplaten_travel_mm = 3.0",
    ),
    ("for_s = 40.0", "for_s = 40.0\ninterval_s = 2.5"),
];

/// Names of the built-in scenarios, for the help text.
pub const BUILT_IN: &str = "edge (72 s, exposing from the 15th on), edge-frame (the same with a framing camera), strip, frame or sweep (the demonstration's day)";

/// The short flight at the edge of an area.
///
/// # Errors
/// None in a sound build: a test reads it.
pub fn edge() -> Result<Loaded, Box<Refusal>> {
    read("edge.toml", EDGE, &BuiltIn(&[("edge-settings.toml", EDGE_SETTINGS)]))
}

/// The short flight with a framing camera: the same vehicle, other film transport and exposure.
///
/// # Errors
/// None in a sound build: a test flies it.
pub fn edge_frame() -> Result<Loaded, Box<Refusal>> {
    let mut text = EDGE.to_owned();
    for (strip, frame) in FRAMING {
        text = text.replacen(strip, frame, 1);
    }
    let mut loaded = read("edge-frame.toml", &text, &BuiltIn(&[("edge-settings.toml", EDGE_SETTINGS)]))?;
    // Its film and camera settings are those that fit it; all else is the strip camera's flight's.
    let SettingsFile(mut settings) = read_settings("edge-settings.toml", EDGE_SETTINGS)?;
    let fit = fitted(&loaded.scenario);
    (settings.film, settings.camera) = (fit.film, fit.camera);
    loaded.settings = Some(("edge-frame-settings.toml".into(), write_settings(&SettingsFile(settings))));
    Ok(loaded)
}

/// A built-in scenario by its name, or one in a file.
///
/// # Errors
/// Everything wrong in the file, or why it could not be read.
pub fn find(name: &Path) -> Result<Loaded, Box<Refusal>> {
    match name.to_str() {
        Some("edge") => edge(),
        Some("edge-frame") => edge_frame(),
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
