//! Printing.

use super::exit::Exit;
use crate::line::Address;
use indicatif::{ProgressBar, ProgressStyle};
use stillframe::cli::common;

/// What to mind with real hardware.
pub(super) const CAUTIONS: &str = "\
Cautions for real hardware: keep valves shut off from gas bottles, or the bottles empty; keep fingers, hair and \
sleeves off reels and rollers, which start without warning; connect lamps and inert loads only, never an igniter or \
anything that burns; follow the rules of the place you work in. This bench has no ordnance outputs: they are numbers \
on the screen.";

/// Prints to standard output; a reader that has gone away (`| head`) is no error.
pub(super) fn print(text: &str) -> Result<(), Exit> {
    if common::print(text) { Ok(()) } else { Err(Exit::Files) }
}

/// Says what went wrong.
pub(super) fn complain(text: impl std::fmt::Display) {
    eprintln!("stillframe-bench: {text}");
}

/// Shows why a file was refused.
pub(super) fn refusal(refusal: &stillframe::scenario::Refusal) -> Exit {
    common::show(refusal);
    Exit::Refused
}

/// Prints the cautions, once, where there may be real hardware at the end of the line.
pub(super) fn cautions(address: &Address, quiet: bool) {
    if !quiet && !matches!(address, Address::StandIn | Address::Emulator(_)) {
        eprintln!("{CAUTIONS}\n");
    }
}

/// A bar that counts ticks.
pub(super) fn bar(quiet: bool, ticks: u64) -> ProgressBar {
    if quiet {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(ticks);
    let style = ProgressStyle::with_template("{wide_bar} {human_pos} of {human_len} ticks  {per_sec}  {eta} left");
    bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
    bar
}
