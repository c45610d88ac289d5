//! A small scenario to change, and helpers to change it.

use stillframe::scenario::{BuiltIn, Loaded, Refusal, read};

/// A sound scenario with one of everything. It stands apart from the demonstrations, so that changing those
/// changes no expected message.
pub const BASE: &str = include_str!("base.toml");

/// Reads `text` with no files beside it.
pub fn read_text(text: &str) -> Result<Loaded, Box<Refusal>> {
    read("base.toml", text, &BuiltIn(&[]))
}

/// [`BASE`] with the first `find` of each pair replaced.
#[track_caller]
pub fn edited(edits: &[(&str, &str)]) -> String {
    edits.iter().fold(BASE.to_owned(), |text, (find, replace)| {
        assert!(text.contains(find), "the base scenario does not hold {find:?}");
        text.replacen(find, replace, 1)
    })
}

/// Turns the base scenario's strip camera into a framing camera.
pub const FRAMING: [(&str, &str); 5] = [
    ("kind = \"strip\"", "kind = \"frame\""),
    ("slit_widths_mm = [0.068, 0.097, 0.137, 0.194]", "shutter_ms = [1.0, 2.0, 4.0, 8.0]"),
    ("shutter_travel_ms = 30.0", "shortest_cycle_s = 2.0"),
    ("slit = 3", "slit = 4\ninterval_s = 3.0"),
    ("scene_reflectance_percent = 15.0\n", ""),
];

/// Compares `text` with the stored snapshot `name`. Blanks at line ends, which the renderer leaves, are cut off:
/// editors would take them away.
#[track_caller]
pub fn snapshot(name: &str, text: &str) {
    let text = text.lines().map(str::trim_end).collect::<Vec<_>>().join("\n");
    insta::with_settings!({ omit_expression => true, prepend_module_to_snapshot => false, snapshot_path => "messages" }, {
        insta::assert_snapshot!(name, text);
    });
}
