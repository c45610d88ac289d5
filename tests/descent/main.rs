//! The return against the world: closed forms of entry and deorbit, an independent integration, published tables,
//! and the command as a user runs it.

mod air;
mod capsule;
mod closed_forms;
mod command;
mod confidence;
mod faults;
mod footprint;
mod independent;
mod keys;
mod late;
mod schema;
mod spin;

#[path = "../program.rs"]
mod program;

use std::sync::OnceLock;

use stillframe::descent::{self, AtRetro, Model, Options, Study};
use stillframe::scenario::{Loaded, demo::Demo};

/// The demonstration.
pub fn demo() -> Loaded {
    Demo::Strip.load().expect("the demonstration is sound")
}

/// The demonstration's return with 200 descents, made once.
pub fn made() -> &'static Study {
    static MADE: OnceLock<Study> = OnceLock::new();
    MADE.get_or_init(|| {
        let options = Options { runs: 200, ..Options::default() };
        descent::study(&demo(), &options, &|_| {}).expect("a return")
    })
}

/// The demonstration's capsule and plan, and its ignition.
pub fn model() -> (Model, AtRetro) {
    (made().model.clone(), made().descents.at)
}

#[track_caller]
fn close(found: f64, wanted: f64, relative: f64) {
    assert!((found / wanted - 1.0).abs() <= relative, "{found} is not {wanted} within {relative:e}");
}

#[track_caller]
fn near(found: f64, wanted: f64, absolute: f64) {
    assert!((found - wanted).abs() <= absolute, "{found} is not {wanted} within {absolute:e}");
}
