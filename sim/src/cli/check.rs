//! `check`: read, check, tell. A refused load ends with the exit code for refusals.

use std::path::Path;

use super::check_args::{CheckArgs, StageWord};
use super::check_page::{page, signatures};
use super::check_screen::screen;
use super::exit::Exit;
use super::files::write_new;
use super::{not_built, out, print, show};
use crate::flight::build::{Built, build};
use crate::flight::heard::{Heard, last_heard};
use crate::passes::check::{
    Ground, check as hold_against,
    document::{Document, document},
    example,
    ledgers::Appetite,
    listing, rules,
    state::{Stage, State},
};
use crate::scenario::demo::Demo;
use crate::scenario::{Loaded, Refusal, load, text_of};
use crate::world::time::Utc;
use stillframe_controller::programme::load::Load;

/// Slowest that film can have run, m/s, for the energy it took: image speed from 300 km and more.
const SLOWEST_FILM_M_S: f64 = 0.02;

pub(super) fn check(args: &CheckArgs) -> Result<(), Exit> {
    let loaded = match &args.scenario {
        Some(path) => load(path),
        None => Demo::Strip.load(),
    }
    .map_err(|refusal| show(&refusal))?;
    let built = build(&loaded, loaded.scenario.run.seed).map_err(|error| not_built(&error, &loaded.name, "checked"))?;
    let given = given(args, &loaded, &built)?;
    let state = state(args, &loaded, &built)?;
    let ground = Ground {
        scenario: &loaded.scenario,
        settings: &built.settings,
        camera: &built.camera,
        prediction: &built.prediction,
        start: built.start,
    };
    let checked = hold_against(&ground, &given.load, &given.lines, &state);
    let told = document((&loaded.scenario, &built.settings, built.start), &given.name, &given.load, &state, &checked);
    tell(args, &told, &given)
}

/// The load to be checked, and its listing.
pub(super) struct Given {
    name: String,
    load: Load,
    /// The listing that lines are counted in.
    pub(super) text: String,
    lines: Vec<usize>,
}

fn given(args: &CheckArgs, loaded: &Loaded, built: &Built) -> Result<Given, Exit> {
    let listed = |name: &str, load: Load| {
        let title = format!("{}: {name}", loaded.scenario.run.vehicle);
        let step_m_s = f64::from(built.settings.camera.speed_step_m_s);
        let (text, lines) = listing::print(&load, &title, built.start, step_m_s);
        Given { name: name.to_owned(), load, text, lines }
    };
    let Some(path) = &args.load else {
        let own = format!("made from the programme of {}", loaded.name);
        return Ok(match args.example_wrong {
            false => listed(&own, built.load.clone()),
            true => listed(&format!("{own}, spoilt on purpose"), example::spoil(&built.load)),
        });
    };
    let read = read_load(path, built.start)?;
    Ok(match read {
        (load, Some((text, lines))) => Given { name: path.display().to_string(), load, text, lines },
        (load, None) => listed(&path.display().to_string(), load),
    })
}

/// Text of a listing, and the line of each entry.
type Listed = (String, Vec<usize>);

/// A load from a file, with text and lines if it is a listing.
fn read_load(path: &Path, start: Utc) -> Result<(Load, Option<Listed>), Exit> {
    let name = path.display().to_string();
    let bytes = std::fs::read(path).map_err(|error| {
        eprintln!("stillframe: {name} cannot be read: {error}");
        Exit::Files
    })?;
    if matches!(bytes.as_slice(), [b'W', digit, ..] if digit.is_ascii_digit()) {
        let load = Load::decode(&bytes).map_err(|error| {
            let (entry, reason) = rules::on_board_words(error);
            let entry = entry.map_or(String::new(), |index| format!(", entry {}", index + 1));
            let help = "The vehicle would refuse these bytes without reading on. Fetch the file again, or make it again from its listing.";
            show(&Refusal::of_file(&name, format!("{name} is no load{entry}: {reason}"), help))
        })?;
        return Ok((load, None));
    }
    let help = "Give a listing (text) or a load as on the wire, which begins with W and a digit.";
    let (name, text) = text_of(path, help).map_err(|refusal| show(&refusal))?;
    let listed = listing::parse(&name, &text, start).map_err(|refusal| show(&refusal))?;
    Ok((listed.load, Some((text, listed.lines))))
}

/// The vehicle at the time of sending: as loaded, as last heard, and as told on the command line.
fn state(args: &CheckArgs, loaded: &Loaded, built: &Built) -> Result<State, Exit> {
    let mut state = State::on_pad(&loaded.scenario);
    if let Some(folder) = &args.from {
        let heard = last_heard(folder).map_err(|error| {
            eprintln!("stillframe: {error}");
            Exit::Refused
        })?;
        as_heard(&mut state, &heard, loaded, built);
        state.source = format!("last telemetry heard in {}", folder.display());
    }
    if let Some(now) = &args.now {
        let now_s = instant_s(now, built.start)?;
        state.now_tick = (now_s * 100.0).round() as u32;
        if state.now_tick > 0 {
            state.stage = Stage::Flying;
        }
    }
    if let Some(path) = &args.on_board {
        let (on_board, _) = read_load(path, built.start)?;
        state.counter = Some(on_board.counter);
        state.on_board = Some(on_board);
    }
    state.counter = args.counter.or(state.counter);
    for (given, amount, factor) in [
        (args.film_m, &mut state.film_m, 1.0),
        (args.gas_kg, &mut state.gas_kg, 1.0),
        (args.energy_wh, &mut state.energy_j, 3600.0),
    ] {
        if let Some(given) = given {
            *amount = given * factor;
            if !state.source.ends_with("command line") {
                state.source += ", and the command line";
            }
        }
    }
    state.stage = match args.stage {
        Some(StageWord::Pad) => Stage::Pad,
        Some(StageWord::Flying) => Stage::Flying,
        Some(StageWord::Secured) => Stage::Secured,
        None => state.stage,
    };
    Ok(state)
}

fn as_heard(state: &mut State, heard: &Heard, loaded: &Loaded, built: &Built) {
    let appetite = Appetite { scenario: &loaded.scenario, settings: &built.settings };
    let at_s = f64::from(heard.tick) / 100.0;
    // Telemetry carries no energy: what has gone is the ground's own account.
    let gone_j = appetite.energy_j(
        state,
        at_s,
        state.gas_kg - heard.gas_kg,
        (heard.metered_m - loaded.scenario.film.wound_m) / SLOWEST_FILM_M_S,
    );
    state.energy_j -= gone_j;
    state.now_tick = heard.tick;
    state.stage = Stage::Flying;
    // The roller's count includes what was wound on before the start.
    state.film_m = loaded.scenario.film.load_m - heard.metered_m;
    state.gas_kg = heard.gas_kg;
}

/// Seconds since the start, from seconds or UTC.
fn instant_s(text: &str, start: Utc) -> Result<f64, Exit> {
    let seconds = text.parse::<f64>().ok().or_else(|| Utc::parse(text).ok().map(|utc| utc.seconds_since(start)));
    seconds.filter(|s| (0.0..=4.2e7).contains(s)).ok_or_else(|| {
        eprintln!(
            "stillframe: --now {text} is no time after the start: write seconds, or UTC such as 2026-06-10T07:30:00Z"
        );
        Exit::Usage
    })
}

fn tell(args: &CheckArgs, told: &Document, given: &Given) -> Result<(), Exit> {
    let folder = out::folder_for(args.out.as_deref(), "check", &told.scenario).map_err(|error| {
        eprintln!("stillframe: {error}. Nothing was written.");
        Exit::Refused
    })?;
    write_new(&folder.join("check.json"), &told.to_json())?;
    write_new(&folder.join("load.txt"), &given.text)?;
    write_new(&folder.join("report.html"), &page(told, &given.text))?;
    if told.good {
        // Only a load that may be sent is there to be sent, and to be signed.
        write_new(&folder.join("signatures.html"), &signatures(told))?;
        std::fs::write(folder.join("load.bin"), given.load.encode()).map_err(|error| {
            eprintln!("stillframe: {} cannot be written: {error}", folder.join("load.bin").display());
            Exit::Files
        })?;
    }
    match (args.json, args.quiet) {
        (true, _) => print(&told.to_json())?,
        (false, true) => {}
        (false, false) => print(&screen(told, &folder))?,
    }
    if told.good { Ok(()) } else { Err(Exit::Refused) }
}
