//! The on-board computer fails: reset, memory gone wrong, cycles that do not end, a bus that sags. Each beside the same
//! flight without the fault.

use stillframe_controller::{
    attitude::mode::Mode,
    health::flags::Flag,
    io::{Actuators, Edges},
    keep::ResetCause,
};

use crate::rig::{Rig, SETTLED_S, camera, fault, replace, scenario};

/// From a reset to the first step of the flight code, s.
const RESTART_S: f64 = 0.5;

fn at(kind: &str, at_s: f64, keys: &str) -> String {
    format!("[[fault]]\nkind = \"{kind}\"\nat_h = {}\n{keys}\n", at_s / 3600.0)
}

fn no_valve_opens(commanded: &Actuators) -> bool {
    commanded.jets.iter().all(|edges| edges.open_us.is_none()) && commanded.latch_open == [false; 2]
}

/// A moment at which a jet is open and stays so for a quarter of a second more: while tip-off is taken out.
fn firing_s() -> f64 {
    let mut rig = Rig::new(&scenario(0.1, ""));
    let (mut since_s, mut found_s) = (None, None);
    rig.watch(120.0, |flight, _| {
        since_s = if flight.plant.flowing() == 0 { None } else { since_s.or(Some(flight.time_s())) };
        if let Some(since_s) = since_s.filter(|since_s| flight.time_s() - since_s > 0.5) {
            found_s.get_or_insert(since_s + 0.25);
        }
    });
    found_s.expect("a long pulse")
}

#[test]
fn a_reset_in_mid_firing_shuts_the_valves_and_the_vehicle_goes_on_unarmed_with_what_was_kept() {
    let reset_s = firing_s();
    let mut rig = Rig::new(&scenario(1.0, &at("processor_reset", reset_s, "")));
    rig.run(reset_s - 0.02);
    assert_ne!(rig.flight.plant.flowing(), 0, "the jet is open when the reset comes");
    // One tick to act and the valve's own delay.
    let shut_s = rig.time_to(reset_s + 1.0, |flight| flight.plant.flowing() == 0).expect("it stays open");
    assert!(shut_s < 0.06, "{shut_s}");
    let mut opened = false;
    rig.watch(reset_s + RESTART_S - 0.02, |flight, outcome| {
        opened |= flight.plant.flowing() != 0 || !no_valve_opens(&outcome.commanded);
    });
    assert!(!opened, "nothing may open while the processor starts");
    rig.run(reset_s + 5.0);
    let told = *rig.telemetry();
    assert_eq!((told.computer.resets, told.computer.cause), (1, ResetCause::Watchdog));
    assert!(!told.computer.kept_refused);
    assert_eq!(told.load_counter, 1, "the load in force is kept");
    let ordnance = told.ordnance;
    assert!(!ordnance.armed, "{ordnance:?}");
    // It is captured as ever, and the gas ledger goes on: what the valves used before is not forgotten.
    rig.settle();
    let (used_kg, told_kg) = (rig.gas_kg(), f64::from(rig.telemetry().gas_used_kg));
    assert!((told_kg / used_kg - 1.0).abs() < 0.1, "{told_kg} kg told, {used_kg} kg used");
}

#[test]
fn a_reset_in_a_pass_ends_it_keeps_the_film_ledger_and_the_next_pass_is_flown() {
    let (first_h, second_h) = (0.61, 1.3);
    let passes = camera(first_h, 30.0) + &camera(second_h, 30.0);
    let reset_s = first_h * 3600.0 + 10.0;
    let mut rig = Rig::new(&scenario(1.4, &(passes + &at("processor_reset", reset_s, ""))));
    rig.run(reset_s - 0.1);
    assert!(rig.flight.plant.shutter().is_open());
    let told_before_m = f64::from(rig.telemetry().film_metered_m);
    let before_m = rig.flight.plant.film().gate_m();
    let shut_s = rig.time_to(reset_s + 2.0, |flight| !flight.plant.shutter().is_open()).expect("it stays open");
    assert!(shut_s < 0.3, "{shut_s}");
    rig.run(reset_s + 60.0);
    assert!(!rig.flight.plant.shutter().is_open(), "a pass that was cut off is not taken up again");
    let after_m = rig.flight.plant.film().gate_m();
    assert!(after_m - before_m < 0.05, "film went on for {} m", after_m - before_m);
    // The ledger is as old as the last whole second: at most a second of film is missing from it, and the run-down.
    let told_m = f64::from(rig.telemetry().film_metered_m) - told_before_m;
    assert!((told_m - (after_m - before_m)).abs() < 0.07, "{told_m} m told, {} m through", after_m - before_m);
    let mut opened = false;
    rig.watch(second_h * 3600.0 + 40.0, |flight, _| opened |= flight.plant.shutter().is_open());
    assert!(opened, "the load that was kept goes on");
}

#[test]
fn with_what_was_kept_damaged_it_wakes_without_a_load_and_holds_its_attitude() {
    let pass = camera(1.3, 30.0);
    let damaged = at("processor_reset", SETTLED_S + 60.0, "store_damaged = true");
    let mut rig = Rig::new(&scenario(1.4, &(pass + &damaged)));
    rig.settle();
    rig.run(SETTLED_S + 90.0);
    let told = rig.telemetry();
    assert!(told.computer.kept_refused);
    assert_eq!(told.load_counter, 0, "no load is in force");
    let mut opened = false;
    rig.watch(1.3 * 3600.0 + 40.0, |flight, _| opened |= flight.plant.shutter().is_open());
    assert!(!opened, "nothing is photographed without a load");
    assert!(matches!(rig.mode(), Mode::Coarse | Mode::Fine), "{:?}", rig.mode());
}

#[test]
fn a_gain_that_turns_over_is_found_within_a_second_and_put_right_from_the_store() {
    for place in ["gain", "film", "load"] {
        let upset = fault("memory_upset", &format!("where = \"{place}\""));
        let passes = camera(0.9, 20.0);
        let mut rig = Rig::new(&scenario(1.0, &(passes + &upset)));
        rig.settle();
        let in_force = rig.telemetry().uplink.in_force;
        assert!(in_force.is_some());
        let found_s = rig.time_to(SETTLED_S + 3.0, |flight| flight.controller.computer().resets > 0);
        // A second of scrubbing, and the tick that asks.
        assert!(found_s.expect("never found") < 2.1, "{place}: {found_s:?}");
        rig.run(SETTLED_S + 5.0);
        let told = rig.telemetry();
        assert_eq!(
            (told.computer.resets, told.computer.cause, told.load_counter),
            (1, ResetCause::Memory, 1),
            "{place}"
        );
        assert!(rig.flight.controller.sound(), "{place}: put right");
        assert_eq!(told.uplink.in_force, in_force, "{place}: the same load, by its check sum");
    }
    // The control: a sound memory is never found wrong.
    let mut rig = Rig::new(&scenario(0.7, ""));
    rig.settle().run(SETTLED_S + 60.0);
    assert_eq!(rig.telemetry().computer.resets, 0);
}

#[test]
fn single_cycles_that_do_not_end_are_counted_and_borne_and_many_in_a_row_lead_to_a_reset() {
    // One cycle in forty for a minute: 150 of them.
    let mut rig = Rig::new(&scenario(0.7, &fault("cycle_overrun", "every = 40\nfor_s = 60.0")));
    rig.settle();
    let mut unsafe_ticks = 0;
    rig.watch(SETTLED_S + 61.0, |flight, outcome| {
        let overran = (flight.plant.ticks() - 1).is_multiple_of(40);
        let inside = (SETTLED_S + 0.1..SETTLED_S + 59.9).contains(&flight.time_s());
        let safe = outcome.commanded.jets.iter().all(|&edges| edges == Edges::CLOSE);
        unsafe_ticks += u32::from(inside && overran && !safe);
    });
    assert_eq!(unsafe_ticks, 0);
    rig.run(SETTLED_S + 70.0);
    let told = *rig.telemetry();
    assert!((148..=152).contains(&told.computer.overruns), "{}", told.computer.overruns);
    assert_eq!(told.computer.resets, 0);
    assert_eq!(rig.mode(), Mode::Fine, "the hold bears it");
    // Two seconds of them: after half a second the watchdog resets, again and again, and nothing opens meanwhile.
    let mut rig = Rig::new(&scenario(0.7, &fault("cycle_overrun", "for_s = 2.0")));
    rig.settle();
    let mut opened = false;
    rig.watch(SETTLED_S + 1.95, |flight, outcome| {
        opened |= flight.time_s() > SETTLED_S + 0.03 && !no_valve_opens(&outcome.commanded);
    });
    assert!(!opened);
    rig.run(SETTLED_S + 10.0);
    let told = rig.telemetry();
    assert!((1..=3).contains(&told.computer.resets), "{}", told.computer.resets);
    assert_eq!((told.computer.cause, told.load_counter), (ResetCause::Watchdog, 1));
}

#[test]
fn a_cycle_that_does_not_end_in_mid_exposure_costs_a_frame_and_not_the_camera() {
    let (first_h, second_h) = (0.61, 0.65);
    let passes = camera(first_h, 30.0) + &camera(second_h, 20.0);
    // One cycle in 200 ticks, for a second and a half in mid-pass.
    let over = at("cycle_overrun", first_h * 3600.0 + 10.0, "every = 200\nfor_s = 1.5");
    let mut rig = Rig::new(&scenario(0.7, &(passes + &over)));
    rig.run(first_h * 3600.0 + 13.0);
    assert!(rig.telemetry().computer.overruns >= 1);
    assert!(rig.flight.plant.shutter().is_open(), "the pass goes on");
    let exposure = *rig.flight.controller.exposure();
    assert_eq!(u64::from(exposure.cut_short), u64::from(rig.telemetry().computer.overruns));
    rig.run(second_h * 3600.0 + 10.0);
    assert!(rig.flight.plant.shutter().is_open(), "the next pass is flown");
    rig.assert_no_flag(Flag::ShutterFault);
}

#[test]
fn a_bus_that_sags_when_film_starts_resets_the_processor_and_film_is_shed_until_a_new_load() {
    // The jets' valves are left out of the bus here, so that film alone makes the difference.
    let with = |tail: &str| {
        let text = scenario(0.7, &(camera(0.62, 20.0) + &camera(0.66, 20.0) + tail));
        replace(&text, "sensors_w = 25.0", "sensors_w = 25.0\nvalve_w = 0.0")
    };
    // The control: the same passes on a sound battery. What film takes at most is measured in it.
    let mut rig = Rig::new(&with(""));
    rig.settle();
    let (mut opened, mut peak_w) = (false, 0.0_f64);
    rig.watch(0.7 * 3600.0 - 1.0, |flight, _| {
        opened |= flight.plant.shutter().is_open();
        peak_w = peak_w.max(flight.plant.film().electric_power_w());
    });
    assert!(opened && rig.telemetry().computer.resets == 0);
    assert!(peak_w > 6.5, "film takes {peak_w} W at most: no more than its brakes");
    // Base, sensors and transmitter take 95 W. A resistance behind which the bus is at 20 V, (28 − V)·V/R = P, with
    // seven tenths of film's most on top of them.
    let resistance_ohm = (28.0 - 20.0) * 20.0 / (95.0 + 0.7 * peak_w);
    let mut rig = Rig::new(&with(&fault("battery_weak", &format!("resistance_ohm = {resistance_ohm}"))));
    rig.settle();
    rig.run(0.62 * 3600.0 - 5.0);
    assert_eq!(rig.telemetry().computer.resets, 0, "the bus holds while film stands");
    let reset_s = rig.time_to(0.62 * 3600.0 + 20.0, |flight| flight.controller.computer().resets > 0);
    assert!(reset_s.is_some(), "film started and nothing sagged");
    let mut moved = false;
    rig.run(0.63 * 3600.0);
    rig.watch(0.7 * 3600.0 - 1.0, |flight, outcome| {
        moved |= !outcome.commanded.film.brake || flight.plant.shutter().is_open()
    });
    assert!(!moved, "film stays off under the load that broke the bus down");
    let told = rig.telemetry().computer;
    assert_eq!((told.resets, told.cause, told.shed_under), (1, ResetCause::BrownOut, Some(1)));
}
