//! The built-in wants: Whimbrel's camera.

use std::path::Path;

use super::wants::Wants;
use crate::scenario::{Refusal, read_plain, text_of};

/// Name of the built-in wants file.
pub const DEMO_FILE: &str = "whimbrel-camera.toml";
/// Its text.
pub const DEMO_TEXT: &str = include_str!("../../../scenarios/whimbrel-camera.toml");

/// Reads the built-in wants.
///
/// # Errors
/// None in a sound build: the tests read them.
pub fn demo() -> Result<Wants, Box<Refusal>> {
    read_plain(DEMO_FILE, DEMO_TEXT)
}

/// Reads the wants file at `path`; gives its text back too.
///
/// # Errors
/// A [`Refusal`] with everything found wrong, or why the file could not be read.
pub fn load(path: &Path) -> Result<(Wants, String), Box<Refusal>> {
    let (name, text) =
        text_of(path, "Check the path. `stillframe size --write-wants FILE` writes wants to start from.")?;
    Ok((read_plain(&name, &text)?, text))
}
