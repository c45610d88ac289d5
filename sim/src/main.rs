//! The `stillframe` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    stillframe::cli::run(std::env::args_os())
}
