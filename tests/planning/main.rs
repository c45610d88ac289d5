//! Planning: uncertainty, windows, contacts, choice, load, and the plan flown.
//!
//! Expected values come from closed forms, from other libraries, or from plain searches written anew here.

mod choice;
mod command;
mod contacts;
mod growth;
mod plan;
mod schema;
mod sun;
mod track;
mod windows;
mod written;

#[path = "../program.rs"]
mod program;

use std::sync::OnceLock;
use stillframe::{
    design::day_plan::{Study, study},
    scenario::{BuiltIn, Loaded, demo::Demo, read},
};

/// The strip demonstration's plan, made once.
fn demo_plan() -> &'static Study {
    static PLAN: OnceLock<Study> = OnceLock::new();
    PLAN.get_or_init(|| made(&Demo::Strip.load().expect("the demonstration is sound")))
}

fn made(loaded: &Loaded) -> Study {
    study(loaded, None).expect("a plan")
}

/// A demonstration with some text in place of another.
#[track_caller]
fn changed(demo: Demo, changes: &[(&str, &str)]) -> Loaded {
    let text = changes.iter().fold(demo.text().to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "the demonstration has no {from}");
        text.replacen(from, to, 1)
    });
    read(demo.file(), &text, &BuiltIn(&[])).unwrap_or_else(|refusal| panic!("{}", refusal.render(100, false)))
}

/// `[planning]` with these lines, before the areas.
fn planning(lines: &str) -> String {
    format!("[planning]\n{lines}\n\n[[area]]\nname = \"Sulveig Sound\"")
}

const FIRST_AREA: &str = "[[area]]\nname = \"Sulveig Sound\"";
