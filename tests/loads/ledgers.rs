//! Ledgers against a flight, and reserves.

use stillframe::{
    flight::{build::build, closed_loop::ClosedLoop, link::Link},
    passes::check::{Ground, check, finding::Rule, state::State},
    plant::faults::FaultSchedule,
    scenario::{BuiltIn, demo::Demo, read},
};

use crate::{checked, checked_from, day, on_pad, ons, refusals};

/// The first two passes of the day flown, five hours: film let through as foretold within 3 % (start-up and run-down
/// differ from pass to pass), gas and energy not below what was foretold. The flight is the outside here: plant and
/// flight code know nothing of the ledgers.
#[test]
fn a_flight_uses_the_film_foretold_and_no_more_gas_or_energy() {
    let text = Demo::Strip.text().replacen("duration_h = 24.0", "duration_h = 3.7", 1);
    let (vehicle, rest) = text.split_once("[[fault]]").expect("a fault");
    let (_, ground) = rest.split_once("[[station]]").expect("stations");
    let third = ground.match_indices("[[command]]").nth(2).expect("three commands").0;
    let text = format!("{vehicle}\n[[station]]{}", &ground[..third]);
    let loaded = read("short.toml", &text, &BuiltIn(&[])).expect("sound");
    let built = build(&loaded, 1).expect("builds");
    let state = State::on_pad(&loaded.scenario);
    let found = check(
        &Ground {
            scenario: &loaded.scenario,
            settings: &built.settings,
            camera: &built.camera,
            prediction: &built.prediction,
            start: built.start,
        },
        &built.load,
        &[],
        &state,
    );
    assert!(found.good(), "{:#?}", found.findings);
    let last = found.stores.last().expect("two passes");
    let end_s = last.off_s + 10.0;
    let link = Link::new(&loaded.scenario, 1, &built.load);
    let faults = FaultSchedule::new(&loaded.scenario);
    let mut flight = ClosedLoop::new(built.plant, built.controller, link, faults);
    while flight.time_s() < end_s {
        flight.tick(&[], &mut |_, _| {}).expect("the orbit holds");
    }
    let heard = *flight.controller.telemetry();
    let film_m: f64 = found.stores.iter().map(|stores| stores.film_m).sum();
    // The roller's count includes what was wound on before the start.
    let flown_m = f64::from(heard.film_metered_m) - loaded.scenario.film.wound_m;
    assert!((film_m / flown_m - 1.0).abs() < 0.03, "foretold {film_m} m, flown {flown_m} m");
    let gas_kg = f64::from(heard.gas_left_kg);
    assert!(gas_kg >= last.gas_left_kg, "{gas_kg} kg left; at least {} foretold", last.gas_left_kg);
    assert!(gas_kg < last.gas_left_kg + 0.3, "a bound so far off says nothing: {gas_kg} {}", last.gas_left_kg);
}

#[test]
fn film_gas_and_energy_beyond_reserve_are_refused_where_they_run_short() {
    let load = &day().1.load;
    let good = checked(load);
    let film: Vec<f64> = good.stores.iter().map(|stores| stores.film_m).collect();
    // Film for four passes above the 15 m that the flight code keeps, and half of the fifth.
    let film_m = 15.0 + film[..4].iter().sum::<f64>() + 0.5 * film[4];
    let short = checked_from(load, &State { film_m, ..on_pad() });
    let named = refusals(&short, Rule::Film);
    assert_eq!(named.len(), 1, "{named:#?}");
    assert_eq!(named[0].entry, Some(ons(load)[4] + 1));
    assert!(named[0].reason.contains("15.00 m are kept"));
    let gas = checked_from(load, &State { gas_kg: 0.6, ..on_pad() });
    assert_eq!(refusals(&gas, Rule::Gas).len(), 1);
    // 95 W for twenty hours are 1,900 Wh.
    let energy = checked_from(load, &State { energy_j: (2_880.0 + 1_900.0) * 3600.0, ..on_pad() });
    assert_eq!(refusals(&energy, Rule::Energy).len(), 1, "{:#?}", energy.findings);
}
