//! Phasing: right as drawn, and every exchanged or reversed wire found.

use crate::over;
use stillframe_hil::{line::stand_in::StandIn, phasing, scenario, wiring::Wiring};

fn wrong(swaps: &[&str], reverses: &[&str]) -> Vec<String> {
    let wiring = Wiring {
        swaps: swaps.iter().map(|swap| swap.parse().unwrap()).collect(),
        reverses: reverses.iter().map(|wire| wire.parse().unwrap()).collect(),
    };
    let loaded = scenario::edge().unwrap();
    let rows = phasing::round(&mut over(StandIn::new()), &loaded, &wiring, &mut |_| {}).unwrap();
    assert!(rows.len() > 30);
    rows.into_iter().filter(|row| !row.good).map(|row| row.wire).collect()
}

#[test]
fn as_drawn_every_wire_is_right() {
    assert_eq!(wrong(&[], &[]), Vec::<String>::new());
}

#[test]
fn every_reversed_wire_is_found() {
    // The roller's current is judged by its size alone, so that its sign does not matter.
    let wires = [
        "gyro.x",
        "gyro.y",
        "gyro.z",
        "horizon.roll",
        "horizon.pitch",
        "horizon.locked",
        "tank.pressure",
        "tank.temperature",
        "film.roller",
        "film.supply",
        "film.take_up",
        "film.supply_arm",
        "film.take_up_arm",
        "shutter.light",
        "separated",
        "latch.a",
        "latch.b",
        "motor.roller",
        "motor.supply",
        "motor.take_up",
        "brake",
        "clamp",
        "transmitter",
    ];
    for wire in wires {
        let found = wrong(&[], &[wire]);
        // A sensor's own row must be among the wrong ones; an actuator shows where it should have answered.
        let sensor = wire.starts_with("gyro") || wire.starts_with("horizon") || wire.starts_with("film");
        assert!(if sensor { found.iter().any(|row| row == wire) } else { !found.is_empty() }, "{wire}: {found:?}");
    }
}

#[test]
fn exchanged_wires_are_found() {
    let swaps = [
        "gyro.x:gyro.y",
        "gyro.y:gyro.z",
        "gyro.x:gyro.z",
        "horizon.roll:horizon.pitch",
        "tank.pressure:tank.temperature",
        "film.roller:film.supply",
        "film.roller:film.take_up",
        "film.supply:film.take_up",
        "film.supply_arm:film.take_up_arm",
        "film.supply_arm:film.current",
        "motor.roller:motor.supply",
        "motor.roller:motor.take_up",
        "motor.supply:motor.take_up",
        "latch.a:latch.b",
        "latch.a:transmitter",
        "horizon.locked:shutter.light",
        "jet.1:jet.3",
        "jet.2:jet.5",
        "jet.5:jet.6",
        "jet.7:jet.8",
        "jet.1:jet.9",
        "jet.13:jet.14",
        "jet.15:jet.16",
        "jet.6:shutter",
    ];
    for swap in swaps {
        assert!(!wrong(&[swap], &[]).is_empty(), "{swap}");
    }
}
