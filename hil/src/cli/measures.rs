//! `measures`: measure, compare, tell.

use super::{args::MeasuresArgs, exit::Exit, lockstep, show};
use crate::{
    line::address::IMAGE,
    measures::{self, Measures, measure},
    scenario,
};
use std::{fmt::Write, path::Path};

pub(super) fn run(args: &MeasuresArgs) -> Result<(), Exit> {
    let before = args.against.as_deref().map(read).transpose()?;
    let loaded = scenario::edge().map_err(|refusal| show::refusal(&refusal))?;
    let image = args.image.clone().unwrap_or_else(|| IMAGE.into());
    let bar = show::bar(args.voice.quiet, args.ticks);
    let now = measure(&image, &loaded, args.ticks, &mut |ticks| bar.set_position(ticks));
    bar.finish_and_clear();
    let now = now.map_err(|error| lockstep::failed(&error))?;
    if let Some(out) = &args.out {
        lockstep::json(out, &now)?;
    }
    let (text, grown) = table(&now, before.as_ref(), args.allow);
    if args.voice.json {
        show::print(&serde_json::to_string_pretty(&now).unwrap_or_default())?;
    } else if !(args.voice.quiet && grown == 0) {
        show::print(&text)?;
    }
    if grown == 0 { Ok(()) } else { Err(Exit::Wrong) }
}

fn read(path: &Path) -> Result<Measures, Exit> {
    let text = std::fs::read_to_string(path).map_err(|error| {
        show::complain(format!("{}: {error}", path.display()));
        Exit::Files
    })?;
    match serde_json::from_str::<Measures>(&text) {
        Ok(before) if before.format == measures::FORMAT => Ok(before),
        Ok(_) | Err(_) => {
            show::complain(format!(
                "{} is no measure of format {}: `measures --out FILE` writes one",
                path.display(),
                measures::FORMAT
            ));
            Err(Exit::Refused)
        }
    }
}

/// The table, and how many figures have grown by more than is allowed.
fn table(now: &Measures, before: Option<&Measures>, allow_percent: f64) -> (String, usize) {
    let mut text = String::new();
    let mut grown = 0;
    let old = before.map(Measures::figures).unwrap_or_default();
    let _ = writeln!(text, "  step costs in {}", now.step_cost.unit);
    for (name, value) in now.figures() {
        let _ = write!(text, "  {name:<24}{value:>12.0}");
        if let Some((_, was)) = old.iter().find(|(other, _)| *other == name) {
            let percent = 100.0 * (value - was) / was.max(1.0);
            let too_much = percent > allow_percent;
            grown += usize::from(too_much);
            let _ = write!(text, "{was:>12.0}{percent:>+9.2} %{}", if too_much { "  GROWN" } else { "" });
        }
        text.push('\n');
    }
    let _ = writeln!(text, "  stack set apart         {:>12}", now.stack_size);
    let _ = writeln!(
        text,
        "  dearest step            {:>11.1} % of a base tick at {} MHz, were each instruction one cycle",
        100.0 * now.busiest_share(),
        f64::from(now.clock_hz) / 1e6
    );
    (text, grown)
}
