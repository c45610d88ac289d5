//! Ordnance asked for by orders that nobody meant, and a welded arming relay: nothing gets current, and it is told.

use stillframe_controller::ordnance::Alarm;

use crate::rig::{Rig, fault, scenario};

/// The orders are up within five seconds of the fault.
const AFTER_S: f64 = 0.6 * 3600.0 + 8.0;

fn flown(faults: &str) -> Rig {
    let mut rig = Rig::new(&scenario(0.7, faults));
    rig.watch(AFTER_S, |flight, _| {
        let drive = flight.pending().ordnance;
        assert!(drive.lines() == 0 && !drive.commits(), "{drive:?}");
    });
    assert_eq!(rig.flight.plant.ordnance.spent(), 0);
    rig
}

#[track_caller]
fn assert_told(rig: &Rig, alarm: Alarm) {
    let alarms = rig.telemetry().ordnance.alarms;
    assert!(alarms.has(alarm), "{alarm:?} is not among {:016b}", alarms.0);
}

#[test]
fn orders_out_of_turn_or_early_are_refused() {
    for (event, armed, alarm) in [
        ("retro_ignition", "false", Alarm::NotArmed),
        ("retro_ignition", "true", Alarm::OutOfTurn),
        ("capsule_separation", "true", Alarm::OutOfTurn),
    ] {
        let rig = flown(&fault("ordnance_orders", &format!("event = \"{event}\"\narmed = {armed}")));
        assert_told(&rig, alarm);
        assert_eq!(rig.telemetry().ordnance.count, 0);
    }
}

/// The right event, armed, with the battery's switch thrown: but the film is not sealed, and the vehicle has not turned.
#[test]
fn a_vehicle_that_has_not_turned_is_waved_off() {
    let rig = flown(&fault("ordnance_orders", "event = \"cover_release\""));
    assert_told(&rig, Alarm::WavedOff);
    assert!(!rig.telemetry().ordnance.armed);
}

#[test]
fn a_welded_relay_is_told_and_the_rest_holds() {
    let welded = fault("arming_relay_welded", "");
    let rig = flown(&(welded.clone() + &fault("ordnance_orders", "event = \"cover_release\"\narmed = false")));
    assert_told(&rig, Alarm::RelayWelded);
    assert_told(&rig, Alarm::NotArmed);
    // Without the orders the relay is told just the same; without the fault nothing is.
    assert_told(&flown(&welded), Alarm::RelayWelded);
    let quiet = flown("");
    assert_eq!(quiet.telemetry().ordnance.alarms.0, 0);
}
