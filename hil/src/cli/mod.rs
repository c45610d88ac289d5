//! The `stillframe-bench` command: parse, call, print. Nothing is computed here.

mod args;
mod exit;
mod lockstep;
mod measures;
mod phasing;
mod real_time;
mod replay;
mod serve;
mod show;
mod upsets;
mod wire_faults;

use args::{Args, Verb};
use exit::Exit;
use std::{ffi::OsString, process::ExitCode};
use stillframe::cli::common;

/// Runs the command with `args` (the program's name first).
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let args: Args = match common::parse(args) {
        Ok(args) => args,
        Err(code) => return code,
    };
    let done = match args.verb {
        Verb::Lockstep(order) => lockstep::lockstep(&order),
        Verb::Phasing(order) => phasing::run(&order),
        Verb::Replay(order) => replay::run(&order),
        Verb::WireFaults(order) => wire_faults::run(&order),
        Verb::Measures(order) => measures::run(&order),
        Verb::RealTime(order) => real_time::run(&order),
        Verb::Upsets(order) => upsets::run(&order),
        Verb::StandIn(order) => serve::serve(&order),
        Verb::Schema => show::print(&format!("{:#}", crate::summary::schema())),
        Verb::Cautions => show::print(show::CAUTIONS),
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
