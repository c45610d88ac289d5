//! `lockstep`: fly with the board, tell.

use super::{
    args::{BoardArgs, LockstepArgs},
    exit::Exit,
    show,
};
use crate::{
    board::{Board, BoardError},
    line::address::IMAGE,
    lockstep::{self, LockstepError, Order, Outcome},
    log::BoardLog,
    report, scenario,
    summary::{BenchSummary, Measured, What},
};
use jiff::Timestamp;
use std::path::Path;
use stillframe::{
    cli::out,
    flight::{Options, build::BuildError},
    report::plain::{self, Sheet},
    scenario::Loaded,
};
use stillframe_controller::io::{TICK_S, TICKS_PER_S};

pub(super) fn lockstep(args: &LockstepArgs) -> Result<(), Exit> {
    let mut loaded = scenario::find(&args.scenario).map_err(|refusal| show::refusal(&refusal))?;
    let run = &mut loaded.scenario.run;
    run.seed = args.seed.unwrap_or(run.seed);
    if let Some(ticks) = args.ticks {
        cut(&mut loaded, ticks)?;
    }
    show::cautions(&args.board.board, args.voice.quiet);
    let mut board = open(&args.board)?;
    let run = &loaded.scenario.run;
    let out = out::folder(args.out.as_deref(), &format!("bench-{}", run.name), run.seed).map_err(|error| {
        show::complain(format!("{error}. Nothing was run."));
        Exit::Refused
    })?;
    let order = Order {
        options: Options { seed: run.seed, out, full_record: false, created: Timestamp::now() },
        around: args.around,
        wiring: args.wiring.wiring(),
        stream: args.stream.clone(),
    };
    let bar = show::bar(args.voice.quiet, (run.duration_s * f64::from(TICKS_PER_S)).round() as u64);
    let outcome = lockstep::fly(&mut board, &loaded, &order, &mut |ticks, _| bar.set_position(ticks));
    bar.finish_and_clear();
    let outcome = outcome.map_err(|error| failed(&error))?;
    let summary = summarise(&mut board, &loaded, args, &outcome)?;
    write(&order.options.out, &summary, &outcome)?;
    tell(args, &summary, &order.options.out)?;
    if summary.equal { Ok(()) } else { Err(Exit::Wrong) }
}

fn cut(loaded: &mut Loaded, ticks: u64) -> Result<(), Exit> {
    let most = (loaded.scenario.run.duration_s * f64::from(TICKS_PER_S)).round() as u64;
    if ticks > most {
        show::complain(format!(
            "--ticks {ticks} is longer than the scenario's {most} ticks; change run.duration_h there."
        ));
        return Err(Exit::Refused);
    }
    scenario::cut(loaded, ticks);
    Ok(())
}

/// Opens the board.
pub(super) fn open(args: &BoardArgs) -> Result<Board, Exit> {
    let (mut board, _) = Board::open(&args.board, args.how()).map_err(|error| lost(&args.board, &error))?;
    if let Some(log) = &args.log {
        let image = args.image.clone().unwrap_or_else(|| IMAGE.into());
        board.log = Some(BoardLog::open(log, &image).map_err(|error| {
            show::complain(error);
            Exit::Files
        })?);
    }
    Ok(board)
}

/// Says that the board is lost.
pub(super) fn lost(address: &crate::line::Address, error: &BoardError) -> Exit {
    show::complain(format!("{address}: {error}"));
    Exit::Board
}

/// Says why a flight was broken off.
pub(super) fn failed(error: &LockstepError) -> Exit {
    match error {
        LockstepError::Build(BuildError::Refused(refusal)) => show::refusal(refusal),
        LockstepError::Build(error) => {
            show::complain(format!("{error}. Nothing was run."));
            Exit::Refused
        }
        LockstepError::Board { .. } => {
            show::complain(format!("the run was broken off: {error}"));
            Exit::Board
        }
        LockstepError::Flight(_) | LockstepError::Stream(_) => {
            show::complain(format!("the run was broken off: {error}"));
            Exit::Files
        }
    }
}

fn summarise(board: &mut Board, loaded: &Loaded, args: &LockstepArgs, outcome: &Outcome) -> Result<BenchSummary, Exit> {
    let stats = board.stats().and_then(|stats| board.end().map(|()| stats));
    let stats = stats.map_err(|error| lost(&args.board.board, &error))?;
    let what = What {
        command: "lockstep",
        board: args.board.board.to_string(),
        scenario: loaded.scenario.run.name.clone(),
        seed: Some(loaded.scenario.run.seed),
    };
    let measured = Measured {
        ticks: outcome.ticks,
        found: outcome.found.as_ref(),
        wall: outcome.wall,
        latency_ns: &outcome.latency_ns,
        costs: &outcome.costs,
    };
    Ok(BenchSummary { log: outcome.log.clone(), ..BenchSummary::new(what, &measured, Some((board, stats))) })
}

fn write(folder: &Path, summary: &BenchSummary, outcome: &Outcome) -> Result<(), Exit> {
    json(&folder.join("bench.json"), summary)?;
    page(&folder.join("bench.html"), &report::lockstep(summary))?;
    if outcome.found.is_some() {
        json(&folder.join("difference.json"), &outcome.around)?;
    }
    Ok(())
}

/// Writes a JSON file.
pub(super) fn json(path: &Path, value: &impl serde::Serialize) -> Result<(), Exit> {
    let text = serde_json::to_string_pretty(value).map_err(std::io::Error::from);
    text.and_then(|text| std::fs::write(path, text + "\n")).map_err(|error| {
        show::complain(format!("{} cannot be written: {error}", path.display()));
        Exit::Files
    })
}

/// Writes a page.
pub(super) fn page(path: &Path, sheet: &Sheet) -> Result<(), Exit> {
    std::fs::write(path, plain::render(sheet)).map_err(|error| {
        show::complain(format!("{} cannot be written: {error}", path.display()));
        Exit::Files
    })
}

fn tell(args: &LockstepArgs, summary: &BenchSummary, folder: &Path) -> Result<(), Exit> {
    if args.voice.json {
        return show::print(&serde_json::to_string_pretty(summary).unwrap_or_default());
    }
    if args.voice.quiet && summary.equal {
        return Ok(());
    }
    let mut text = text(summary);
    if !summary.equal {
        text += &format!("  {:<12} the ticks around it: {}\n", "", folder.join("difference.json").display());
    }
    show::print(&format!("{text}\nResults: {}", folder.display()))
}

/// The summary for people.
pub(super) fn text(s: &BenchSummary) -> String {
    use std::fmt::Write;
    let mut text = String::new();
    let mut line = |key: &str, value: String| {
        let _ = writeln!(text, "  {key:<12} {value}");
    };
    let seed = s.seed.map_or(String::new(), |seed| format!(" · seed {seed}"));
    line(&s.command, format!("{}{seed} · board {}", s.scenario, s.board));
    line("ticks", format!("{} ({:.1} s on board)", s.ticks, s.ticks as f64 * f64::from(TICK_S)));
    let latency = s.latency_us.map_or(String::new(), |l| {
        format!("; answer after {:.0} µs median, {:.0} µs at 99 %, {:.0} µs at most", l.median, l.p99, l.most)
    });
    line("exchanges", format!("{:.0} in a second{latency}", s.exchanges_per_s));
    let again = s.line.asked_again;
    line(
        "line",
        format!(
            "{} asked again, {} bad frames here, {} on the board",
            again, s.line.bad_from_board, s.line.refused_by_board
        ),
    );
    let groups = [("film", s.step_cost.film), ("attitude", s.step_cost.attitude), ("1 Hz", s.step_cost.second)];
    for (name, cost) in groups {
        if let Some(cost) = cost {
            let spread = format!("{:.0} / {:.0} / {:.0}", cost.least, cost.median, cost.most);
            line(&format!("{name} tick"), format!("{spread} {} (least / median / most)", s.step_cost.unit));
        }
    }
    if let Some(last) = s.log.last() {
        let lines = if s.log.len() == 1 { "line" } else { "lines" };
        line("board's log", format!("{} {lines}, the last {}: {}", s.log.len(), last.level, last.text));
    }
    match &s.first_difference {
        None => line("equal", "board and desk asked for the same in every tick, bit for bit".into()),
        Some(at) => {
            let d = &at.difference;
            line("DIFFERENT", format!("first in tick {} ({:.2} s), {}", at.tick, at.time_s, d.field));
            line("", format!("desk  {} ({})", d.desk, d.desk_bits));
            line("", format!("board {} ({})", d.board, d.board_bits));
        }
    }
    text
}
