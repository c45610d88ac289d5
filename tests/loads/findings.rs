//! Every rule refuses what it is there for, by line, and lets the day's own load pass.

use stillframe::passes::check::{
    difference::{Mark, difference},
    example,
    finding::{Grade, Rule},
    state::{Stage, State},
};
use stillframe_controller::{
    attitude::mode::Hold,
    programme::load::{Command, Entry, Load},
};

use crate::{all_refusals, changed, checked, checked_from, day, on_pad, ons, positions, refusals};

/// The change makes the rule refuse, at this entry (counted from 0), in these words.
#[track_caller]
fn refused(load: &Load, state: &State, rule: Rule, entry: Option<usize>, words: &str) {
    let found = checked_from(load, state);
    let of_rule = refusals(&found, rule);
    assert!(
        of_rule.iter().any(|f| f.entry == entry.map(|index| index + 1) && f.reason.contains(words)),
        "no refusal of {rule:?} at {entry:?} with {words:?} among {:#?}",
        found.findings
    );
    assert!(!found.good());
}

#[test]
fn the_days_own_load_is_good_and_the_flight_code_says_so_too() {
    let found = checked(&day().1.load);
    assert!(found.good(), "{:#?}", all_refusals(&found));
    assert!(found.on_board.accepted);
    assert_eq!((found.pictures.len(), found.stores.len()), (13, 13));
    let first = &found.pictures[0];
    assert_eq!((first.area.as_deref(), first.on_utc.as_str()), (Some("Sulveig Sound"), "2026-06-10T07:57:40.000Z"));
}

#[test]
fn times_that_are_past_rolled_over_beyond_or_out_of_order_are_named() {
    let load = &day().1.load;
    let on = ons(load)[0];
    let later = State { now_tick: load.entries[on].tick + 1, ..on_pad() };
    refused(load, &later, Rule::Time, Some(on), "its time has passed by 0.01 s");
    refused(load, &later, Rule::Time, Some(0), "its time has passed");
    let rolled = changed(|load| load.entries[on].tick = 0_u32.wrapping_sub(300));
    refused(&rolled, &on_pad(), Rule::Time, Some(on), "3.00 s before the clock's start, rolled over");
    let beyond = changed(|load| load.entries.last_mut().expect("entries").tick = 9_720_100);
    let last = beyond.entries.len() - 1;
    refused(&beyond, &on_pad(), Rule::Time, Some(last), "1.00 s beyond what is predicted");
    let swapped = changed(|load| load.entries.swap(on, on + 1));
    refused(&swapped, &on_pad(), Rule::Time, Some(on + 1), "out of order");
}

#[test]
fn camera_pairs_are_kept() {
    let load = &day().1.load;
    let (first, off) = (ons(load)[0], positions(load, |command| command == Command::CameraOff)[0]);
    let left_on = changed(|load| {
        let last = positions(load, |command| command == Command::CameraOff).pop().expect("a camera-off");
        load.entries.remove(last);
    });
    refused(&left_on, &on_pad(), Rule::Camera, ons(&left_on).last().copied(), "left on at the end");
    let overlap = changed(|load| {
        load.entries.remove(off);
    });
    refused(&overlap, &on_pad(), Rule::Camera, Some(ons(&overlap)[1]), "two camera-ons overlap");
    let twice_off = changed(|load| {
        load.entries.remove(first);
    });
    refused(&twice_off, &on_pad(), Rule::Camera, Some(off - 1), "off already");
    let long = changed(|load| load.entries[off].tick = load.entries[first].tick + 60_001);
    refused(&long, &on_pad(), Rule::Camera, Some(first), "stays on for 600.01 s; the vehicle allows 600 s");
}

#[test]
fn a_counter_that_does_not_rise_and_another_orbit_are_refused() {
    let load = &day().1.load;
    refused(load, &State { counter: Some(1), ..on_pad() }, Rule::Counter, None, "does not rise");
    let elsewhere = changed(|load| load.ephemeris.phase = load.ephemeris.phase.wrapping_add(1 << 25));
    refused(&elsewhere, &on_pad(), Rule::Orbit, None, "2.8° from its predicted place");
    let tilted = changed(|load| load.ephemeris.inclination_rad -= 0.01);
    refused(&tilted, &on_pad(), Rule::Orbit, None, "inclination");
}

#[test]
fn speeds_are_held_against_v_over_h_by_the_other_road() {
    let load = &day().1.load;
    let on = ons(load)[2];
    let speed = (0..on).rev().find(|&k| matches!(load.entries[k].command, Command::Speed(_))).expect("a speed");
    // Two per cent too fast from the start of a pass.
    let fast = changed(|load| {
        let Command::Speed(step) = &mut load.entries[speed].command else { panic!("a speed") };
        *step += *step / 50 + 1;
    });
    refused(&fast, &on_pad(), Rule::Speed, Some(speed), "V/h through the lens makes");
    // The V/h beside it agrees with the speeds no longer either, as the flight code will see.
    refused(&fast, &on_pad(), Rule::Speed, Some(speed + 1), "the vehicle would doubt its speeds");
    // Both wrong together: only the other road shows it.
    let both = changed(|load| {
        for entry in &mut load.entries {
            match &mut entry.command {
                Command::Speed(step) => *step = (f64::from(*step) * 1.1).round() as u16,
                Command::Expect(units) => *units = (f64::from(*units) * 1.1).round() as u32,
                _ => {}
            }
        }
    });
    let found = checked(&both);
    assert!(found.on_board.accepted, "the vehicle cannot know");
    assert!(refusals(&found, Rule::Speed).len() >= 2 * 13, "{:#?}", found.findings);
}

#[test]
fn night_and_the_wrong_slit_are_refused() {
    let load = &day().1.load;
    let on = ons(load)[0];
    let other = changed(|load| {
        let Command::CameraOn { slit, .. } = &mut load.entries[on].command else { panic!("a camera-on") };
        *slit = if *slit < 2 { 3 } else { 0 };
    });
    refused(&other, &on_pad(), Rule::Exposure, Some(on), "stops off");
    // Between half a stop and a stop off it is a caution, and the better slit is named all the same.
    let mut named = 0;
    for &on in &ons(load) {
        for wrong in 0..4 {
            let other = changed(|load| {
                let Command::CameraOn { slit, .. } = &mut load.entries[on].command else { panic!("a camera-on") };
                *slit = wrong;
            });
            let found = checked(&other);
            let picture = found.pictures.iter().find(|picture| picture.entry == on + 1).expect("a picture");
            let told: Vec<_> =
                found.findings.iter().filter(|f| f.rule == Rule::Exposure && f.entry == Some(on + 1)).collect();
            let grades: Vec<Grade> = told.iter().map(|finding| finding.grade).collect();
            let better = told.iter().any(|finding| finding.reason.contains("would be"));
            match picture.stops_off.expect("by day").abs() {
                off if off > 1.0 => assert_eq!((grades, better), (vec![Grade::Refusal], true), "{told:#?}"),
                off if off > 0.8 => {
                    assert_eq!((grades, better), (vec![Grade::Caution], true), "{told:#?}");
                    assert!(told[0].remedy.contains("Take the slit"), "{told:#?}");
                    named += 1;
                }
                _ => assert!(!grades.contains(&Grade::Refusal), "{told:#?}"),
            }
        }
    }
    assert!(named > 0, "no camera-on of the day has a slit 0.8 to 1 stop off");
    // Half a revolution later it is night below.
    let night = changed(|load| {
        let last = load.entries.len() - 1;
        for entry in load.entries.iter_mut().skip(last - 2) {
            entry.tick += 266_700 / 2;
        }
        load.entries.retain(|entry| entry.tick < 9_720_000);
    });
    let found = checked(&night);
    assert!(!refusals(&found, Rule::Exposure).is_empty() || !found.good(), "{:#?}", found.findings);
}

#[test]
fn what_is_out_of_phase_is_refused() {
    let load = &day().1.load;
    let on = ons(load)[5];
    let tick = load.entries[on].tick;
    let coarse = changed(|load| {
        load.entries.insert(on, Entry { tick: tick - 100, command: Command::Hold(Hold::Coarse) }).expect("room");
    });
    refused(&coarse, &on_pad(), Rule::Phase, Some(on + 1), "the hold is coarse");
    let cut = changed(|load| {
        load.entries.insert(on - 2, Entry { tick: load.entries[on - 2].tick, command: Command::Secure }).expect("room");
    });
    refused(&cut, &on_pad(), Rule::Phase, Some(on + 1), "film has been cut and sealed");
    let sealed = State { stage: Stage::Secured, ..on_pad() };
    refused(load, &sealed, Rule::Phase, Some(on), "film is cut and sealed on board");
    let drifting = changed(|load| {
        load.entries.insert(on + 1, Entry { tick: tick + 100, command: Command::Hold(Hold::Drift) }).expect("room");
    });
    refused(&drifting, &on_pad(), Rule::Phase, Some(on + 1), "leaves fine while the camera is on");
}

#[test]
fn the_wrong_example_shows_many_rules_at_once_and_the_board_stops_at_its_first() {
    let found = checked_from(&example::spoil(&day().1.load), &on_pad());
    let rules: std::collections::BTreeSet<&str> = all_refusals(&found).iter().map(|f| f.rule.word()).collect();
    for rule in ["camera", "exposure", "phase", "speed", "time"] {
        assert!(rules.contains(rule), "{rule} is not among {rules:?}");
    }
    assert!(!found.on_board.accepted);
    assert!(found.findings.windows(2).all(|pair| pair[0].grade <= pair[1].grade), "refusals first");
    assert!(found.findings.iter().all(|f| !f.reason.is_empty() && !f.remedy.is_empty()));
    assert_eq!(found.count(Grade::Refusal), all_refusals(&found).len());
}

#[test]
fn the_difference_tells_what_goes_what_comes_and_what_is_done() {
    let old = &day().1.load;
    let new = changed(|load| {
        load.counter = 2;
        let last = load.entries.len() - 1;
        load.entries[last].tick += 100;
        load.entries.remove(0);
    });
    let lines = difference(old, &new, old.entries[1].tick + 1, day().1.start);
    let of = |mark| lines.iter().filter(|line| line.mark == mark).map(|line| line.text.as_str()).collect::<Vec<_>>();
    assert_eq!(of(Mark::Gone), ["counter 1", "hold turned"]);
    assert_eq!(of(Mark::New), ["counter 2", "hold turned"]);
    assert_eq!(of(Mark::Done).len(), 1);
    assert_eq!(of(Mark::Same).len(), 6 + old.entries.len() - 2);
}
