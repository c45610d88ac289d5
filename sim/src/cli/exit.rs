//! Exit codes.

use std::process::ExitCode;

/// How the command ended.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Exit {
    /// Done.
    Good = 0,
    /// The command line was not understood.
    Usage = 2,
    /// A scenario, a settings file or an output folder was refused; nothing was run.
    Refused = 3,
    /// A file could not be read or written.
    Files = 4,
    /// The run was broken off: the program found its own result unsound.
    Flight = 5,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}

/// The codes, for the help text.
pub const EXIT_CODES: &str = "Exit codes: 0 done; 2 command line not understood; 3 scenario, settings or output \
folder refused, nothing run; 4 a file could not be read or written; 5 the run was broken off because its own \
checks failed.";
