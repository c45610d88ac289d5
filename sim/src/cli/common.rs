//! What the commands have in common: reading the command line, help, printing, showing a refusal.

use crate::scenario::Refusal;
use clap::{CommandFactory, Parser};
use std::{ffi::OsString, io::IsTerminal, process::ExitCode};

/// Width of help texts, columns.
const WIDTH: usize = 88;

/// Reads a command line (the program's name first), or says why not.
///
/// # Errors
/// The exit code: help and version are "errors" of the parser too, and say so in theirs.
pub fn parse<A: Parser>(args: impl IntoIterator<Item = OsString>) -> Result<A, ExitCode> {
    A::try_parse_from(args).map_err(|error| {
        let _ = error.print();
        ExitCode::from(u8::try_from(error.exit_code()).unwrap_or(2))
    })
}

/// The help of a command, or of one of its verbs, as shown for `--help`.
pub fn help_text<A: CommandFactory>(verb: Option<&str>) -> Option<String> {
    let mut command = A::command().term_width(WIDTH);
    command.build();
    let command = match verb {
        Some(verb) => command.find_subcommand_mut(verb)?,
        None => &mut command,
    };
    Some(command.render_long_help().to_string())
}

/// Prints to standard output; whether that went well. A reader that has gone away (`| head`) is no error.
pub fn print(text: &str) -> bool {
    use std::io::Write;
    let mut out = std::io::stdout().lock();
    match writeln!(out, "{}", text.trim_end()) {
        Err(error) => error.kind() == std::io::ErrorKind::BrokenPipe,
        Ok(()) => true,
    }
}

/// Shows why a file was refused.
pub fn show(refusal: &Refusal) {
    let colour = std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none();
    eprintln!("{}", refusal.render(100, colour));
}
