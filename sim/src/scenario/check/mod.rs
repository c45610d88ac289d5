//! Checks of keys against each other, made once every table has been read.

pub mod film;
mod jets;
pub mod mass;
mod orbit;
mod programme;
pub mod tank;

use super::Scenario;
use super::read::context::Context;

/// Judges a whole scenario. `element_set` is the published set it starts from, if it names one.
pub fn check(scenario: &Scenario, element_set: Option<&sgp4::Elements>, cx: &mut Context) {
    let orbit = orbit::check(scenario, element_set, cx);
    jets::check(scenario, cx);
    film::check(scenario, cx);
    names(scenario, cx);
    programme::run(scenario, cx);
    programme::commands(scenario, cx);
    programme::faults(scenario, cx);
    if let Some(orbit) = orbit {
        programme::film_asked(scenario, orbit, cx);
    }
}

fn names(scenario: &Scenario, cx: &mut Context) {
    twice("jet", scenario.jets.iter().map(|jet| jet.name.as_str()), cx);
    twice("station", scenario.stations.iter().map(|station| station.name.as_str()), cx);
    twice("area", scenario.areas.iter().map(|area| area.name.as_str()), cx);
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
