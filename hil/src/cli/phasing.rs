//! `phasing`: move every sensor, tell.

use super::{args::PhasingArgs, exit::Exit, lockstep, show};
use crate::{phasing, scenario};

/// Ticks of a whole round, for the progress bar.
const ROUND_TICKS: u64 = 38_000;

pub(super) fn run(args: &PhasingArgs) -> Result<(), Exit> {
    let loaded = scenario::find(&args.scenario).map_err(|refusal| show::refusal(&refusal))?;
    show::cautions(&args.board.board, args.voice.quiet);
    let mut board = lockstep::open(&args.board)?;
    let bar = show::bar(args.voice.quiet, ROUND_TICKS);
    let rows = phasing::round(&mut board, &loaded, &args.wiring.wiring(), &mut |ticks| bar.set_position(ticks));
    bar.finish_and_clear();
    let rows = rows.map_err(|error| lockstep::failed(&error))?;
    board.end().map_err(|error| lockstep::lost(&args.board.board, &error))?;
    let wrong = rows.iter().filter(|row| !row.good).count();
    if args.voice.json {
        show::print(&serde_json::to_string_pretty(&rows).unwrap_or_default())?;
    } else if !(args.voice.quiet && wrong == 0) {
        show::print(&table(&rows, wrong))?;
    }
    if wrong == 0 { Ok(()) } else { Err(Exit::Wrong) }
}

fn table(rows: &[phasing::Row], wrong: usize) -> String {
    use std::fmt::Write;
    let mut text = String::new();
    let mut line = |mark: &str, wire: &str, moved: &str, wanted: &str, seen: &str| {
        let _ = writeln!(text, "  {mark:<6}{wire:<18}{moved:<25}{wanted:<38}{seen}");
    };
    line("", "wire", "moved", "must answer", "answered");
    for row in rows {
        line(if row.good { "good" } else { "WRONG" }, &row.wire, &row.moved, &row.wanted, &row.seen);
    }
    let _ = match wrong {
        0 => write!(text, "\n  {} of {} right", rows.len(), rows.len()),
        _ => write!(
            text,
            "\n  {wrong} of {} WRONG: look at the wires named, then at what should have answered",
            rows.len()
        ),
    };
    text
}
