//! `real-time`: keep pace, tell.

use super::{args::RealTimeArgs, exit::Exit, lockstep, show};
use crate::{
    board_paced::{self, BoardPaced},
    real_time::{self, RealTime},
    scenario,
};
use serde::Serialize;
use std::fmt::Write;
use stillframe_controller::io::TICKS_PER_S;

/// Length of the longest bar of a histogram.
const BAR: f64 = 50.0;

pub(super) fn run(args: &RealTimeArgs) -> Result<(), Exit> {
    let loaded = scenario::find(&args.scenario).map_err(|refusal| show::refusal(&refusal))?;
    let most_s = loaded.scenario.run.duration_s as u64;
    if args.seconds > most_s {
        show::complain(format!("--seconds {} is longer than the scenario's {most_s} s", args.seconds));
        return Err(Exit::Refused);
    }
    show::cautions(&args.board.board, args.voice.quiet);
    let mut board = lockstep::open(&args.board)?;
    let bar = show::bar(args.voice.quiet, args.seconds * u64::from(TICKS_PER_S));
    if args.board_paced {
        let ticks = args.seconds * u64::from(TICKS_PER_S);
        let result = board_paced::fly(&mut board, &loaded, ticks, args.withhold, &mut |ticks| bar.set_position(ticks));
        bar.finish_and_clear();
        let result = result.map_err(|error| lockstep::failed(&error))?;
        board.end().map_err(|error| lockstep::lost(&args.board.board, &error))?;
        return tell(args, &result, paced_text, result.different);
    }
    let result = real_time::fly(&mut board, &loaded, args.seconds, &mut |ticks| bar.set_position(ticks));
    bar.finish_and_clear();
    let result = result.map_err(|error| lockstep::failed(&error))?;
    board.end().map_err(|error| lockstep::lost(&args.board.board, &error))?;
    tell(args, &result, text, result.different)
}

/// Pace passes or fails nothing; an answer that is not the desk's fails.
fn tell<T: Serialize>(args: &RealTimeArgs, result: &T, text: fn(&T) -> String, different: u64) -> Result<(), Exit> {
    if args.voice.json {
        show::print(&serde_json::to_string_pretty(result).unwrap_or_default())?;
    } else if !(args.voice.quiet && different == 0) {
        show::print(&text(result))?;
    }
    if different == 0 { Ok(()) } else { Err(Exit::Wrong) }
}

fn text(result: &RealTime) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "  {} ticks at {:.2} Hz", result.ticks, result.rate_hz);
    let _ = writeln!(
        text,
        "  answers: {} in time, {} late (at most {} in a row), {} never; {} not the desk's",
        result.in_time, result.missed, result.missed_in_a_row, result.lost, result.different
    );
    let _ = writeln!(text, "  outputs went safe {} times for want of steps", result.link_losses);
    histogram(&mut text, "answer after, µs", &result.latency_bins_us);
    histogram(&mut text, "sent late by, µs", &result.lateness_bins_us);
    text
}

fn paced_text(result: &BoardPaced) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "  {} ticks of the board's timer at {:.2} Hz", result.ticks, result.rate_hz);
    let _ = writeln!(
        text,
        "  {} with held sensors (at most {} in a row); {} without an answer; {} of {} compared not the desk's",
        result.held, result.held_in_a_row, result.without_answer, result.different, result.compared
    );
    let _ = writeln!(text, "  outputs went safe {} times for want of steps", result.link_losses);
    let _ = writeln!(text, "  attitude at the end: {}", result.mode);
    histogram(&mut text, "from answer to answer, µs", &result.interval_bins_us);
    histogram(&mut text, "the bench's own time from answer to next step, µs", &result.turnaround_bins_us);
    text
}

fn histogram(text: &mut String, title: &str, bins: &[(f64, u64)]) {
    let most = bins.iter().map(|(_, count)| *count).max().unwrap_or(1).max(1) as f64;
    let _ = writeln!(text, "\n  {title}");
    let first = bins.iter().position(|(_, count)| *count > 0).unwrap_or(0);
    for (edge, count) in bins.iter().skip(first) {
        let bar = "#".repeat((BAR * *count as f64 / most).ceil() as usize);
        let _ = writeln!(text, "  up to {edge:>9.1} {count:>8} {bar}");
    }
}
