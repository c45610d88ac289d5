//! A plan on one screen.

use std::fmt::Write;
use std::path::Path;

use crate::design::day_plan::Document;
use crate::report::text::{fixed, significant};

/// Areas named one by one that are not planned.
const MOST_NAMED: usize = 8;

pub(super) fn summary(d: &Document, folder: &Path) -> String {
    let mut text = String::new();
    // Writing to a string cannot fail.
    let mut line = |name: &str, value: String| {
        let _ = writeln!(text, "  {name:<12} {value}");
    };
    line("plan", format!("{} · {} h from {} · areas from {}", d.scenario, d.duration_h, d.start_utc, d.areas_from));
    let covered = d.areas.iter().filter(|area| area.flown > 0).count();
    line("areas", format!("{covered} of {} in {} camera-ons", d.areas.len(), d.bursts.len()));
    for b in &d.bursts {
        line(
            b.on_utc.get(11..21).unwrap_or(&b.on_utc),
            format!(
                "{:>5} s  {}  Sun {}°, padded by {} s, {} m",
                fixed(b.off_s - b.on_s, 1),
                b.areas.join(", "),
                fixed(b.sun_low_deg, 0),
                fixed(b.padding_before_s, 1),
                fixed(b.film_m, 2),
            ),
        );
    }
    let left_out: Vec<_> = d.areas.iter().filter_map(|area| Some((area, area.why_not.as_deref()?))).collect();
    for (area, why) in left_out.iter().take(MOST_NAMED) {
        line("not planned", format!("{}: {why}", area.name));
    }
    if left_out.len() > MOST_NAMED {
        line("not planned", format!("and {} more", left_out.len() - MOST_NAMED));
    }
    let c = &d.choice;
    let verdict = if c.exact {
        "no plan within the limits is worth more".to_owned()
    } else {
        format!("within {} % of the best that any could reach", fixed(c.gap_percent, 2))
    };
    line(
        "worth",
        format!(
            "{} of {}; {verdict}; bound with fractions {} (gap {} %), {} to choose from",
            significant(c.value, 4),
            significant(c.wished, 4),
            significant(c.relaxed, 4),
            fixed(c.relaxed_gap_percent, 2),
            c.candidates,
        ),
    );
    line(
        "spent",
        format!(
            "{} m of film ({} left), gas left {} kg, energy left {} Wh",
            fixed(d.start_left.film_m - d.end_left.film_m, 2),
            fixed(d.end_left.film_m, 0),
            fixed(d.end_left.gas_kg, 2),
            fixed(d.end_left.energy_wh, 0),
        ),
    );
    line("load", format!("{} entries, {} bytes, {} s to send", d.load.entries, d.load.bytes, fixed(d.load.send_s, 1)));
    line("contacts", format!("{} with stations; receiver open in {} stretches", d.contacts.len(), d.receiver.len()));
    if let Some(last) = d.uncertainty.growth.last() {
        line(
            "uncertainty",
            format!(
                "{} km along the track at the end (1σ), {} s of padding at {} sigma",
                significant(last.along_track_m * 1e-3, 3),
                fixed(last.padding_s, 1),
                significant(d.uncertainty.sigmas, 2),
            ),
        );
    }
    let _ =
        write!(text, "\nResults: {}\nOpen {} in a browser.", folder.display(), folder.join("report.html").display());
    text
}
