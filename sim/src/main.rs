//! The `stillframe` command.

use std::process::ExitCode;

use stillframe::cli::{self, Flight, Order, Outcome};
use stillframe::scenario::settings::{GroupVisitor, SettingsList};

/// Stands where the closed loop will be connected: it has no settings and refuses to fly.
struct NotConnected;

#[derive(Clone, Default)]
struct NoSettings;

impl SettingsList for NoSettings {
    fn visit<V: GroupVisitor>(&mut self, _: &mut V) {}
}

impl Flight for NotConnected {
    type Settings = NoSettings;

    fn fly(_: &Order<NoSettings>) -> Result<Outcome, Box<dyn std::error::Error>> {
        Err("this build has no closed loop connected".into())
    }
}

fn main() -> ExitCode {
    cli::run::<NotConnected>(std::env::args_os())
}
