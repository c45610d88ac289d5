//! `tune`: load and check, study, tell, and write the settings if asked.

use std::path::{Path, PathBuf};

use indicatif::{ProgressBar, ProgressStyle};

use super::exit::Exit;
use super::files::{replace, write_new};
use super::tune_args::TuneArgs;
use super::{out, print, show, tune_screen};
use crate::design::attitude::{
    apply::{ApplyError, applied, with_settings_file},
    document::study_schema,
    measure::Goals,
    render,
    study::{Listener, Options, Study, StudyError, study},
    sweep::{SweepError, check_knobs},
    trial::TrialError,
};
use crate::flight::build::BuildError;
use crate::flight::settings::SettingsFile;
use crate::scenario::demo::Demo;
use crate::scenario::settings::{read_settings, write_settings};
use crate::scenario::{Loaded, load};
use stillframe_controller::settings::Settings;

/// File of the study in numbers; where it is, a study has ended.
const STUDY: &str = "study.json";

pub(super) fn tune(args: &TuneArgs) -> Result<(), Exit> {
    if args.schema {
        return print(&study_schema());
    }
    if args.write && args.scenario.is_none() {
        eprintln!(
            "stillframe: --write needs a scenario file of yours; `stillframe new my.toml` writes one. Nothing was run."
        );
        return Err(Exit::Refused);
    }
    let mut loaded = match &args.scenario {
        Some(path) => load(path),
        None => Demo::Strip.load(),
    }
    .map_err(|refusal| show(&refusal))?;
    if let Some(seed) = args.seed {
        loaded.scenario.run.seed = seed;
    }
    let other = args.compare.as_deref().map(second_settings).transpose()?;
    // Everything that can be refused is refused before a folder is made.
    let built = crate::flight::build::build(&loaded, loaded.scenario.run.seed)
        .map_err(|error| refused(&TrialError::from(error).into()))?;
    let in_hand = built.settings;
    check_knobs(&in_hand, &args.vary).map_err(|error| refused(&error.into()))?;
    let points = args.points.unwrap_or(if args.quick { 8 } else { 64 });
    if let Some(number) = args.take.filter(|number| *number > points) {
        return Err(refused(&StudyError::NoPoint(number, points)));
    }
    let folder = folder(args, &loaded)?;
    let hear = Progress::new(args.quiet);
    if !args.quiet {
        eprintln!("stillframe: results go to {}; if interrupted, go on with --resume {0}", folder.display());
    }
    let options = Options { points, ..options(args, &loaded, &folder) };
    let found = study(&loaded, &in_hand, other, &options, &hear);
    hear.bar.finish_and_clear();
    let found = found.map_err(|error| refused(&error))?;
    write_results(&folder, &found)?;
    match (args.json, args.quiet) {
        (true, _) => print(&json(&found)?)?,
        (false, true) => {}
        (false, false) => print(&tune_screen::summary(&found, &folder))?,
    }
    if args.write { write_into(args, &loaded, &in_hand, &found) } else { Ok(()) }
}

fn options(args: &TuneArgs, loaded: &Loaded, folder: &Path) -> Options {
    let quick = |full: u64, less: u64| if args.quick { less } else { full };
    let held_h = args.hours.unwrap_or(if args.quick { 6.0 } else { 240.0 });
    let captures = args.captures.unwrap_or(quick(200, 20));
    Options {
        seed: loaded.scenario.run.seed,
        goals: Goals { rate_rad_s: args.rates_deg_s.0.map(f64::to_radians) },
        points: 0,
        knobs: args.vary.clone(),
        map_side: if captures == 0 { 0 } else { quick(9, 5) as usize },
        captures,
        rounds: args.rounds.unwrap_or(quick(6, 3) as u32),
        held_s: held_h * 3600.0,
        take: args.take,
        out: folder.to_owned(),
    }
}

fn second_settings(path: &Path) -> Result<(String, Settings), Exit> {
    let name = path.display().to_string();
    let text = std::fs::read_to_string(path).map_err(|error| {
        eprintln!("stillframe: {name} cannot be read: {error}. Nothing was run.");
        Exit::Refused
    })?;
    let file = read_settings::<SettingsFile>(&name, &text).map_err(|refusal| show(&refusal))?;
    let short = path.file_name().map_or(name.clone(), |name| name.to_string_lossy().into_owned());
    Ok((short, file.0))
}

fn folder(args: &TuneArgs, loaded: &Loaded) -> Result<PathBuf, Exit> {
    let refuse = |text: String| {
        eprintln!("stillframe: {text}. Nothing was run.");
        Exit::Refused
    };
    let Some(resumed) = &args.resume else {
        return out::folder_for(args.out.as_deref(), "tune", &loaded.scenario.run.name)
            .map_err(|error| refuse(error.to_string()));
    };
    if resumed.join(STUDY).exists() {
        return Err(refuse(format!("the study in {} has ended and is left alone", resumed.display())));
    }
    if !resumed.is_dir() {
        return Err(refuse(format!("{} is no folder", resumed.display())));
    }
    Ok(resumed.clone())
}

fn refused(error: &StudyError) -> Exit {
    match error {
        StudyError::Trial(TrialError::Build(BuildError::Refused(refusal))) => show(refusal),
        StudyError::Sweep(SweepError::File(_)) => {
            eprintln!("stillframe: the sweep's rows cannot be written or read: {error}");
            Exit::Files
        }
        StudyError::Trial(TrialError::Plant(_)) => {
            eprintln!("stillframe: the study was broken off: {error}");
            Exit::Flight
        }
        error => {
            eprintln!("stillframe: {error}.");
            Exit::Refused
        }
    }
}

fn json(found: &Study) -> Result<String, Exit> {
    serde_json::to_string_pretty(&found.document).map_err(|error| {
        eprintln!("stillframe: the study cannot be written as JSON: {error}");
        Exit::Files
    })
}

/// `settings.toml` and `report.html` first: where `study.json` is, everything is.
fn write_results(folder: &Path, found: &Study) -> Result<(), Exit> {
    let chosen = found.settings.get(found.document.chosen).cloned().unwrap_or_default();
    for name in ["settings.toml", "report.html"] {
        // Left over from a study interrupted between these lines, and about to be made anew.
        let _ = std::fs::remove_file(folder.join(name));
    }
    write_new(&folder.join("settings.toml"), &write_settings(&SettingsFile(chosen)))?;
    write_new(&folder.join("report.html"), &render(found))?;
    write_new(&folder.join(STUDY), &json(found)?)
}

/// Puts the chosen settings beside the scenario.
fn write_into(args: &TuneArgs, loaded: &Loaded, in_hand: &Settings, found: &Study) -> Result<(), Exit> {
    let (Some(scenario), Some(chosen)) = (&args.scenario, found.settings.get(found.document.chosen)) else {
        return Ok(());
    };
    let Some((name, text)) = &loaded.settings else {
        return write_first(scenario, loaded, chosen);
    };
    let path = scenario.with_file_name(name);
    let (new, changes) = applied(text, in_hand, chosen).map_err(|error| not_applied(&path, &error))?;
    replace(&path, &new)?;
    let mut told = format!("\nChanged in {}: {}", path.display(), changes.len());
    for change in changes {
        told += &format!("\n  {:<32} {} → {}", change.key, change.from as f32, change.to as f32);
    }
    print(&told)
}

/// The scenario named no settings file: it gets one.
fn write_first(scenario: &Path, loaded: &Loaded, chosen: &Settings) -> Result<(), Exit> {
    let stem = scenario.file_stem().unwrap_or_default().to_string_lossy();
    let name = format!("{stem}-settings.toml");
    let path = scenario.with_file_name(&name);
    let with_name = with_settings_file(&loaded.text, &name).map_err(|error| not_applied(scenario, &error))?;
    write_new(&path, &write_settings(&SettingsFile(chosen.clone())))?;
    replace(scenario, &with_name)?;
    print(&format!("\nWrote {}, and named it in {}.", path.display(), scenario.display()))
}

fn not_applied(path: &Path, error: &ApplyError) -> Exit {
    eprintln!("stillframe: {} is left alone: {error}", path.display());
    Exit::Files
}

struct Progress {
    bar: ProgressBar,
}

impl Progress {
    fn new(quiet: bool) -> Self {
        let bar = if quiet { ProgressBar::hidden() } else { ProgressBar::new(1) };
        let style = ProgressStyle::with_template("{msg:<24} {wide_bar} {pos:>4} of {len}  {elapsed}");
        bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
        Self { bar }
    }
}

impl Listener for Progress {
    fn part(&self, name: &str, steps: u64) {
        self.bar.set_length(steps);
        self.bar.set_position(0);
        self.bar.set_message(name.to_owned());
    }

    fn step(&self) {
        self.bar.inc(1);
    }
}
