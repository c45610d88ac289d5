//! The `stillframe` command: parse, call, print. Nothing is computed here.

mod args;
mod check;
mod check_args;
mod check_page;
mod check_screen;
pub mod common;
mod descend;
mod descend_args;
mod exit;
mod files;
mod film;
mod fly;
pub mod out;
mod picture;
mod plan;
mod plan_args;
mod plan_screen;
mod screen;
mod size;
mod size_screen;
mod study;
mod tune;
mod tune_args;
mod tune_screen;

use std::ffi::OsString;
use std::process::ExitCode;

use clap::CommandFactory;
use stillframe_golden::settings::Camera;

pub use args::{Args, Verb};
pub use exit::Exit;

use crate::flight::build::{BuildError, Built};
use crate::scenario::{Refusal, schema};

/// Runs the command with `args` (the program's name first).
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let args: Args = match common::parse(args) {
        Ok(args) => args,
        Err(code) => return code,
    };
    let done = match args.verb.unwrap_or_default() {
        Verb::Fly(order) => fly::fly(&order),
        Verb::Picture(order) => picture::picture(&order),
        Verb::Size(order) => size::size(&order),
        Verb::Film(order) => film::film(&order),
        Verb::Plan(order) => plan::plan(&order),
        Verb::Tune(order) => tune::tune(&order),
        Verb::Check(order) => check::check(&order),
        Verb::Descend(order) => descend::descend(&order),
        Verb::New(order) => files::new(&order),
        Verb::Schema => print(&pretty(&schema())),
        Verb::Validate(order) => files::validate(&order),
        Verb::Settings => print(&files::default_settings()),
        Verb::Digest => digest(),
        Verb::Completions { shell } => {
            clap_complete::generate(shell, &mut Args::command(), "stillframe", &mut std::io::stdout());
            Ok(())
        }
    };
    match done {
        Ok(()) => Exit::Good.into(),
        Err(exit) => exit.into(),
    }
}

/// The help of the command, or of one of its verbs, as shown for `--help` (88 columns).
pub fn help_text(verb: Option<&str>) -> Option<String> {
    common::help_text::<Args>(verb)
}

/// The flight code inside this very program, compiled with whatever else is in it, on its fixed row of inputs.
fn digest() -> Result<(), Exit> {
    let mut sound = true;
    for camera in Camera::ALL {
        let (now, known) = (stillframe_golden::digest(camera), stillframe_golden::known(camera));
        sound &= now == known;
        let verdict = if now == known { "as it should be" } else { "NOT this version's" };
        print(&format!("{} {:016x} {verdict}", camera.name(), now.unwrap_or_default()))?;
    }
    if sound { Ok(()) } else { Err(Exit::Flight) }
}

/// Prints to standard output; a reader that has gone away (`| head`) is no error.
fn print(text: &str) -> Result<(), Exit> {
    if common::print(text) { Ok(()) } else { Err(Exit::Files) }
}

fn pretty(value: &serde_json::Value) -> String {
    format!("{value:#}")
}

/// Tells why nothing can be flown from the scenario `name`, and what was therefore not done.
fn not_built(error: &BuildError, name: &str, done: &str) -> Exit {
    match error {
        BuildError::Refused(refusal) => show(refusal),
        error => {
            eprintln!("stillframe: {name}: {error}. Nothing was {done}.");
            Exit::Refused
        }
    }
}

/// What a settings file has otherwise than the plan of the return, a line each.
fn cautions(built: &Built) -> Vec<String> {
    built.strays().iter().map(|stray| format!("caution: {stray}; flown as written")).collect()
}

/// Shows why a file was refused.
fn show(refusal: &Refusal) -> Exit {
    common::show(refusal);
    Exit::Refused
}
