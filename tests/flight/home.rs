//! The way home: film sealed, vehicle turned, orders with their echoes, and the capsule's own computer to the ground;
//! and what stops it.

use nalgebra::Vector3;
use stillframe::{
    descent::fall::End,
    flight::{build::build, closed_loop::ClosedLoop, home::Home, link::Link},
    plant::faults::FaultSchedule,
};
use stillframe_controller::ordnance::{Alarm, Event};

use crate::rig::{fault, loaded, replace, scenario};

/// The demonstration's return in the first hours, past a station at the pole that sees every revolution.
fn text(faults: &str) -> String {
    let station = "[[station]]\nname = \"Pole\"\nlatitude_deg = -89.9\nlongitude_deg = 0.0\nmask_deg = 0.0\n";
    let whole = stillframe::scenario::demo::Demo::Strip.text();
    let capsule = whole.split_once("[capsule]").expect("the demonstration has a capsule").1;
    let capsule = replace(capsule, "earliest_h = 24.0", "earliest_h = 1.2\nmost_across_km = 3000.0");
    let capsule = replace(&capsule, "latest_h = 48.0", "latest_h = 2.75");
    scenario(3.2, &format!("{station}\n{faults}\n[capsule]{capsule}"))
}

/// Flown until the capsule must be down.
fn flown(faults: &str, slow_turn: bool) -> ClosedLoop {
    let loaded = loaded(&text(faults));
    let mut built = build(&loaded, 1).expect("a sound scenario builds");
    if slow_turn {
        built.settings.turn.rate_deg_s = 0.05;
        built.controller = stillframe_controller::Controller::new(built.settings.clone()).expect("sound settings");
        built.controller.load(&built.load.encode(), 0).expect("a sound load");
    }
    let plan = built.home.clone().expect("the run has a way home");
    let home = Home::new(plan, &loaded, &built.settings, 77);
    let link = Link::new(&loaded.scenario, 1, &built.load);
    let faults = FaultSchedule::new(&loaded.scenario);
    let mut flight = ClosedLoop::new(built.plant, built.controller, link, faults).with_home(Some(home));
    while flight.time_s() < 3.2 * 3600.0 - 1.0 {
        flight.tick(&[], &mut |_, _| {}).expect("the orbit holds");
    }
    flight
}

fn happened(flight: &ClosedLoop) -> Vec<Event> {
    flight.home.as_ref().expect("a way home").happened.iter().map(|(_, event)| *event).collect()
}

fn at_s(flight: &ClosedLoop, wanted: Event) -> f64 {
    let home = flight.home.as_ref().expect("a way home");
    home.happened.iter().find(|(_, event)| *event == wanted).expect("it happened").0
}

#[test]
fn the_capsule_comes_down_in_order_and_on_time() {
    let flight = flown("", false);
    assert_eq!(happened(&flight), Event::ALL);
    let home = flight.home.as_ref().expect("a way home");
    let planned = home.plan.planned.at();
    assert!((at_s(&flight, Event::CapsuleSeparation) - home.plan.separation_s()).abs() < 0.1);
    assert!((at_s(&flight, Event::RetroIgnition) - planned.time_s).abs() < 0.1);
    // Pointing: the commanded turn settles within a degree, and the vehicle may be wrong by its gyrocompass.
    let lit = home.ignition().expect("lit");
    let wanted = home.model().at_retro(lit.time_s, lit.position_m, lit.velocity_m_s).axis;
    assert!(lit.axis.angle(&wanted).to_degrees() < 1.5, "{}", lit.axis.angle(&wanted).to_degrees());
    assert_eq!(lit.axis.norm_squared().round(), Vector3::<f64>::x().norm_squared());
    let fall = home.capsule.fall().expect("it came down");
    assert_eq!(fall.end, End::Down);
    assert!((7.0..9.0).contains(&fall.last.speed_m_s), "{} m/s", fall.last.speed_m_s);
    // The station at the pole hears it for minutes before; the plan lives on that, and not on the run's start.
    let tracked_s = home.tracked_s.expect("tracked");
    assert!((60.0..6_000.0).contains(&(home.plan.separation_s() - tracked_s)), "{tracked_s}");
    assert!(flight.controller.telemetry().film_secured);
}

#[test]
fn a_vehicle_that_has_not_come_round_keeps_its_capsule() {
    let flight = flown("", true);
    assert_eq!(happened(&flight), []);
    let told = flight.controller.telemetry().ordnance;
    assert!(!told.armed && told.count == 0);
}

#[test]
fn what_does_not_show_itself_stops_before_the_motor() {
    for (faults, last) in [
        (fault("event_unshown", "event = \"cover_release\""), Event::CoverRelease),
        (fault("event_unshown", "event = \"capsule_separation\""), Event::CapsuleSeparation),
        (fault("dud_charge", "event = \"spin\""), Event::CapsuleSeparation),
        (fault("capsule_spin_low", "share = 0.5"), Event::Spin),
    ] {
        let events = happened(&flown(&faults, false));
        assert_eq!(events.last(), Some(&last), "{faults}");
        assert!(!events.contains(&Event::RetroIgnition));
    }
}

/// The drogue's time is voted by two of three: own count, deceleration that came and went, timer. One of them wrong, whichever
/// and whichever way, moves nothing out of the canopy's bounds.
#[test]
fn one_wrong_sense_on_the_way_down_throws_no_canopy_early() {
    let sound_s = {
        let flight = flown("", false);
        at_s(&flight, Event::Drogue) - at_s(&flight, Event::RetroIgnition)
    };
    for kind in ["deceleration_switch_closed", "deceleration_switch_dead", "backup_timer_dead"] {
        let flight = flown(&fault(kind, ""), false);
        let drogue_s = at_s(&flight, Event::Drogue) - at_s(&flight, Event::RetroIgnition);
        // Never early; late by the backup's margin of a minute at most, and what separation came before.
        assert!((-0.1..61.0).contains(&(drogue_s - sound_s)), "{kind}: {drogue_s} s, sound {sound_s} s");
        assert!(happened(&flight).contains(&Event::Main), "{kind}");
        let early = flight.home.as_ref().expect("a way home").capsule.status().alarms.has(Alarm::EarlySwitch);
        assert_eq!(early, kind == "deceleration_switch_closed");
    }
}

/// A welded relay is one inhibit of five: the return goes on as ordered, and not before.
#[test]
fn a_welded_relay_fires_nothing_by_itself() {
    let flight = flown(&fault("arming_relay_welded", "circuit = \"capsule\""), false);
    let separation_s = flight.home.as_ref().expect("a way home").plan.separation_s();
    let first_s = flight.home.as_ref().expect("a way home").happened.first().map(|(at_s, _)| *at_s);
    assert!(first_s.is_none_or(|at_s| at_s > separation_s - 75.0), "{first_s:?}");
}
