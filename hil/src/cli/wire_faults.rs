//! `wire-faults`: fly over a damaging line, tell.

use super::{args::WireFaultArgs, exit::Exit, lockstep, show};
use crate::{
    lockstep::Order,
    scenario,
    wire_faults::{WireFaults, campaign},
    wiring::Wiring,
};
use jiff::Timestamp;
use std::fmt::Write;
use stillframe::{cli::out, flight::Options};

pub(super) fn run(args: &WireFaultArgs) -> Result<(), Exit> {
    let loaded = scenario::find(&args.scenario).map_err(|refusal| show::refusal(&refusal))?;
    let address = &args.board.board;
    show::cautions(address, args.voice.quiet);
    let out = out::folder(args.out.as_deref(), "wire-faults", args.seed).map_err(|error| {
        show::complain(format!("{error}. Nothing was run."));
        Exit::Refused
    })?;
    let options =
        Options { seed: loaded.scenario.run.seed, out: out.clone(), full_record: false, created: Timestamp::now() };
    let order = Order { options, around: 20, wiring: Wiring::default(), stream: None };
    let bar = show::bar(args.voice.quiet, args.faults);
    let result = campaign(address, &loaded, &order, (args.seed, args.faults), &mut |faults| bar.set_position(faults));
    bar.finish_and_clear();
    let result = result.map_err(|error| lockstep::failed(&error))?;
    lockstep::json(&out.join("wire-faults.json"), &result)?;
    if args.voice.json {
        show::print(&serde_json::to_string_pretty(&result).unwrap_or_default())?;
    } else if !(args.voice.quiet && result.good()) {
        show::print(&text(&result))?;
    }
    if result.good() { Ok(()) } else { Err(Exit::Wrong) }
}

fn text(result: &WireFaults) -> String {
    let mut text = String::new();
    let _ = writeln!(
        text,
        "  {:<18}{:<6}{:>9}{:>11}{:>11}{:>11}{:>11}{:>11}",
        "fault", "way", "injected", "no effect", "board said", "bench said", "nothing", "questions"
    );
    for row in &result.rows {
        let _ = writeln!(
            text,
            "  {:<18}{:<6}{:>9}{:>11}{:>11}{:>11}{:>11}{:>11}",
            row.fault,
            row.way,
            row.injected,
            row.no_effect,
            row.board_said_so,
            row.bench_said_so,
            row.nothing_came,
            row.most_attempts
        );
    }
    let _ = writeln!(
        text,
        "\n  {} faults in {} ticks of {} flights; {} steps taken on the board",
        result.faults, result.ticks, result.flights, result.board_steps
    );
    let _ = writeln!(
        text,
        "  at most {} questions for an answer (allowed: {})",
        result.most_attempts, result.allowed_attempts
    );
    let _ = writeln!(
        text,
        "  {} long silences in the loop; outputs went safe {} times for want of steps",
        result.silences, result.link_losses
    );
    let _ = match &result.first_difference {
        None => writeln!(text, "  board and desk asked for the same in every tick, bit for bit"),
        Some(difference) => writeln!(text, "  DIFFERENT: {difference}"),
    };
    text
}
