//! The `stillframe` command: parse, call, print. Nothing is computed here.

mod args;
mod exit;
mod files;
mod fly;
pub mod out;
mod screen;
mod size;
mod size_screen;

use std::ffi::OsString;
use std::io::IsTerminal;
use std::process::ExitCode;

use clap::{CommandFactory, Parser};

pub use args::{Args, Verb};
pub use exit::Exit;

use crate::scenario::{Refusal, schema};

/// Runs the command with `args` (the program's name first).
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let args = match Args::try_parse_from(args) {
        Ok(args) => args,
        Err(error) => {
            // Help and version are "errors" of the parser too, and say so in their code.
            let _ = error.print();
            return ExitCode::from(u8::try_from(error.exit_code()).unwrap_or(2));
        }
    };
    let done = match args.verb.unwrap_or_default() {
        Verb::Fly(order) => fly::fly(&order),
        Verb::Size(order) => size::size(&order),
        Verb::New(order) => files::new(&order),
        Verb::Schema => print(&pretty(&schema())),
        Verb::Validate(order) => files::validate(&order),
        Verb::Settings => print(&files::default_settings()),
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
    let mut command = Args::command().term_width(88);
    command.build();
    let command = match verb {
        Some(verb) => command.find_subcommand_mut(verb)?,
        None => &mut command,
    };
    Some(command.render_long_help().to_string())
}

/// Prints to standard output; a reader that has gone away (`| head`) is no error.
fn print(text: &str) -> Result<(), Exit> {
    use std::io::Write;
    let mut out = std::io::stdout().lock();
    match writeln!(out, "{}", text.trim_end()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => Err(Exit::Files),
        _ => Ok(()),
    }
}

fn pretty(value: &serde_json::Value) -> String {
    format!("{value:#}")
}

/// Shows why a file was refused.
fn show(refusal: &Refusal) -> Exit {
    let colour = std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none();
    eprintln!("{}", refusal.render(100, colour));
    Exit::Refused
}
