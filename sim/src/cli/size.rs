//! `size`: read wants, search, write results, tell.

use std::fs::File;
use std::io::{self, Write};
use std::path::Path;
use std::time::Instant;

use toml_edit::{Array, DocumentMut, value};

use super::args::SizeArgs;
use super::exit::Exit;
use super::size_screen::{self, Effort};
use super::{files, out, pretty, print, show};
use crate::design::camera::demo::{DEMO_TEXT, demo, load};
use crate::design::camera::summary::SizingSummary;
use crate::design::camera::terms::Terms;
use crate::design::camera::wants::Wants;
use crate::design::camera::{self, Study};
use crate::flight::build::start_heights_m;
use crate::scenario;

pub(super) fn size(args: &SizeArgs) -> Result<(), Exit> {
    if args.schema {
        return print(&pretty(&camera::wants::schema()));
    }
    if let Some(file) = &args.write_wants {
        files::write_new(file, DEMO_TEXT)?;
        return print(&format!("Wrote {}.\nNext: stillframe size {}", file.display(), file.display()));
    }
    let (mut wants, text) = match &args.wants {
        Some(path) => load(path),
        None => demo().map(|wants| (wants, DEMO_TEXT.to_owned())),
    }
    .map_err(|refusal| show(&refusal))?;
    apply(args, &mut wants)?;
    let terms = args.without.iter().fold(Terms::ALL, |terms, term| terms.without(*term));
    let folder = out::folder_for(args.out.as_deref(), "size", &wants.mission.name).map_err(|error| {
        eprintln!("stillframe: {error}. Nothing was run.");
        Exit::Refused
    })?;
    let begun = Instant::now();
    let study = camera::size(&wants, terms);
    let effort = Effort { cameras: study.candidates.len(), wall_s: begun.elapsed().as_secs_f64() };
    let summary = SizingSummary::of(&wants, &study);
    let written = write(&folder, &as_asked(args, &text, &wants), &wants, &study, &summary);
    written.map_err(|error| {
        eprintln!("stillframe: {} cannot be written: {error}", folder.display());
        Exit::Files
    })?;
    match (args.json, args.quiet) {
        (true, _) => print(&summary.to_json().map_err(|_| Exit::Files)?),
        (false, true) => Ok(()),
        (false, false) => print(&size_screen::text(&wants, &study, &effort, &folder)),
    }
}

/// What the command line changes in the wants.
fn apply(args: &SizeArgs, wants: &mut Wants) -> Result<(), Exit> {
    if let Some((focal_length_mm, f_number)) = args.at {
        wants.search.focal_lengths_m = [focal_length_mm * 1e-3; 2];
        wants.search.f_numbers = [f_number; 2];
        // One camera tells nothing of what another distance would take.
        wants.mission.also_grd_m.clear();
    }
    if let Some(path) = &args.scenario {
        let loaded = scenario::load(path).map_err(|refusal| show(&refusal))?;
        let heights = start_heights_m(&loaded).map_err(|error| {
            eprintln!("stillframe: {error}. Nothing was run.");
            Exit::Refused
        })?;
        (wants.mission.lowest_m, wants.mission.highest_m) = heights;
    }
    Ok(())
}

/// The wants' text with what the command line changed, so that the file alone gives the same study again.
fn as_asked(args: &SizeArgs, text: &str, wants: &Wants) -> String {
    let Ok(mut document) = text.parse::<DocumentMut>() else { return text.to_owned() };
    let pair = |values: [f64; 2]| value(Array::from_iter(values));
    if args.at.is_some() {
        document["search"]["focal_lengths_mm"] = pair(wants.search.focal_lengths_m.map(|metres| metres * 1e3));
        document["search"]["f_numbers"] = pair(wants.search.f_numbers);
        document["mission"]["also_grd_m"] = value(Array::new());
    }
    if args.scenario.is_some() {
        document["mission"]["lowest_altitude_km"] = value(wants.mission.lowest_m * 1e-3);
        document["mission"]["highest_altitude_km"] = value(wants.mission.highest_m * 1e-3);
    }
    document.to_string()
}

fn write(folder: &Path, text: &str, wants: &Wants, study: &Study, summary: &SizingSummary) -> io::Result<()> {
    let new = |name: &str, text: &str| File::create_new(folder.join(name))?.write_all(text.as_bytes());
    new("wants.toml", text)?;
    new("sizing.json", &summary.to_json().map_err(io::Error::other)?)?;
    new("pareto.csv", &camera::summary::table(&summary.pareto).map_err(io::Error::other)?)?;
    new("report.html", &camera::render(wants, study, summary))
}
