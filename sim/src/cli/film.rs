//! `film`: load and check, study, tell.

use super::args::{BlunderKind, FilmArgs};
use super::exit::Exit;
use super::show;
use super::study::{Wanted, tell, with_progress};
use crate::design::film_rates::{Blunder, Cover, FilmRatesError, Options, from_record, screen, study, write_folder};
use crate::flight::build::BuildError;
use crate::scenario::demo::Demo;
use crate::scenario::load;
use crate::scenario::parts::camera::CameraKind;

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
        None => with_progress(args.quiet, "film rates", |progress| study(&loaded, &options, progress)),
    }
    .map_err(|error| refused(&error))?;
    let wanted = Wanted { out: args.out.as_deref(), json: args.json, quiet: args.quiet };
    let name = format!("{}-film", loaded.scenario.run.name);
    let (document, screen) = (|| made.summary.to_json(), || screen(&made.summary));
    tell(wanted, (&name, loaded.scenario.run.seed), |folder| write_folder(folder, &made), document, screen)
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

fn refused(error: &FilmRatesError) -> Exit {
    if let FilmRatesError::Build(BuildError::Refused(refusal)) = error {
        return show(refusal);
    }
    eprintln!("stillframe: {error}. Nothing was written.");
    Exit::Refused
}
