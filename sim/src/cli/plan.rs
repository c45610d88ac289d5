//! `plan`: load and check, plan, tell, and write the commands if asked.

use std::path::Path;

use super::exit::Exit;
use super::files::replace;
use super::plan_args::PlanArgs;
use super::{out, plan_screen, print, show};
use crate::design::day_plan::{PlanError, Study, plan_schema, study, write::with_plan, write_folder};
use crate::flight::build::BuildError;
use crate::passes::plan::area_file;
use crate::scenario::demo::Demo;
use crate::scenario::parts::ground::Area;
use crate::scenario::{Loaded, load, text_of};

pub(super) fn plan(args: &PlanArgs) -> Result<(), Exit> {
    if args.schema {
        return print(&plan_schema());
    }
    if args.write && args.scenario.is_none() {
        eprintln!(
            "stillframe: --write needs a scenario file of yours; `stillframe new my.toml` writes one. Nothing was planned."
        );
        return Err(Exit::Refused);
    }
    let mut loaded = match &args.scenario {
        Some(path) => load(path),
        None => Demo::Strip.load(),
    }
    .map_err(|refusal| show(&refusal))?;
    let planning = &mut loaded.scenario.planning;
    planning.sigmas = args.sigmas.unwrap_or(planning.sigmas);
    planning.film_m = args.film_m.or(planning.film_m);
    let areas = args.areas.as_deref().map(areas).transpose()?;
    let made = study(&loaded, areas).map_err(|error| refused(&error))?;
    // What cannot be written is found out before anything is.
    let written = written(args, &loaded, &made)?;
    let folder = out::folder_for(args.out.as_deref(), "plan", &loaded.scenario.run.name).map_err(|error| {
        eprintln!("stillframe: {error}. Nothing was written.");
        Exit::Refused
    })?;
    write_folder(&folder, &made).map_err(|error| {
        eprintln!("stillframe: {error}");
        Exit::Files
    })?;
    match (args.json, args.quiet) {
        (true, _) => print(&made.document.to_json())?,
        (false, true) => {}
        (false, false) => print(&plan_screen::summary(&made.document, &folder))?,
    }
    match written.zip(args.scenario.as_deref()) {
        Some((text, path)) => {
            replace(path, &text)?;
            if args.quiet || args.json {
                return Ok(());
            }
            print(&format!("\nWrote the plan into {}.\nNext: stillframe fly {0}", path.display()))
        }
        None => Ok(()),
    }
}

fn areas(path: &Path) -> Result<(String, Vec<Area>), Exit> {
    let help = "Areas are a GeoJSON FeatureCollection; the handbook's chapter on planning shows one.";
    let (name, text) = text_of(path, help).map_err(|refusal| show(&refusal))?;
    let areas = area_file::read(&name, &text).map_err(|refusal| show(&refusal))?;
    Ok((name, areas))
}

/// The scenario with the plan, if that is asked for, read again to see that it is sound.
fn written(args: &PlanArgs, loaded: &Loaded, made: &Study) -> Result<Option<String>, Exit> {
    let Some(path) = args.scenario.as_deref().filter(|_| args.write) else { return Ok(None) };
    let text = with_plan(&loaded.text, made, args.areas.is_some()).map_err(|error| {
        eprintln!("stillframe: {} is left alone: {error}", path.display());
        Exit::Files
    })?;
    let folder = crate::scenario::Folder(path.parent().map_or_else(Default::default, Path::to_path_buf));
    crate::scenario::read(&loaded.name, &text, &folder).map_err(|refusal| show(&refusal))?;
    Ok(Some(text))
}

fn refused(error: &PlanError) -> Exit {
    if let PlanError::Build(BuildError::Refused(refusal)) = error {
        return show(refusal);
    }
    eprintln!("stillframe: {error}. Nothing was written.");
    if matches!(error, PlanError::Choice(_)) { Exit::Flight } else { Exit::Refused }
}
