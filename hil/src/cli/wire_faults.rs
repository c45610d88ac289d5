//! `wire-faults`: fly over a damaging line, tell.

use super::{args::WireFaultArgs, exit::Exit, lockstep, show};
use crate::{
    lockstep::Order,
    report, scenario,
    wire_faults::{WireFaults, campaign},
    wiring::Wiring,
};
use jiff::Timestamp;
use stillframe::{cli::out, flight::Options};

pub(super) fn run(args: &WireFaultArgs) -> Result<(), Exit> {
    let loaded = scenario::find(&args.scenario).map_err(|refusal| show::refusal(&refusal))?;
    let address = &args.board.board;
    if args.board.fast || args.board.count || args.board.log.is_some() {
        show::complain(
            "faults are made on the serial line itself: leave out --fast, --count and --log. Nothing was run.",
        );
        return Err(Exit::Refused);
    }
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
    lockstep::page(&out.join("wire-faults.html"), &report::wire_faults(&result))?;
    if args.voice.json {
        show::print(&serde_json::to_string_pretty(&result).unwrap_or_default())?;
    } else if !(args.voice.quiet && result.good()) {
        show::print(&text(&result))?;
    }
    if result.good() { Ok(()) } else { Err(Exit::Wrong) }
}

fn text(result: &WireFaults) -> String {
    let lines: Vec<String> = report::wire_fault_lines(result).into_iter().map(|line| format!("  {line}")).collect();
    format!("{}\n{}", report::wire_fault_table(result).text(), lines.join("\n"))
}
