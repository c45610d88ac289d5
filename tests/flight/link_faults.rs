//! Faults of clock and radio link.

use stillframe_controller::{
    attitude::mode::Mode,
    health::flags::Flag,
    io::Listen,
    programme::load::{Command, Entry, Load},
};

use crate::rig::{Rig, SETTLED_S, camera, fault, loaded, replace, scenario};

/// No contact at all, so that nothing comes from the ground.
const NO_LINK: &str = "[[fault]]\nkind = \"link_lost\"\nat_h = 0.0\n";
/// A pass seven seconds after the fault.
const PASS_H: f64 = 0.602;

/// Time at which the shutter first opened and whether it ever did, until `until_s`.
pub fn opened_s(rig: &mut Rig, until_s: f64) -> Option<f64> {
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
        let tail =
            camera(PASS_H, 30.0) + &camera(0.65, 20.0) + NO_LINK + &fault("clock_step", &format!("step_s = {step_s}"));
        let mut rig = Rig::new(&scenario(1.7, &tail));
        rig.settle();
        let film_m = rig.telemetry().film_metered_m;
        assert_eq!(opened_s(&mut rig, 0.68 * 3600.0), None, "step {step_s}");
        rig.assert_flag(Flag::ClockJumped);
        assert_eq!(rig.telemetry().film_metered_m, film_m);
        assert_eq!(rig.telemetry().load_counter, 1, "the load itself is kept");
        assert_eq!(rig.telemetry().uplink.late, 0, "what has passed is not known before the clock is: step {step_s}");
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
    // On board nothing can tell it from a good one; the ground, which is kept away here, correlates clocks. 1000 ppm from the start of
    // the run are 2.2 s at the pass.
    let drift = |ppm: f64| {
        let drift = replace(&fault("clock_drift", &format!("rate_ppm = {ppm}")), "at_h = 0.6", "at_h = 0.0");
        let mut rig = Rig::new(&scenario(0.7, &(camera(PASS_H, 30.0) + &drift + NO_LINK)));
        let opened_s = opened_s(&mut rig, 0.62 * 3600.0).expect("photographed");
        rig.assert_no_flag(Flag::ClockJumped);
        opened_s
    };
    let (good, fast, slow) = (PASS_H * 3600.0, drift(1000.0), drift(-1000.0));
    // A fast clock comes early.
    assert!((fast - (good - 2.167)).abs() < 0.1, "{fast}");
    assert!((slow - (good + 2.167)).abs() < 0.1, "{slow}");
}

/// A vehicle that passes over a station `at_h`, flown for `hours`.
pub fn over_a_station_at(at_h: f64, hours: f64, tail: &str) -> Rig {
    let text = scenario(hours, tail);
    let built = stillframe::flight::build::build(&loaded(&text), 1).expect("builds");
    let time_s = at_h * 3600.0;
    let position_m = built.prediction.path.position(time_s);
    let place = stillframe::world::track::ground_point(&position_m, &built.prediction.earth, time_s);
    let here = format!(
        "[[station]]\nname = \"Under\"\nlatitude_deg = {}\nlongitude_deg = {}\nheight_m = 0.0\n\n[[station]]\nname = \"Alder\"",
        place.latitude_rad.to_degrees(),
        place.longitude_rad.to_degrees(),
    );
    Rig::new(&replace(&text, "[[station]]\nname = \"Alder\"", &here))
}

/// A vehicle above a station from the start: one stands under its first minutes.
pub fn over_a_station(tail: &str) -> Rig {
    over_a_station_at(0.015, 0.5, tail)
}

pub fn next_load(rig: &Rig) -> Load {
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
    let mut rig = over_a_station(&(camera(0.45, 5.0) + NO_LINK));
    let load = next_load(&rig);
    rig.flight.link.send(&load);
    let mut contact = false;
    rig.watch(1700.0, |flight, _| contact |= flight.link.contact().is_some());
    assert!(!contact && rig.flight.link.observed.is_none());
    assert_eq!(rig.telemetry().load_counter, 1);
    assert!(rig.flight.time_s() < SETTLED_S);
    // Not settled yet: the camera-on of 0.45 h was due and rightly withheld, so it was carried out.
    assert!(rig.telemetry().tick > 162_000);
    assert_eq!(rig.telemetry().uplink.late, 0);
}

/// Ten seconds forward and back, and past the whole programme: nothing runs until the next contact; from then on everything
/// runs at its true time, and the pass that has gone by is counted as left out.
#[test]
fn after_a_clock_step_the_next_contact_correlates_the_clock_and_the_programme_goes_on() {
    for (step_s, link) in [(10.0, ""), (-10.0, ""), (3600.0, ""), (10.0, NO_LINK)] {
        let tail =
            camera(0.61, 10.0) + &camera(0.75, 10.0) + link + &fault("clock_step", &format!("step_s = {step_s}"));
        let mut rig = over_a_station_at(0.66, 0.8, &tail);
        rig.settle();
        rig.run(0.605 * 3600.0);
        rig.assert_flag(Flag::ClockJumped);
        let opened_s = opened_s(&mut rig, 0.76 * 3600.0);
        if link.is_empty() {
            rig.assert_no_flag(Flag::ClockJumped);
            assert_eq!(rig.telemetry().uplink.clock_ahead_ticks, (-100.0 * step_s) as i32);
            let opened_s = opened_s.expect("photographed");
            assert!((opened_s - 0.75 * 3600.0).abs() < 0.1, "step {step_s}: {opened_s}");
            assert!(rig.telemetry().uplink.late > 0, "step {step_s}: the pass before the contact is left out");
        } else {
            assert_eq!(opened_s, None, "the control: without contact nothing runs");
        }
    }
}

#[test]
fn a_drifting_clock_is_put_right_in_every_contact() {
    for rate_ppm in [500.0, -500.0] {
        let drift = replace(&fault("clock_drift", &format!("rate_ppm = {rate_ppm}")), "at_h = 0.6", "at_h = 0.0");
        let mut rig = over_a_station_at(0.7, 0.8, &(camera(0.75, 10.0) + &drift));
        let opened_s = opened_s(&mut rig, 0.77 * 3600.0).expect("photographed");
        // 500 ppm from the start would be 1.35 s; since the end of the contact they are less than 0.1 s.
        assert!((opened_s - 0.75 * 3600.0).abs() < 0.15, "{rate_ppm}: {opened_s}");
    }
}

#[test]
fn noise_and_a_false_lock_do_not_end_silence() {
    for kind in ["receiver_noise", "false_lock"] {
        let heard = format!("[[fault]]\nkind = \"{kind}\"\nat_h = 0.0\n") + NO_LINK;
        let mut rig = Rig::new(&scenario(0.5, &heard));
        rig.run(900.0);
        let told = *rig.telemetry();
        assert!(told.loads_refused > 100, "{kind}: frames do arrive, {}", told.loads_refused);
        assert_eq!((told.uplink.telecommands, told.load_counter), (0, 1), "{kind}");
        assert!((898..=900).contains(&told.uplink.silent_s), "{kind}: {}", told.uplink.silent_s);
    }
    // The control: a contact does.
    let mut rig = over_a_station("");
    rig.run(60.0);
    assert!(rig.telemetry().uplink.telecommands > 0 && rig.telemetry().uplink.silent_s < 60);
}

/// No contact for an hour, and the receiver in use dead: the vehicle makes itself safe, keeps its film, hears the ground by
/// the other receiver in the next contact, and goes on with its programme.
#[test]
fn past_the_limit_of_silence_the_vehicle_is_safe_and_comes_back_by_the_other_receiver() {
    let silence = "[[command]]\ndo = \"silence\"\nat_h = 0.01\nopens_after_min = 30\nsafe_after_min = 60\n";
    let programme = |silence: &str, cut: &str| {
        let lost = NO_LINK.to_owned() + "for_s = 4320.0\n[[fault]]\nkind = \"receiver_dead\"\nat_h = 0.0\n";
        let tail = silence.to_owned() + &camera(1.05, 10.0) + cut + &camera(1.4, 10.0) + &lost;
        if cut.is_empty() { tail } else { tail.replace(&camera(1.4, 10.0), "") }
    };
    let cut = "[[command]]\ndo = \"cut_and_seal\"\nat_h = 1.1\n";
    let mut rig = over_a_station_at(1.25, 1.5, &programme(silence, ""));
    rig.run(0.99 * 3600.0);
    let told = *rig.telemetry();
    assert_eq!((told.uplink.lost, told.uplink.listen, rig.mode()), (false, Listen::Main, Mode::Fine));
    assert_eq!(opened_s(&mut rig, 1.15 * 3600.0), None, "it photographed without contact");
    let told = *rig.telemetry();
    assert_eq!((told.uplink.lost, told.uplink.listen, rig.mode()), (true, Listen::Alternate, Mode::Coarse));
    rig.run(1.35 * 3600.0);
    let told = *rig.telemetry();
    assert_eq!((told.uplink.lost, told.uplink.listen), (false, Listen::Alternate), "{told:?}");
    assert!(told.uplink.telecommands > 0);
    let opened = opened_s(&mut rig, 1.45 * 3600.0).expect("the programme went on");
    assert!((opened - 1.4 * 3600.0).abs() < 0.1, "{opened}");

    // The film is not cut on the way; the control without the limit photographs, and cuts.
    let mut rig = over_a_station_at(1.25, 1.5, &programme(silence, cut));
    rig.run(1.2 * 3600.0);
    assert!(!rig.telemetry().film_secured && !rig.flight.controller.against(0).secured);
    let mut rig = over_a_station_at(1.25, 1.5, &programme("", cut));
    assert!(opened_s(&mut rig, 1.2 * 3600.0).is_some());
    assert!(rig.telemetry().film_secured);
}

/// A receiver window that leaves out a contact, and the time after which the receiver opens by itself.
#[test]
fn a_receiver_that_is_off_hears_nothing_until_it_opens_by_itself() {
    let off = "[[command]]\ndo = \"receiver\"\nat_h = 0.02\non = false\n";
    let on = "[[command]]\ndo = \"receiver\"\nat_h = 0.78\non = true\n";
    let opens = "[[command]]\ndo = \"silence\"\nat_h = 0.01\nopens_after_min = 30\n";
    for (tail, hears) in [(format!("{off}{on}"), false), (format!("{opens}{off}{on}"), true), (String::new(), true)] {
        let mut rig = over_a_station_at(0.66, 0.8, &(tail.clone() + NO_LINK + "for_s = 2160.0\n"));
        rig.run(0.55 * 3600.0);
        let listens = rig.telemetry().uplink.listen;
        assert_eq!(listens == Listen::Off, !hears, "{tail}");
        rig.run(0.7 * 3600.0);
        assert_eq!(rig.telemetry().uplink.telecommands > 0, hears, "{tail}");
    }
}
