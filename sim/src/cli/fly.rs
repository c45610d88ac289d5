//! `fly`: load and check, fly, tell.

use indicatif::{ProgressBar, ProgressStyle};
use jiff::Timestamp;

use super::args::FlyArgs;
use super::exit::Exit;
use super::screen;
use super::{cautions, not_built, out, print, show};
use crate::flight::{self, FlightError, Options};
use crate::scenario::demo::Demo;
use crate::scenario::{Loaded, load};

pub(super) fn fly(args: &FlyArgs) -> Result<(), Exit> {
    let mut loaded = match &args.scenario {
        Some(path) => load(path),
        None => Demo::Strip.load(),
    }
    .map_err(|refusal| show(&refusal))?;
    apply(args, &mut loaded)?;
    // Everything that can be refused is refused before a folder is made.
    let run = &loaded.scenario.run;
    let built = flight::build::build(&loaded, run.seed).map_err(|error| not_built(&error, &loaded.name, "run"))?;
    for caution in cautions(&built) {
        eprintln!("stillframe: {caution}");
    }
    let out = out::folder(args.out.as_deref(), &run.name, run.seed).map_err(|error| {
        eprintln!("stillframe: {error}. Nothing was run.");
        Exit::Refused
    })?;
    let options = Options { seed: run.seed, out, full_record: args.full_record, created: Timestamp::now() };
    let bar = progress_bar(args.quiet, run.duration_s);
    let flown = flight::fly(&loaded, built, &options, &mut |share| bar.set_position((share * run.duration_s) as u64));
    bar.finish_and_clear();
    let flown = flown.map_err(|error| broken_off(&error))?;
    match (args.json, args.quiet) {
        (true, _) => print(&flown.summary.to_json().map_err(|error| broken_off(&error.into()))?),
        (false, true) => Ok(()),
        (false, false) => print(&screen::summary(&flown)),
    }
}

fn broken_off(error: &FlightError) -> Exit {
    eprintln!("stillframe: the run was broken off: {error}");
    Exit::Flight
}

fn progress_bar(quiet: bool, duration_s: f64) -> ProgressBar {
    if quiet {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(duration_s as u64);
    let style = ProgressStyle::with_template("flying {wide_bar} {percent:>3} %  {eta} left");
    bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
    bar
}

/// Duration and seed of the command line in place of the scenario's.
fn apply(args: &FlyArgs, loaded: &mut Loaded) -> Result<(), Exit> {
    if let Some(seed) = args.seed {
        loaded.scenario.run.seed = seed;
    }
    let Some(hours) = args.hours else {
        return Ok(());
    };
    if hours * 3600.0 > loaded.scenario.run.duration_s {
        let most = loaded.scenario.run.duration_s / 3600.0;
        eprintln!("stillframe: --hours {hours} is longer than the scenario's {most} h; change run.duration_h there.");
        return Err(Exit::Refused);
    }
    let gone = loaded.scenario.shorten(hours * 3600.0);
    if gone > 0 && !args.quiet {
        eprintln!("stillframe: {gone} commands and faults begin after {hours} h and are left out");
    }
    Ok(())
}
