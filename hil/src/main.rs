//! The `stillframe-bench` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    stillframe_hil::cli::run(std::env::args_os())
}
