//! `upsets`: turn bits over, tell.

use super::{args::UpsetArgs, exit::Exit, lockstep, show};
use crate::{
    line::address::IMAGE,
    report, scenario,
    upsets::{Upsets, campaign},
};

pub(super) fn run(args: &UpsetArgs) -> Result<(), Exit> {
    let loaded = scenario::edge().map_err(|refusal| show::refusal(&refusal))?;
    let image = args.image.clone().unwrap_or_else(|| IMAGE.into());
    let bar = show::bar(args.voice.quiet, args.upsets);
    let result = campaign(&image, &loaded, (args.seed, args.upsets), &mut |upsets| bar.set_position(upsets));
    bar.finish_and_clear();
    let result = result.map_err(|error| lockstep::failed(&error))?;
    if let Some(out) = &args.out {
        lockstep::json(out, &result)?;
        lockstep::page(&out.with_extension("html"), &report::upsets(&result))?;
    }
    if args.voice.json {
        show::print(&serde_json::to_string_pretty(&result).unwrap_or_default())?;
    } else if !(args.voice.quiet && result.good()) {
        show::print(&text(&result))?;
    }
    if result.good() { Ok(()) } else { Err(Exit::Wrong) }
}

fn text(result: &Upsets) -> String {
    let wrong: Vec<String> = report::upsets_gone_wrong(result).into_iter().map(|line| format!("  {line}")).collect();
    format!("{}{}", report::upset_table(result).text(), wrong.join("\n"))
}
