//! `film`: load and check, study, tell.

use indicatif::{ProgressBar, ProgressStyle};

use super::args::{BlunderKind, FilmArgs};
use super::exit::Exit;
use super::{out, print, show};
use crate::design::film_rates::{
    Blunder, Cover, FilmRatesError, Options, Study, from_record, screen, study, write_folder,
};
use crate::flight::build::BuildError;
use crate::scenario::demo::Demo;
use crate::scenario::parts::camera::CameraKind;
use crate::scenario::{Loaded, load};

pub(super) fn film(args: &FilmArgs) -> Result<(), Exit> {
    let loaded = match &args.scenario {
        Some(path) => load(path),
        None if args.frame => Demo::Frame.load(),
        None => Demo::Strip.load(),
    }
    .map_err(|refusal| show(&refusal))?;
    if matches!(loaded.scenario.camera.kind, CameraKind::Sweep(_)) {
        eprintln!(
            "stillframe: film of a sweep stands while it is exposed: there is no film rate to verify. Nothing was run."
        );
        return Err(Exit::Refused);
    }
    let options = options(args);
    let made = match &args.record {
        Some(folder) => from_record::study(&loaded, folder, &options),
        None => with_progress(args.quiet, |progress| study(&loaded, &options, progress)),
    }
    .map_err(|error| refused(&error))?;
    tell(args, &loaded, &made)
}

fn options(args: &FilmArgs) -> Options {
    Options {
        duration_s: args.days * 86_400.0,
        load_every_s: args.load_every_hours * 3600.0,
        cover: if args.lit { Cover::Lit } else { Cover::All },
        tilt_rad: [args.roll_deg.to_radians(), args.pitch_deg.to_radians()],
        relief_m: args.relief_m,
        runs_per_revolution: args.runs,
        blunder: args.blunder.map(|blunder| match blunder {
            BlunderKind::OrbitalRate => Blunder::OrbitalRate,
            BlunderKind::Crab => Blunder::Crab,
            BlunderKind::Direction => Blunder::Direction,
        }),
        ..Options::default()
    }
}

fn with_progress(
    quiet: bool,
    work: impl FnOnce(&(dyn Fn(f64) + Sync)) -> Result<Study, FilmRatesError>,
) -> Result<Study, FilmRatesError> {
    let bar = if quiet { ProgressBar::hidden() } else { ProgressBar::new(1000) };
    let style = ProgressStyle::with_template("film rates {wide_bar} {percent:>3} %  {eta} left");
    bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
    let done = work(&|share| bar.set_position((1000.0 * share) as u64));
    bar.finish_and_clear();
    done
}

fn tell(args: &FilmArgs, loaded: &Loaded, made: &Study) -> Result<(), Exit> {
    let run = &loaded.scenario.run;
    let folder = out::folder(args.out.as_deref(), &format!("{}-film", run.name), run.seed).map_err(|error| {
        eprintln!("stillframe: {error}. Nothing was written.");
        Exit::Refused
    })?;
    write_folder(&folder, made).map_err(|error| {
        eprintln!("stillframe: {error}");
        Exit::Files
    })?;
    match (args.json, args.quiet) {
        (true, _) => print(&made.summary.to_json()),
        (false, true) => Ok(()),
        (false, false) => {
            let text = screen(&made.summary);
            let place = folder.display();
            print(&format!("{text}\nResults: {place}\nOpen {} in a browser.", folder.join("report.html").display()))
        }
    }
}

fn refused(error: &FilmRatesError) -> Exit {
    if let FilmRatesError::Build(BuildError::Refused(refusal)) = error {
        return show(refusal);
    }
    eprintln!("stillframe: {error}. Nothing was written.");
    Exit::Refused
}
