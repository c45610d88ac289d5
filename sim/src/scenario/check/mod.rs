//! Checks of keys against each other, made once every table has been read.

pub mod film;
mod jets;
pub mod mass;
mod orbit;
mod programme;
pub mod tank;

use jiff::{SignedDuration, Timestamp, tz::Offset};

use super::Scenario;
use super::read::context::Context;
use crate::world::geomagnetism::YEARS;

/// Judges a whole scenario. `element_set` is the published set it starts from, if it names one.
pub fn check(scenario: &Scenario, element_set: Option<&sgp4::Elements>, cx: &mut Context) {
    let orbit = orbit::check(scenario, element_set, cx);
    jets::check(scenario, cx);
    film::check(scenario, cx);
    names(scenario, cx);
    dispersions(scenario, cx);
    field(scenario, cx);
    programme::run(scenario, cx);
    programme::commands(scenario, cx);
    programme::faults(scenario, cx);
    programme::uplinks(scenario, cx);
    if let Some(orbit) = orbit {
        programme::film_asked(scenario, orbit, cx);
    }
}

/// The magnetic field's model has a first and a last year.
fn field(scenario: &Scenario, cx: &mut Context) {
    let (first, last) = YEARS;
    let start: Timestamp = scenario.run.start.0;
    let end = start + SignedDuration::from_secs_f64(scenario.run.duration_s);
    let years = [start, end].map(|at| Offset::UTC.to_datetime(at).year());
    let needed = scenario.world.magnetic_field && scenario.vehicle.dipole_a_m2 != [0.0; 3];
    if needed && years.iter().any(|year| !(first..=last).contains(year)) {
        let message = format!("run.start: the magnetic field is known from {first} to {last} only");
        let help = "Start within those years, or set world.magnetic_field = false, or take vehicle.dipole_a_m2 away.";
        cx.refuse("run.start", message, format!("allowed with a dipole: {first} to {last}"), help);
    }
}

fn names(scenario: &Scenario, cx: &mut Context) {
    twice("jet", scenario.jets.iter().map(|jet| jet.name.as_str()), cx);
    twice("station", scenario.stations.iter().map(|station| station.name.as_str()), cx);
    twice("area", scenario.areas.iter().map(|area| area.name.as_str()), cx);
}

/// Each quantity has one stream of draws: a second entry of it would be drawn with the first, not beside it.
fn dispersions(scenario: &Scenario, cx: &mut Context) {
    let words: Vec<&str> = scenario.dispersions.iter().map(|entry| entry.kind.word()).collect();
    for (index, word) in words.iter().enumerate() {
        if let Some(first) = words[..index].iter().position(|earlier| earlier == word) {
            let key = format!("dispersion[{}].of", index + 1);
            let message = format!("{key} = \"{word}\" is in dispersion[{}] already", first + 1);
            let help =
                "Make one entry of both: for independent causes, the root of the sum of the squares of their sigmas.";
            cx.refuse(&key, message, "allowed: a quantity that is named once", help);
        }
    }
}

fn twice<'n>(table: &str, names: impl Iterator<Item = &'n str>, cx: &mut Context) {
    let mut seen: Vec<&str> = Vec::new();
    for name in names {
        if let Some(first) = seen.iter().position(|earlier| *earlier == name) {
            let key = format!("{table}[{}].name", seen.len() + 1);
            let message = format!("{key} = \"{name}\" is the name of {table}[{}] already", first + 1);
            cx.refuse(
                &key,
                message,
                "allowed: a name that is used once",
                "Faults and reports go by names; choose another.",
            );
        }
        seen.push(name);
    }
}
