//! `upsets`: turn bits over, tell.

use super::{args::UpsetArgs, exit::Exit, lockstep, show};
use crate::{
    line::address::IMAGE,
    scenario,
    upsets::{Outcome, Upsets, campaign},
};
use std::fmt::Write;

const OUTCOMES: [(Outcome, &str); 8] = [
    (Outcome::NoEffect, "no effect"),
    (Outcome::Recovered, "other answers for a while"),
    (Outcome::OtherAnswers, "other answers, in range"),
    (Outcome::Refused, "refused by the board"),
    (Outcome::ResetWithRecord, "reset, safe, with a record"),
    (Outcome::Reset, "reset, safe, no record"),
    (Outcome::Unsafe, "UNSAFE"),
    (Outcome::Hang, "HANG"),
];

pub(super) fn run(args: &UpsetArgs) -> Result<(), Exit> {
    let loaded = scenario::edge().map_err(|refusal| show::refusal(&refusal))?;
    let image = args.image.clone().unwrap_or_else(|| IMAGE.into());
    let bar = show::bar(args.voice.quiet, args.upsets);
    let result = campaign(&image, &loaded, (args.seed, args.upsets), &mut |upsets| bar.set_position(upsets));
    bar.finish_and_clear();
    let result = result.map_err(|error| lockstep::failed(&error))?;
    if let Some(out) = &args.out {
        lockstep::json(out, &result)?;
    }
    if args.voice.json {
        show::print(&serde_json::to_string_pretty(&result).unwrap_or_default())?;
    } else if !(args.voice.quiet && result.good()) {
        show::print(&text(&result))?;
    }
    if result.good() { Ok(()) } else { Err(Exit::Wrong) }
}

fn text(result: &Upsets) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "  {:<30}{:>8}{:>12}", "outcome", "all", "registers");
    for (outcome, name) in OUTCOMES {
        let registers = result.upsets.iter().filter(|upset| upset.outcome == outcome && upset.place.starts_with('r'));
        let _ = writeln!(text, "  {name:<30}{:>8}{:>12}", result.count(outcome), registers.count());
    }
    let bad = [Outcome::Unsafe, Outcome::Hang];
    for upset in result.upsets.iter().filter(|upset| bad.contains(&upset.outcome)) {
        let _ = writeln!(
            text,
            "  {:?}: tick {}, {} bit {}: {}",
            upset.outcome, upset.tick, upset.place, upset.bit, upset.note
        );
    }
    text
}
