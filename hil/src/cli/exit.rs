//! Exit codes.

use std::process::ExitCode;

/// How the command ended.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub(super) enum Exit {
    /// Done, and everything as it should be.
    Good = 0,
    /// A scenario, a settings file or an output folder was refused; nothing was run.
    Refused = 3,
    /// A file could not be read or written.
    Files = 4,
    /// The board could not be reached, or was lost.
    Board = 5,
    /// The run was made and found something wrong: board and desk differ, or a wire is wrong.
    Wrong = 6,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}

/// The codes, for the help text.
pub(super) const EXIT_CODES: &str = "Exit codes: 0 done and all as it should be; 2 command line not understood; \
3 scenario, settings or output folder refused, nothing run; 4 a file could not be read or written; 5 the board \
could not be reached, or was lost; 6 something is wrong: board and desk differ, or a wire is not as drawn.";
