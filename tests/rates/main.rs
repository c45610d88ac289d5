//! Film rates over a mission: required, commanded, reached, and the programme between.

mod closed_forms;
mod command;
mod drive;
mod first_principles;
mod programme;
mod record;
mod schema;

#[path = "../program.rs"]
mod program;

use stillframe::{
    design::film_rates::{Options, Study, study},
    scenario::{BuiltIn, Loaded, demo::Demo, read},
};

/// A built-in scenario.
pub fn demo(demo: Demo) -> Loaded {
    demo.load().expect("the demonstration is sound")
}

/// The strip camera's scenario with some text in place of another.
pub fn changed(demo: Demo, from: &str, to: &str) -> Loaded {
    let text = demo.text();
    assert!(text.contains(from), "the demonstration has no {from}");
    read(demo.file(), &text.replacen(from, to, 1), &BuiltIn(&[])).expect("a sound scenario")
}

/// Six hours: more than one load, four revolutions.
pub fn six_hours() -> Options {
    Options { duration_s: 6.0 * 3600.0, runs_per_revolution: 8, ..Options::default() }
}

fn made(loaded: &Loaded, options: &Options) -> Study {
    study(loaded, options, &|_| {}).expect("a study")
}

#[track_caller]
fn close(found: f64, wanted: f64, relative: f64) {
    assert!((found / wanted - 1.0).abs() <= relative, "{found} is not {wanted} within {relative:e}");
}
