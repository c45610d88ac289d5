//! Faults of clock and radio link.

use stillframe_controller::{
    health::flags::Flag,
    programme::load::{Command, Entry, Load},
};

use crate::rig::{Rig, SETTLED_S, camera, fault, loaded, replace, scenario};

/// A pass seven seconds after the fault.
const PASS_H: f64 = 0.602;

/// Time at which the shutter first opened and whether it ever did, until `until_s`.
fn opened_s(rig: &mut Rig, until_s: f64) -> Option<f64> {
    let mut opened_s = None;
    rig.watch(until_s, |flight, _| {
        if flight.plant.shutter().is_open() {
            opened_s.get_or_insert(flight.time_s());
        }
    });
    opened_s
}

#[test]
fn a_clock_step_suspends_the_programme_and_executes_nothing_in_a_burst() {
    for step_s in [10.0, -10.0, 60.0, 3600.0, -3600.0] {
        let tail = camera(PASS_H, 30.0) + &camera(0.65, 20.0) + &fault("clock_step", &format!("step_s = {step_s}"));
        let mut rig = Rig::new(&scenario(1.7, &tail));
        rig.settle();
        let film_m = rig.telemetry().film_metered_m;
        assert_eq!(opened_s(&mut rig, 0.68 * 3600.0), None, "step {step_s}");
        rig.assert_flag(Flag::ClockJumped);
        assert_eq!(rig.telemetry().film_metered_m, film_m);
        assert_eq!(rig.telemetry().load_counter, 1, "the load itself is kept");
    }
}

#[test]
fn a_clock_step_in_mid_pass_switches_the_camera_off() {
    let at = format!("at_h = {}", PASS_H + 10.0 / 3600.0);
    let step = replace(&fault("clock_step", "step_s = 5.0"), "at_h = 0.6", &at);
    let mut rig = Rig::new(&scenario(0.7, &(camera(PASS_H, 30.0) + &step)));
    rig.run(PASS_H * 3600.0 + 9.9);
    assert!(rig.flight.plant.shutter().is_open());
    let shut_s = rig.time_to(PASS_H * 3600.0 + 30.0, |flight| !flight.plant.shutter().is_open());
    assert!(shut_s.expect("it stayed open") < 0.3, "{shut_s:?}");
    assert_eq!(opened_s(&mut rig, 0.69 * 3600.0), None);
}

#[test]
fn a_drifting_clock_is_late_by_its_drift_and_no_more() {
    // On board nothing can tell it from a good one; the ground correlates clocks. 1000 ppm from the start of
    // the run are 2.2 s at the pass.
    let drift = |ppm: f64| {
        let drift = replace(&fault("clock_drift", &format!("rate_ppm = {ppm}")), "at_h = 0.6", "at_h = 0.0");
        let mut rig = Rig::new(&scenario(0.7, &(camera(PASS_H, 30.0) + &drift)));
        let opened_s = opened_s(&mut rig, 0.62 * 3600.0).expect("photographed");
        rig.assert_no_flag(Flag::ClockJumped);
        opened_s
    };
    let (good, fast, slow) = (PASS_H * 3600.0, drift(1000.0), drift(-1000.0));
    // A fast clock comes early.
    assert!((fast - (good - 2.167)).abs() < 0.1, "{fast}");
    assert!((slow - (good + 2.167)).abs() < 0.1, "{slow}");
}

/// A vehicle above a station from the start: one stands under its whole first minutes.
fn over_a_station(tail: &str) -> Rig {
    // The orbit begins at its node; the sub-point there, for the demonstration's start.
    let text = scenario(0.5, tail);
    let mut probe = Rig::new(&text);
    let truth = probe.flight.plant.truth();
    let place =
        stillframe::world::track::ground_point(&truth.orbit.position_m, probe.flight.plant.earth(), truth.time_s);
    let here = format!(
        "[[station]]\nname = \"Under\"\nlatitude_deg = {}\nlongitude_deg = {}\nheight_m = 0.0\n\n[[station]]\nname = \"Alder\"",
        place.latitude_rad.to_degrees() + 3.0,
        place.longitude_rad.to_degrees(),
    );
    Rig::new(&replace(&text, "[[station]]\nname = \"Alder\"", &here))
}

fn next_load(rig: &Rig) -> Load {
    let built = stillframe::flight::build::build(&loaded(&scenario(0.5, "")), 1).expect("builds");
    assert_eq!(rig.flight.controller.telemetry().load_counter, 0, "telemetry has not begun");
    let on = Command::CameraOn { slit: 1, interval_ticks: 0 };
    let commands = [(900_000, Command::Speed(300)), (900_500, on), (903_000, Command::CameraOff)];
    let entries = commands.into_iter().map(|(tick, command)| Entry { tick, command }).collect();
    Load { counter: 2, entries, ..built.load }
}

#[test]
fn a_load_sent_up_in_a_contact_is_taken_and_observed() {
    let mut rig = over_a_station("");
    let load = next_load(&rig);
    rig.flight.link.send(&load);
    rig.run(60.0);
    assert_eq!(rig.telemetry().load_counter, 2);
    let (_, heard) = rig.flight.link.observed.expect("telemetry was heard");
    assert_eq!(heard.load_counter, 2);
}

#[test]
fn a_garbled_uplink_is_refused_the_old_load_stays_and_the_next_contact_brings_the_new_one() {
    let garbled = "[[fault]]\nkind = \"uplink_garbled\"\nat_h = 0.0\nfor_s = 100.0\nbits_percent = 1.0\n\
                   [[fault]]\nkind = \"link_lost\"\nat_h = 0.0333333\nfor_s = 10.0\n";
    let mut rig = over_a_station(garbled);
    let load = next_load(&rig);
    rig.flight.link.send(&load);
    rig.run(100.0);
    assert_eq!(rig.telemetry().load_counter, 1, "a garbled load was taken");
    assert!(rig.telemetry().loads_refused >= 1 && rig.telemetry().last_refusal.is_some());
    rig.assert_flag(Flag::LoadRefused);
    // The contact breaks at 120 s and comes back clean: the ground sends again what telemetry does not show.
    rig.run(200.0);
    assert_eq!(rig.telemetry().load_counter, 2, "not sent again");
}

#[test]
fn with_the_link_lost_nothing_is_observed_and_the_programme_goes_on() {
    let lost = "[[fault]]\nkind = \"link_lost\"\nat_h = 0.0\n";
    let mut rig = over_a_station(&(camera(0.3, 5.0) + lost));
    let load = next_load(&rig);
    rig.flight.link.send(&load);
    let mut contact = false;
    rig.watch(1200.0, |flight, _| contact |= flight.link.contact().is_some());
    assert!(!contact && rig.flight.link.observed.is_none());
    assert_eq!(rig.telemetry().load_counter, 1);
    assert!(rig.flight.time_s() < SETTLED_S);
    // Not settled yet: the camera-on of 0.3 h was due and rightly withheld, so it was carried out.
    assert!(rig.telemetry().tick > 108_000);
}
