//! `phasing`: move every sensor, tell.

use super::{args::PhasingArgs, exit::Exit, lockstep, show};
use crate::{
    board::Board,
    phasing::{self, every},
    report, scenario,
};
use stillframe::{report::plain::Grid, scenario::Loaded};

/// Ticks of a whole round, for the progress bar.
const ROUND_TICKS: u64 = 38_000;

pub(super) fn run(args: &PhasingArgs) -> Result<(), Exit> {
    let loaded = scenario::find(&args.scenario).map_err(|refusal| show::refusal(&refusal))?;
    if args.board.fast {
        show::complain("over the debug channel edges do not come while it waits; leave out --fast. Nothing was run.");
        return Err(Exit::Refused);
    }
    show::cautions(&args.board.board, args.voice.quiet);
    let mut board = lockstep::open(&args.board)?;
    if args.every_fault {
        return try_every(args, &mut board, &loaded);
    }
    let bar = show::bar(args.voice.quiet, ROUND_TICKS);
    let wiring = args.wiring.wiring();
    let rows = phasing::round_of(&mut board, &loaded, &wiring, &args.only, &mut |ticks| bar.set_position(ticks));
    bar.finish_and_clear();
    let rows = rows.map_err(|error| lockstep::failed(&error))?;
    board.end().map_err(|error| lockstep::lost(&args.board.board, &error))?;
    if rows.is_empty() {
        show::complain(format!("--only {}: no row is of that wire", args.only.join(" --only ")));
        return Err(Exit::Refused);
    }
    if let Some(out) = &args.out {
        lockstep::page(out, &report::phasing(&rows, &args.board.board.to_string()))?;
    }
    let wrong = rows.iter().filter(|row| !row.good).count();
    if args.voice.json {
        show::print(&serde_json::to_string_pretty(&rows).unwrap_or_default())?;
    } else if !(args.voice.quiet && wrong == 0) {
        let verdict = match wrong {
            0 => format!("{} of {} right", rows.len(), rows.len()),
            _ => format!("{wrong} of {} WRONG: look at the wires named, then at what should have answered", rows.len()),
        };
        show::print(&format!("{}\n  {verdict}", report::phasing_table(&rows).text()))?;
    }
    if wrong == 0 { Ok(()) } else { Err(Exit::Wrong) }
}

fn try_every(args: &PhasingArgs, board: &mut Board, loaded: &Loaded) -> Result<(), Exit> {
    let bar = show::bar(args.voice.quiet, 0);
    let tried = every::every(board, loaded, &mut |done, of| {
        bar.set_length(of);
        bar.set_position(done);
    });
    bar.finish_and_clear();
    let tried = tried.map_err(|error| lockstep::failed(&error))?;
    if args.voice.json {
        return show::print(&serde_json::to_string_pretty(&tried).unwrap_or_default());
    }
    let mut grid = Grid::new(&["fault", "wrong rows"]);
    for each in &tried {
        let wrong = if each.found() { each.wrong.join(", ") } else { "none: NOT FOUND".into() };
        grid.row([each.fault.clone(), wrong]);
    }
    let found = tried.iter().filter(|each| each.found()).count();
    show::print(&format!("{}\n  {found} of {} found", grid.text(), tried.len()))
}
