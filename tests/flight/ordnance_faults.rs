//! Ordnance asked for by orders that nobody meant: nothing gets current, and it is told.

use stillframe_controller::ordnance::Alarm;

use crate::rig::{Rig, fault, scenario};

/// The orders are up within five seconds of the fault.
const AFTER_S: f64 = 0.6 * 3600.0 + 8.0;

fn flown(faults: &str) -> Rig {
    let mut rig = Rig::new(&scenario(0.7, faults));
    rig.watch(AFTER_S, |flight, _| {
        let drive = flight.pending().ordnance;
        assert!(!drive.arm() && drive.lines() == 0 && !drive.commits(), "{drive:?}");
    });
    rig
}

/// A run without a way home has its ordnance circuit as on the pad: not even arming is taken.
#[test]
fn orders_that_nobody_meant_are_refused_and_told() {
    for (event, armed, alarms) in [
        ("retro_ignition", "false", [Alarm::NotArmed].as_slice()),
        ("cover_release", "true", &[Alarm::ArmRefused, Alarm::WrongEcho, Alarm::NotArmed]),
    ] {
        let rig = flown(&fault("ordnance_orders", &format!("event = \"{event}\"\narmed = {armed}")));
        let told = rig.telemetry().ordnance;
        for alarm in alarms {
            assert!(told.alarms.has(*alarm), "{event}: {alarm:?} is not among {:016b}", told.alarms.0);
        }
        assert_eq!((told.count, told.armed, told.refused), (0, false, alarms.len() as u16));
    }
    let quiet = flown("").telemetry().ordnance;
    assert_eq!((quiet.alarms.0, quiet.refused), (0, 0));
}
