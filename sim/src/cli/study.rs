//! What the commands of long studies share: the bar while they work, and folder, JSON or screen at their end.

use std::path::Path;

use indicatif::{ProgressBar, ProgressStyle};

use super::exit::Exit;
use super::{out, print};
use crate::record::RecordError;

/// Works with a bar that is called `name` and told the share done.
pub(super) fn with_progress<T>(quiet: bool, name: &str, work: impl FnOnce(&(dyn Fn(f64) + Sync)) -> T) -> T {
    let bar = if quiet { ProgressBar::hidden() } else { ProgressBar::new(1000) };
    let style = ProgressStyle::with_template(&format!("{name} {{wide_bar}} {{percent:>3}} %  {{eta}} left"));
    bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
    let done = work(&|share| bar.set_position((1000.0 * share) as u64));
    bar.finish_and_clear();
    done
}

/// What was asked of the end.
#[derive(Clone, Copy)]
pub(super) struct Wanted<'a> {
    /// Folder asked for.
    pub out: Option<&'a Path>,
    /// The document instead of the screen.
    pub json: bool,
    /// Neither.
    pub quiet: bool,
}

/// Writes a study into its folder, and prints its document or its screen.
pub(super) fn tell(
    wanted: Wanted<'_>,
    (name, seed): (&str, u64),
    write: impl FnOnce(&Path) -> Result<(), RecordError>,
    document: impl FnOnce() -> String,
    screen: impl FnOnce() -> String,
) -> Result<(), Exit> {
    let folder = out::folder(wanted.out, name, seed).map_err(|error| {
        eprintln!("stillframe: {error}. Nothing was written.");
        Exit::Refused
    })?;
    write(&folder).map_err(|error| {
        eprintln!("stillframe: {error}");
        Exit::Files
    })?;
    match (wanted.json, wanted.quiet) {
        (true, _) => print(&document()),
        (false, true) => Ok(()),
        (false, false) => {
            let (text, place) = (screen(), folder.display());
            print(&format!("{text}\nResults: {place}\nOpen {} in a browser.", folder.join("report.html").display()))
        }
    }
}
