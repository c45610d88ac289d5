//! The report: one self-contained page, made from the record alone.
//!
//! `report.html` has its style and pictures inside, needs no script and no network, prints on A4, and reads
//! without colour: what colour tells, a line's style or a mark's shape tells too. Numbers quoted from the
//! summary stand in `<data data-key="path.in.summary" value="…">`, so that a program can check them.
//!
//! The page never sees the plant: [`ReportData`] is the record's digest, the judged frames, the summary,
//! and what stood fixed before the run.

use std::path::Path;

use crate::record::{RecordError, write_new};

mod attitude;
pub(crate) mod chart;
mod data;
mod frames;
pub(crate) mod map;
pub(crate) mod page;
mod place;
pub mod plain;
mod sheet;
pub(crate) mod stores;
mod strips;
pub(crate) mod svg;
pub(crate) mod tables;
pub mod text;
mod torques;

pub use data::{
    Area, Context, FormatCell, FrameLine, JetLabel, PhaseLimits, ReportData, SettingsGroup, SettingsLine, SheetTile,
    Source, Station,
};

/// The page as text.
pub fn render(data: &ReportData) -> String {
    renumbered(&page::page(data).into_string())
}

/// `kuva` numbers its clip paths through the whole life of the program. Numbered afresh, the same run gives
/// the same page, byte for byte.
pub(crate) fn renumbered(page: &str) -> String {
    const MARK: &str = "kuva-clip-";
    let mut seen: Vec<&str> = Vec::new();
    let mut parts = page.split(MARK);
    let mut text = parts.next().unwrap_or("").to_string();
    for part in parts {
        let end = part.find(|c: char| !c.is_ascii_digit()).unwrap_or(part.len());
        let (number, rest) = part.split_at(end);
        let place = seen.iter().position(|s| *s == number).unwrap_or_else(|| {
            seen.push(number);
            seen.len() - 1
        });
        text += &format!("plot-area-{place}{rest}");
    }
    text
}

/// Writes the page; nothing of that name may be there.
///
/// # Errors
/// If the file is there already or cannot be written.
pub fn write(path: &Path, data: &ReportData) -> Result<(), RecordError> {
    write_new(path, render(data).as_bytes())
}
