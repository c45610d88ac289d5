//! Phasing: right as drawn, and every exchanged or reversed wire found.

use crate::over;
use stillframe_hil::{
    line::stand_in::StandIn,
    phasing::{self, every},
    report, scenario,
    wiring::Wiring,
};

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
    let loaded = scenario::edge().unwrap();
    let rows = phasing::round(&mut over(StandIn::new()), &loaded, &Wiring::default(), &mut |_| {}).unwrap();
    assert!(rows.len() > 30 && rows.iter().all(|row| row.good), "{rows:?}");
    let page = format!(
        "# Phasing table\n\nMade by the bench's own round, wires as drawn; a test keeps it so. [Phasing](bench.md#phasing) tells what it \
         is. On a board with output lines there is one more row: whether all that was read back from them was as asked.\n\n{}",
        report::phasing_table(&rows).markdown()
    );
    crate::assert_published("phasing-table.md", &page);
}

/// A framing camera's clamp, brakes, platen and shutter; clamp and brakes, which a strip camera moves together, are told
/// apart here.
#[test]
fn a_framing_camera_is_phased_too() {
    let loaded = scenario::edge_frame().unwrap();
    let round = |wiring: &Wiring| {
        let rows = phasing::round(&mut over(StandIn::new()), &loaded, wiring, &mut |_| {}).unwrap();
        rows.into_iter().filter(|row| !row.good).collect::<Vec<_>>()
    };
    assert_eq!(round(&Wiring::default()), []);
    for wire in ["brake", "clamp", "motor.roller"] {
        let wrong = round(&Wiring { reverses: vec![wire.parse().unwrap()], ..Wiring::default() });
        assert!(wrong.iter().any(|row| row.wire == wire), "{wire}: {wrong:?}");
    }
    for swap in ["brake:clamp", "shutter:jet.5"] {
        let wrong = round(&Wiring { swaps: vec![swap.parse().unwrap()], ..Wiring::default() });
        assert!(!wrong.is_empty(), "{swap}");
    }
}

/// All that can be exchanged or reversed is tried by `stillframe-bench phasing --every-fault`, which takes minutes.
#[test]
fn every_exchange_of_like_wires_and_every_reversal_can_be_tried() {
    let faults = every::faults(16);
    let count = |word: &str| faults.iter().filter(|(fault, _)| fault.starts_with(word)).count();
    // Signs of 16 sensor and 8 actuator wires; pairs of 10 numbers, 3 counters and 3 flags there, of 3 motors, 5 flags
    // and 17 valves here.
    assert_eq!((count("--reverse"), count("--swap")), (16 + 8, 45 + 3 + 3 + 3 + 10 + 136));
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
