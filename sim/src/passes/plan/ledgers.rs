//! Film, gas and energy: what there is to spend, and what is left after each burst.

use super::{Subject, bursts::Burst};
use crate::passes::contacts::Pass as Contact;

/// What is left.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Left {
    /// When, s.
    pub time_s: f64,
    /// Film, m.
    pub film_m: f64,
    /// Gas, kg.
    pub gas_kg: f64,
    /// Energy, J.
    pub energy_j: f64,
}

/// The day's account.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ledger {
    /// At the start.
    pub start: Left,
    /// After each flown burst.
    pub after: Vec<Left>,
    /// At the end of the run.
    pub end: Left,
    /// What bursts may spend: film in m, gas in kg, energy in J.
    pub to_spend: [f64; 3],
}

impl Ledger {
    /// Keeps the account of flown bursts, in order of time.
    pub fn new(subject: &Subject<'_>, contacts: &[Contact], flown: &[&Burst]) -> Self {
        let scenario = subject.scenario;
        let mut film_m = scenario.film.load_m - scenario.film.wound_m;
        let start = Left { time_s: 0.0, film_m, gas_kg: scenario.tank.gas_kg, energy_j: scenario.power.battery_j };
        let (mut gas_kg, mut energy_j) = (0.0, 0.0);
        let left = |time_s: f64, film_m: f64, gas_kg: f64, energy_j: f64| Left {
            time_s,
            film_m,
            gas_kg: start.gas_kg - gas_anyway_kg(subject, time_s) - gas_kg,
            energy_j: start.energy_j - energy_anyway_j(subject, contacts, time_s) - energy_j,
        };
        let after = flown.iter().map(|burst| {
            film_m -= burst.film_m;
            gas_kg += burst.gas_kg;
            energy_j += burst.energy_j;
            left(burst.off_s, film_m, gas_kg, energy_j)
        });
        let after: Vec<Left> = after.collect();
        let end = left(subject.duration_s(), film_m, gas_kg, energy_j);
        Self { start, after, end, to_spend: to_spend(subject, contacts) }
    }
}

/// Gas that goes whatever is photographed, kg: capture, fine hold, leaks.
fn gas_anyway_kg(subject: &Subject<'_>, time_s: f64) -> f64 {
    // Capture stands at the start: it is over in minutes.
    subject.facts.capture_kg + (subject.facts.hold_kg_s + subject.scenario.tank.leak_kg_s) * time_s
}

/// Energy that goes whatever is photographed, J: all that is always on, and the transmitter in contacts.
fn energy_anyway_j(subject: &Subject<'_>, contacts: &[Contact], time_s: f64) -> f64 {
    let power = &subject.scenario.power;
    let heard = contacts.iter().map(|pass| (pass.contact.los_s.min(time_s) - pass.contact.aos_s).max(0.0));
    (power.base_w + power.sensors_w) * time_s + power.transmitter_w * heard.sum::<f64>()
}

/// What bursts may spend and leave all reserves: film in m, gas in kg, energy in J.
pub fn to_spend(subject: &Subject<'_>, contacts: &[Contact]) -> [f64; 3] {
    let (scenario, end_s) = (subject.scenario, subject.duration_s());
    let planning = &scenario.planning;
    let film_m = scenario.film.load_m - scenario.film.wound_m - subject.facts.film_reserve_m;
    let gas_kg = scenario.tank.gas_kg - planning.gas_reserve_kg - gas_anyway_kg(subject, end_s);
    let battery_j = scenario.power.battery_j * (1.0 - planning.battery_reserve);
    let energy_j = battery_j - energy_anyway_j(subject, contacts, end_s);
    [film_m.min(planning.film_m.unwrap_or(f64::INFINITY)), gas_kg, energy_j].map(|left| left.max(0.0))
}
