//! `new`, `validate` and `settings`: files in and out.

use std::fs::OpenOptions;
use std::io::Write;
use std::path::{Path, PathBuf};

use clap::ValueEnum;

use super::args::{Kind, NewArgs, ValidateArgs};
use super::exit::Exit;
use super::{cautions, not_built, show};
use crate::flight::build::{Built, build};
use crate::flight::settings::{self, SettingsFile};
use crate::scenario::demo::Demo;
use crate::scenario::settings::write_settings;
use crate::scenario::{Loaded, Refusal, load};
use stillframe_controller::settings::Settings;

/// The line of a demonstration that `new` turns into the name of the settings file.
const SETTINGS_LINE: &str = "# settings = \"settings.toml\"";

/// The defaults of every setting, with the jets of the demonstration so that there is something to change.
pub(super) fn default_settings() -> String {
    let fitted = Demo::Strip.load().map(|loaded| settings::fitted(&loaded.scenario).jets);
    let jets = fitted.unwrap_or_default();
    write_settings(&SettingsFile(Settings { jets, ..Settings::default() }))
}

pub(super) fn validate(args: &ValidateArgs) -> Result<(), Exit> {
    let mut worst = Ok(());
    for path in &args.scenarios {
        match built(load(path), "flown") {
            Ok((loaded, built)) => super::print(&good(path, &loaded, &built))?,
            Err(exit) => worst = Err(exit),
        }
    }
    worst
}

/// A scenario with everything a flight of it starts from.
fn built(loaded: Result<Loaded, Box<Refusal>>, done: &str) -> Result<(Loaded, Built), Exit> {
    let loaded = loaded.map_err(|refusal| show(&refusal))?;
    let built = build(&loaded, loaded.scenario.run.seed).map_err(|error| not_built(&error, &loaded.name, done))?;
    Ok((loaded, built))
}

fn good(path: &Path, loaded: &Loaded, built: &Built) -> String {
    let scenario = &loaded.scenario;
    let settings = loaded.settings.as_ref().map_or("fitted to the vehicle", |(name, _)| name.as_str());
    let strays: String = cautions(built).iter().map(|line| format!("\n  {line}")).collect();
    format!(
        "{}: good. {} h from {}; commands: {}, faults: {}, spreads: {}; settings: {settings} ({:08x}){strays}",
        path.display(),
        scenario.run.duration_s / 3600.0,
        scenario.run.start,
        scenario.commands.len(),
        scenario.faults.len(),
        loaded.spreads.len(),
        built.settings_digest,
    )
}

pub(super) fn new(args: &NewArgs) -> Result<(), Exit> {
    let (demo, file) = kind_and_file(args)?;
    let stem = file.file_stem().unwrap_or_default().to_string_lossy();
    let settings_name = format!("{stem}-settings.toml");
    let settings_file = file.with_file_name(&settings_name);
    let text = demo.text().replacen(SETTINGS_LINE, &format!("settings = \"{settings_name}\""), 1);
    if let Some(taken) = [&file, &settings_file].into_iter().find(|path| path.exists()) {
        eprintln!("stillframe: {} exists and is left alone. Choose another name.", taken.display());
        return Err(Exit::Refused);
    }
    let (_, built) = built(demo.load(), "written")?;
    write_new(&settings_file, &write_settings(&SettingsFile(built.settings)))?;
    write_new(&file, &text)?;
    super::print(&format!(
        "Wrote {} and {}.\nNext: stillframe fly {}",
        file.display(),
        settings_file.display(),
        file.display()
    ))
}

fn kind_and_file(args: &NewArgs) -> Result<(Demo, PathBuf), Exit> {
    let (kind, file) = match args.kind_and_file.as_slice() {
        [file] => (Kind::Strip, file),
        [kind, file] => match Kind::from_str(&kind.to_string_lossy(), false) {
            Ok(kind) => (kind, file),
            Err(_) => {
                eprintln!("stillframe: {} is no kind of demonstration; allowed: strip, frame, sweep", kind.display());
                return Err(Exit::Usage);
            }
        },
        _ => return Err(Exit::Usage),
    };
    let demo = match kind {
        Kind::Strip => Demo::Strip,
        Kind::Frame => Demo::Frame,
        Kind::Sweep => Demo::Sweep,
    };
    Ok((demo, file.clone()))
}

/// Writes a file that must not exist yet.
pub(super) fn write_new(path: &Path, text: &str) -> Result<(), Exit> {
    let written = OpenOptions::new().write(true).create_new(true).open(path);
    written.and_then(|mut file| file.write_all(text.as_bytes())).map_err(|error| {
        eprintln!("stillframe: {} cannot be written: {error}", path.display());
        Exit::Files
    })
}

/// Writes beside and renames, so that an interruption leaves one whole file or the other.
pub(super) fn replace(path: &Path, text: &str) -> Result<(), Exit> {
    let mut beside = path.as_os_str().to_owned();
    beside.push(".new");
    let beside = PathBuf::from(beside);
    std::fs::write(&beside, text)
        .and_then(|()| std::fs::rename(&beside, path))
        .map_err(|error| cannot_write(path, &error))
}

fn cannot_write(path: &Path, error: &std::io::Error) -> Exit {
    eprintln!("stillframe: {} cannot be written: {error}", path.display());
    Exit::Files
}
