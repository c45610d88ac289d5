//! The ordnance interlocks: every state of the real sequencers that can be reached, and what must never be in any of them.
//!
//! The whole search takes longer than five seconds because it is the proof: every pair of parts that can stick, for both
//! computers.

mod circuit;
mod model;
mod nominal;
mod page;
mod radio;
mod search;
mod sequences;
mod stuck;

use model::rule;
use page::{Evidence, action_text, faults_text};
use search::{Found, LONG, SHORT, flown, planted, return_stays_possible, search};
use std::{fs, path::Path};
use stillframe_controller::ordnance::Side;

fn show(name: &str, found: &Found) {
    let Found { starts, states, steps, depth, time, broken } = found;
    let seconds = time.as_secs_f64();
    println!(
        "{name}: {starts} starts, {states} states, {steps} steps, depth {depth}, {seconds:.1} s, {} broken",
        broken.len()
    );
    for broken in broken.iter().take(3) {
        println!("  broken: {}; stuck: {}", broken.rule, faults_text(&broken.faults));
        for action in &broken.way {
            println!("    {}", action_text(action));
        }
    }
}

/// No part, every one and every pair on the short way down; no part and every one on the long one.
fn searches() -> Vec<(&'static str, Found)> {
    let few = |side| stuck::all(side).into_iter().filter(|faults| faults.number() < 2).collect();
    let wholes = [
        ("vehicle, every single part and every pair stuck", flown(Side::Vehicle, SHORT, stuck::all(Side::Vehicle))),
        ("capsule, every single part and every pair stuck", flown(Side::Capsule, SHORT, stuck::all(Side::Capsule))),
        ("capsule, every single part stuck, a longer way down", flown(Side::Capsule, LONG, few(Side::Capsule))),
    ];
    wholes.map(|(name, graph)| (name, search(&graph))).into()
}

#[test]
fn no_way_breaks_a_rule_the_return_stays_possible_and_a_planted_path_is_found() {
    let singles = stuck::all(Side::Vehicle).into_iter().filter(|faults| faults.number() < 2).collect();
    let evidence = Evidence {
        searches: searches(),
        returns: [Side::Vehicle, Side::Capsule].map(return_stays_possible),
        planted: search::shortest(&planted(Side::Vehicle, singles)).expect("the planted path is found"),
    };
    for (name, found) in &evidence.searches {
        show(name, found);
    }
    for returned in &evidence.returns {
        println!(
            "return: {} starts, {} states, {:.1} s",
            returned.starts,
            returned.states,
            returned.time.as_secs_f64()
        );
        for (faults, way) in returned.lost.iter().take(3) {
            println!("  lost; stuck: {}", faults_text(faults));
            for action in way {
                println!("    {}", action_text(action));
            }
        }
    }
    show("planted path", &evidence.planted);
    for (name, found) in &evidence.searches {
        assert_eq!(found.broken.len(), 0, "{name}");
    }
    assert!(evidence.returns.iter().all(|returned| returned.lost.is_empty()));
    assert_published(&page::page(&evidence));
}

/// Each rule can break: with three parts stuck, which is where the proof ends, or with a setting that lets the drogue go at
/// once beside a timer that runs out at once.
#[test]
fn three_parts_or_a_wrong_setting_break_each_rule() {
    for (side, rule, parts) in stuck::triples() {
        let found = search(&flown(side, SHORT, vec![stuck::Faults(parts.map(Some))]));
        let name = rule::ALL.iter().find(|(bit, _)| *bit == rule).map(|(_, name)| *name);
        assert!(found.broken.iter().any(|broken| Some(broken.rule) == name), "{name:?} {parts:?}: {found:?}");
    }
    let timer = stuck::Stuck { part: stuck::Part::Timer, on: true };
    let mut graph = flown(Side::Capsule, LONG, vec![stuck::Faults([Some(timer), None, None])]);
    assert!(search(&graph).broken.is_empty());
    graph.settings.drogue_ticks = 2;
    assert!(search(&graph).broken.iter().any(|broken| broken.rule == rule::ALL[4].1));
}

/// The guard taken away is missed on both sides, with the relay welded.
#[test]
fn the_planted_guard_is_missed_by_vehicle_and_capsule() {
    let welded = stuck::Stuck { part: stuck::Part::Relay, on: true };
    for side in [Side::Vehicle, Side::Capsule] {
        let starts = vec![stuck::Faults([Some(welded), None, None])];
        assert!(search(&flown(side, SHORT, starts.clone())).broken.is_empty());
        assert!(!search(&planted(side, starts)).broken.is_empty());
    }
}

#[track_caller]
fn assert_published(now: &str) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("tests/ lies in the repository");
    let path = root.join("docs/src/interlocks-proof.md");
    if std::env::var_os("STILLFRAME_BLESS").is_some() {
        fs::write(&path, now).expect("written");
    }
    let published = fs::read_to_string(&path).unwrap_or_default();
    assert!(
        published == now,
        "docs/src/interlocks-proof.md is out of date; run this test once with STILLFRAME_BLESS=1 and look at the change"
    );
}
