//! `fly`: load and check, then hand over. The one seam between the command and the closed loop.

use std::path::PathBuf;

use super::args::FlyArgs;
use super::exit::Exit;
use super::files::settings_of;
use super::{out, print, show};
use crate::scenario::demo::Demo;
use crate::scenario::settings::SettingsList;
use crate::scenario::{Loaded, load};

/// What the command needs of the rest of the program.
pub trait Flight {
    /// The controller's settings.
    type Settings: SettingsList + Clone;

    /// Flies `order` and writes its results.
    ///
    /// # Errors
    /// Why the run was broken off.
    fn fly(order: &Order<Self::Settings>) -> Result<Outcome, Box<dyn std::error::Error>>;
}

/// A run that may begin: everything in it has been checked.
#[derive(Clone, Debug)]
pub struct Order<S> {
    /// Scenario, with duration and seed as asked on the command line.
    pub loaded: Loaded,
    /// The controller's settings.
    pub settings: S,
    /// Folder for the results: exists and is empty.
    pub out: PathBuf,
    /// Record every attitude step.
    pub full_record: bool,
    /// Show progress on standard error.
    pub progress: bool,
}

/// What a run comes to.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// One screen for people.
    pub text: String,
    /// The same for programs: the content of `summary.json`.
    pub summary: serde_json::Value,
}

pub(super) fn fly<F: Flight>(args: &FlyArgs) -> Result<(), Exit> {
    let mut loaded = match &args.scenario {
        Some(path) => load(path),
        None => Demo::Strip.load(),
    }
    .map_err(|refusal| show(&refusal))?;
    let settings = settings_of::<F>(&loaded).map_err(|refusal| show(&refusal))?;
    apply(args, &mut loaded)?;
    let run = &loaded.scenario.run;
    let out = out::folder(args.out.as_deref(), &run.name, run.seed).map_err(|error| {
        eprintln!("stillframe: {error}. Nothing was run.");
        Exit::Refused
    })?;
    let (full_record, progress) = (args.full_record, !args.quiet);
    let outcome = F::fly(&Order {
        loaded,
        settings,
        out,
        full_record,
        progress,
    })
    .map_err(|error| {
        eprintln!("stillframe: the run was broken off: {error}");
        Exit::Flight
    })?;
    match (args.json, args.quiet) {
        (true, _) => print(&super::pretty(&outcome.summary)),
        (false, true) => Ok(()),
        (false, false) => print(&outcome.text),
    }
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
        eprintln!(
            "stillframe: --hours {hours} is longer than the scenario's {most} h; change run.duration_h there."
        );
        return Err(Exit::Refused);
    }
    let gone = loaded.scenario.shorten(hours * 3600.0);
    if gone > 0 && !args.quiet {
        eprintln!("stillframe: {gone} commands and faults begin after {hours} h and are left out");
    }
    Ok(())
}
