//! Ground and board cannot disagree: what the flight code refuses, the ground's own rules refuse too.

use proptest::prelude::*;
use stillframe::passes::check::{finding::Rule, state::State};
use stillframe_controller::{
    attitude::mode::Hold,
    programme::load::{Command, Entry},
};

use crate::{checked_from, day, on_pad, refusals};

#[derive(Clone, Debug)]
enum Slip {
    Drop(usize),
    Swap(usize, usize),
    Tick(usize, i64),
    Set(usize, Command),
    Insert(usize, Command),
    Counter(u16),
    Phase(u32),
    Rate(u32),
}

fn slip() -> impl Strategy<Value = Slip> {
    let command = prop_oneof![
        Just(Command::CameraOff),
        Just(Command::Secure),
        (0..6_u8, 0..3_u16).prop_map(|(slit, interval_ticks)| Command::CameraOn { slit, interval_ticks }),
        (0..2_000_u16).prop_map(Command::Speed),
        any::<bool>().prop_map(Command::Receiver),
        (0..3_500_u16).prop_map(Command::OpenAfter),
        (0..3_500_u16).prop_map(Command::SafeAfter),
        Just(Command::Hold(Hold::Coarse)),
    ];
    let at = 0_usize..300;
    prop_oneof![
        at.clone().prop_map(Slip::Drop),
        (at.clone(), at.clone()).prop_map(|(a, b)| Slip::Swap(a, b)),
        (at.clone(), -10_000_000_i64..10_000_000).prop_map(|(k, by)| Slip::Tick(k, by)),
        (at.clone(), command.clone()).prop_map(|(k, command)| Slip::Set(k, command)),
        (at, command).prop_map(|(k, command)| Slip::Insert(k, command)),
        (0..5_u16).prop_map(Slip::Counter),
        any::<u32>().prop_map(Slip::Phase),
        any::<u32>().prop_map(Slip::Rate),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn what_the_flight_code_refuses_the_ground_refuses_by_itself(
        slips in prop::collection::vec(slip(), 1..4),
        now_tick in prop_oneof![Just(0_u32), 0_u32..8_000_000],
        counter in prop::option::of(0..4_u16),
        film_m in prop_oneof![Just(900.0), 10.0..60.0],
    ) {
        let mut load = day().1.load.clone();
        for slip in slips {
            let len = load.entries.len().max(1);
            match slip {
                Slip::Drop(k) if load.entries.len() > 1 => { load.entries.remove(k % len); }
                Slip::Swap(a, b) => load.entries.swap(a % len, b % len),
                Slip::Tick(k, by) => {
                    let entry = &mut load.entries[k % len];
                    entry.tick = (i64::from(entry.tick) + by) as u32;
                }
                Slip::Set(k, command) => load.entries[k % len].command = command,
                Slip::Insert(k, command) => {
                    let tick = load.entries[k % len].tick;
                    let _ = load.entries.insert(k % len, Entry { tick, command });
                }
                Slip::Counter(counter) => load.counter = counter,
                Slip::Phase(phase) => load.ephemeris.phase = phase,
                Slip::Rate(rate) => load.ephemeris.phase_per_tick = rate,
                Slip::Drop(_) => {}
            }
        }
        let found = checked_from(&load, &State { now_tick, counter, film_m, ..on_pad() });
        // The rule of that name holds only what the others missed.
        prop_assert!(refusals(&found, Rule::OnBoard).is_empty(), "{:#?}", found.on_board);
        prop_assert!(found.on_board.accepted || !found.good());
    }
}
