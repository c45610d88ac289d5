//! `replay`: feed a stream again, tell.

use super::{args::ReplayArgs, exit::Exit, lockstep, show};
use crate::{
    board::Board,
    line::How,
    replay::{Outcome, ReplayError, replay},
    stream::{Reader, StreamError},
    summary::{BenchSummary, Measured, What},
};

/// Ticks between looks at the progress bar.
const LOOK_TICKS: u64 = 100;

pub(super) fn run(args: &ReplayArgs) -> Result<(), Exit> {
    let stream = Reader::open(&args.stream).map_err(|error| broken(&error))?;
    let mut board = match &args.board {
        Some(address) => {
            show::cautions(address, args.voice.quiet);
            Some(
                Board::open(address, How { count: args.count, fast: args.fast })
                    .map_err(|error| lockstep::lost(address, &error))?
                    .0,
            )
        }
        None => None,
    };
    let spinner = show::bar(args.voice.quiet, 0);
    let outcome = replay(stream, board.as_mut(), &mut |ticks| {
        if ticks.is_multiple_of(LOOK_TICKS) {
            spinner.set_length(ticks);
            spinner.set_position(ticks);
        }
    });
    spinner.finish_and_clear();
    let outcome = outcome.map_err(|error| match &error {
        ReplayError::Board(lost) => {
            show::complain(lost);
            Exit::Board
        }
        ReplayError::Stream(error) => broken(error),
        ReplayError::Settings(_) | ReplayError::Load => {
            show::complain(&error);
            Exit::Refused
        }
    })?;
    let summary = summarise(args, board.as_mut(), &outcome);
    if args.voice.json {
        show::print(&serde_json::to_string_pretty(&summary).unwrap_or_default())?;
    } else if !(args.voice.quiet && summary.equal) {
        show::print(&lockstep::text(&summary))?;
    }
    if summary.equal { Ok(()) } else { Err(Exit::Wrong) }
}

fn broken(error: &StreamError) -> Exit {
    show::complain(error);
    match error {
        StreamError::File { .. } => Exit::Files,
        _ => Exit::Refused,
    }
}

fn summarise(args: &ReplayArgs, board: Option<&mut Board>, outcome: &Outcome) -> BenchSummary {
    let what = What {
        command: "replay",
        board: args.board.as_ref().map_or("none: the desk's controller".into(), ToString::to_string),
        scenario: args.stream.display().to_string(),
        seed: None,
    };
    let measured = Measured {
        ticks: outcome.ticks,
        found: outcome.found.as_ref(),
        wall: outcome.wall,
        latency_ns: &outcome.latency_ns,
        costs: &outcome.costs,
    };
    // A board that is lost at the very end has given all its answers.
    let stats = board.and_then(|board| {
        board.stats().and_then(|stats| board.end().map(|()| stats)).ok().map(|stats| (&*board, stats))
    });
    BenchSummary::new(what, &measured, stats)
}
