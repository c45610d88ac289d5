//! A check on the screen: every finding first, then what the load does and leaves.

use std::fmt::Write;
use std::path::Path;

use crate::passes::check::{
    document::Document,
    finding::{Finding, Grade},
};
use crate::report::plain::Grid;

/// Most lines of a table; the rest stands on the page.
const MOST_ROWS: usize = 20;

pub(super) fn screen(told: &Document, folder: &Path) -> String {
    let mut text = String::new();
    // Writing to a string cannot fail.
    let _ = writeln!(text, "{}\n", verdict(told));
    for finding in &told.findings {
        let _ = writeln!(text, "{}", lines(finding));
    }
    let on_board = match &told.on_board.reason {
        None => "accepts it".to_owned(),
        Some(reason) => {
            let entry = told.on_board.entry.map_or(String::new(), |entry| format!(", entry {entry}"));
            format!("refuses it{entry}: {reason}")
        }
    };
    let _ = writeln!(text, "  flight code  {on_board}");
    let _ = writeln!(
        text,
        "  sent         {} at {} by {}; takes effect at {:.1} s",
        told.sent.stage, told.sent.now_utc, told.delivery.by, told.delivery.arrives_s
    );
    let stores = stores(told);
    if !stores.rows.is_empty() {
        let _ = writeln!(text, "\nStores after each camera-on ({})\n{}", told.sent.source, shortened(&stores));
    }
    let contacts = contacts(told);
    if !contacts.rows.is_empty() {
        let _ = writeln!(text, "\nContacts after it takes effect\n{}", shortened(&contacts));
    }
    let _ = write!(text, "\nResults: {}\nOpen {} in a browser", folder.display(), folder.join("report.html").display());
    if told.good {
        let _ = write!(text, "; print {} for two signatures", folder.join("signatures.html").display());
    }
    text + "."
}

fn verdict(told: &Document) -> String {
    let which =
        format!("Load {} ({}, {} commands, check sum {})", told.counter, told.load, told.commands, told.checksum);
    if told.good {
        format!("✓ {which} may be sent. Cautions: {}.", told.cautions)
    } else {
        format!("✗ {which} is REFUSED. Refusals: {}, cautions: {}.", told.refusals, told.cautions)
    }
}

/// A finding in two or three lines.
fn lines(finding: &Finding) -> String {
    let grade = match finding.grade {
        Grade::Refusal => "refused",
        Grade::Caution => "caution",
    };
    let place = match (finding.line, &finding.command, &finding.utc) {
        (Some(line), Some(command), Some(utc)) => format!("line {line}: {command}  ({utc})"),
        _ => "the load as a whole".to_owned(),
    };
    let (rule, reason, remedy) = (finding.rule.word(), &finding.reason, &finding.remedy);
    format!("  {grade}  {place}\n           {rule}: {reason}.\n           {remedy}")
}

/// Stores after each camera-on.
pub(super) fn stores(told: &Document) -> Grid {
    let mut grid =
        Grid::new(&["camera on, s", "area", "film, m", "film left, m", "gas left at least, kg", "energy left, Wh"]);
    for stores in &told.stores {
        let area = told.pictures.iter().find(|picture| picture.entry == stores.entry).and_then(|p| p.area.clone());
        grid.row([
            format!("{:.2}", stores.on_s),
            area.unwrap_or_else(|| "—".to_owned()),
            format!("{:.2}", stores.film_m),
            format!("{:.2}", stores.film_left_m),
            format!("{:.3}", stores.gas_left_kg),
            format!("{:.0}", stores.energy_left_wh),
        ]);
    }
    grid
}

/// Contacts with margins.
pub(super) fn contacts(told: &Document) -> Grid {
    let mut grid = Grid::new(&[
        "from, UTC",
        "station",
        "length, s",
        "highest, °",
        "may be off by, s",
        "receiver open, s",
        "margin, s",
        "",
    ]);
    for contact in &told.contacts {
        grid.row([
            contact.aos_utc.clone(),
            contact.station.clone(),
            format!("{:.1}", contact.los_s - contact.aos_s),
            format!("{:.1}", contact.highest_deg),
            format!("{:.1}", contact.uncertain_s),
            format!("{:.1}", contact.open_s),
            format!("{:.1}", contact.margin_s),
            if contact.heard() { "heard" } else { "DEAF" }.to_owned(),
        ]);
    }
    grid
}

fn shortened(grid: &Grid) -> String {
    let mut shown = grid.clone();
    let left = shown.rows.len().saturating_sub(MOST_ROWS);
    shown.rows.truncate(MOST_ROWS);
    let more = if left > 0 { format!("  … and {left} more on the page\n") } else { String::new() };
    format!("{}{more}", shown.text()).trim_end().to_owned()
}
