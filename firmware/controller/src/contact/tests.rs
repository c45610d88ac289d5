extern crate std;
use super::*;
use proptest::prelude::*;
use std::vec::Vec;

/// How the ground calls, and what works on board.
#[derive(Clone, Copy, Debug)]
struct Case {
    wanted: Wanted,
    /// The programme's receiver window opens for `open_s` in every `period_s`, if there is a period.
    window: Option<(u32, u32)>,
    /// Silence at the start: the timer itself may have been upset.
    silent_s: u32,
    in_use: Which,
    dead: Option<Which>,
    /// Contacts begin every `gap_s`, the first after `phase_s`, and last `contact_s`; a telecommand gets through if one
    /// receiver that works listens through all of a contact.
    gap_s: u32,
    phase_s: u32,
    contact_s: u32,
}

impl Case {
    /// Seconds until a telecommand is heard, looked for until `until_s`.
    fn returns_s(&self, until_s: u32) -> Option<u32> {
        let mut contact = Contact { silent_s: self.silent_s, in_use: self.in_use, ..Contact::default() };
        let mut through_s = 0;
        for now_s in 0..until_s {
            let on = self.window.map_or(self.wanted.on, |(open_s, period_s)| now_s % period_s.max(1) < open_s);
            contact.second(Wanted { on, ..self.wanted });
            let good = match contact.listen() {
                Listen::Off => false,
                Listen::Main => self.dead != Some(Which::Main),
                Listen::Alternate => self.dead != Some(Which::Alternate),
            };
            let into_s = now_s.checked_sub(self.phase_s).map(|since_s| since_s % self.gap_s);
            through_s = match into_s {
                Some(into_s) if into_s < self.contact_s && good && (into_s == 0 || through_s > 0) => through_s + 1,
                _ => 0,
            };
            if through_s == self.contact_s {
                return Some(now_s);
            }
        }
        None
    }

    /// The bound of the handbook, s from the last telecommand; a timer that was upset forwards only comes earlier.
    fn bound_s(&self) -> u32 {
        let wanted = self.wanted.bounded();
        let whole_s = self.gap_s + self.contact_s;
        let turns_s = wanted.safe_after_s + turns_end_s(whole_s).expect("turns are longer than any day");
        let opened_s = wanted.open_after_s + whole_s;
        if self.dead != Some(self.in_use) && opened_s <= wanted.safe_after_s { opened_s } else { turns_s }
    }
}

/// Nothing, everything, and about three values in every doubling between.
fn grid() -> Vec<u32> {
    let mut values = std::vec![0, 1, 2, u32::MAX];
    for bit in 2..32 {
        values.extend([1 << bit, (1 << bit) + (1 << (bit - 2)), (1 << bit) - 1]);
    }
    values
}

const WORST: Case = Case {
    wanted: Wanted { on: false, open_after_s: u32::MAX, safe_after_s: u32::MAX },
    window: None,
    silent_s: 0,
    in_use: Which::Main,
    dead: None,
    gap_s: 21_600,
    phase_s: 21_599,
    contact_s: 240,
};

fn assert_returns(case: &Case) -> u32 {
    let bound_s = case.bound_s();
    case.returns_s(bound_s).unwrap_or_else(|| panic!("no contact within {bound_s} s: {case:?}"))
}

/// Both timers by every amount, receiver off for good by programme, either receiver dead or none, either in use.
#[test]
fn contact_returns_whatever_the_timers_are_set_to() {
    let mut latest_s = 0;
    for open_after_s in grid() {
        for safe_after_s in grid().into_iter().step_by(2) {
            for dead in [None, Some(Which::Main)] {
                let wanted = Wanted { on: false, open_after_s, safe_after_s };
                latest_s = latest_s.max(assert_returns(&Case { wanted, dead, ..WORST }));
            }
        }
    }
    // Close to the bound of the worst: the test reaches what it is about.
    let bound_s = Case { dead: Some(Which::Main), ..WORST }.bound_s();
    assert!(latest_s > bound_s / 2 && latest_s <= bound_s, "{latest_s} of {bound_s}");
}

/// The receiver window by every amount: on for any time in any period, which no load could ask.
#[test]
fn contact_returns_whatever_the_receiver_window_is_set_to() {
    for open_s in grid().into_iter().step_by(2) {
        for period_s in grid().into_iter().step_by(2) {
            for dead in [None, Some(Which::Main)] {
                assert_returns(&Case { window: Some((open_s, period_s)), dead, ..WORST });
            }
        }
    }
}

/// The count of silence itself by every amount: it may come back too early or in its time, never too late.
#[test]
fn contact_returns_wherever_the_count_of_silence_stands() {
    for silent_s in grid() {
        for in_use in [Which::Main, Which::Alternate] {
            for dead in [None, Some(Which::Main), Some(Which::Alternate)] {
                let case = Case { silent_s, in_use, dead, ..WORST };
                // In the last round turns no longer grow: two whole ones, and one that was cut into.
                let bound_s = case.bound_s().max(3 * (TURN_S << DOUBLINGS));
                assert!(case.returns_s(bound_s).is_some(), "{case:?}");
            }
        }
    }
}

/// The ground's side by every amount: contacts seldom or often, at any time, up to a contact a day.
#[test]
fn contact_returns_however_the_contacts_fall() {
    for gap_s in [600, 5_400, 7_000, 14_400, 21_600, 43_200, 86_400, 100_000] {
        for phase in 0..24 {
            for (in_use, dead) in
                [(Which::Main, None), (Which::Main, Some(Which::Main)), (Which::Alternate, Some(Which::Main))]
            {
                let phase_s = gap_s / 24 * phase + phase;
                assert_returns(&Case { in_use, dead, gap_s, phase_s: phase_s.min(gap_s - 1), ..WORST });
            }
        }
    }
}

#[test]
fn a_timer_without_bounds_would_fail_the_same_trial() {
    // The control: the same walk with the time taken as it is told, as a timer without bounds would.
    let wanted = Wanted { on: false, open_after_s: 1 << 20, safe_after_s: 1 << 21 };
    assert!(wanted.bounded() != wanted);
    let mut silent_s = 0_u32;
    let bound_s = Case { wanted, ..WORST }.bound_s();
    let opens = (0..bound_s).any(|_| {
        silent_s += 1;
        silent_s >= wanted.open_after_s
    });
    assert!(!opens);
}

#[test]
fn rounds_double_and_then_repeat() {
    let hours = |h: u32| round(h * 3_600);
    assert_eq!((hours(0), hours(3)), ((0, 7_200), (0, 7_200)));
    assert_eq!((hours(4), hours(11)), ((14_400, 14_400), (14_400, 14_400)));
    assert_eq!((hours(12), hours(28)), ((43_200, 28_800), (100_800, 57_600)));
    assert_eq!((hours(60), hours(6_000)), ((216_000, 115_200), (216_000, 115_200)));
    // 2T(2ⁿ⁺¹ − 1) by hand: 4 h, 12 h, 28 h, 60 h, 124 h.
    let ends = [7_200, 14_400, 28_800, 57_600, 115_200].map(|whole_s| turns_end_s(whole_s).map(|end_s| end_s / 3_600));
    assert_eq!(ends, [Some(4), Some(12), Some(28), Some(60), Some(124)]);
    assert_eq!((turns_end_s(7_201), turns_end_s(115_201)), (Some(43_200), None));
    let contact = Contact::default();
    let turns: Vec<Which> = (0..7).map(|turn| contact.turn(turn * 7_200)).collect();
    use Which::{Alternate as A, Main as M};
    assert_eq!(turns, [A, M, A, A, M, M, A]);
}

#[test]
fn a_telecommand_ends_silence_and_holds_its_receiver_on() {
    let wanted = Wanted { on: false, open_after_s: 7_200, safe_after_s: 36_000 };
    let mut contact = Contact::default();
    let run = |contact: &mut Contact, seconds: u32| (0..seconds).for_each(|_| contact.second(wanted));
    run(&mut contact, HELD_OPEN_S - 1);
    assert_eq!(contact.listen(), Listen::Main);
    run(&mut contact, 1);
    assert_eq!(contact.listen(), Listen::Off);
    run(&mut contact, 7_199 - HELD_OPEN_S);
    assert_eq!(contact.listen(), Listen::Off);
    run(&mut contact, 1);
    assert_eq!((contact.listen(), contact.lost()), (Listen::Main, false));
    run(&mut contact, 28_799);
    assert!(!contact.lost());
    run(&mut contact, 1);
    assert_eq!((contact.listen(), contact.lost()), (Listen::Alternate, true));
    contact.heard();
    assert_eq!((contact.listen(), contact.lost(), contact.silent_s()), (Listen::Alternate, false, 0));
    run(&mut contact, 600);
    assert_eq!(contact.listen(), Listen::Alternate, "it stays with the receiver that was heard");
    contact.choose(Which::Main);
    run(&mut contact, 1);
    assert_eq!(contact.listen(), Listen::Main);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn contact_returns_from_any_state(
        open_after_s: u32, safe_after_s: u32, alternate: bool, dead in 0..3_u8, window in prop::option::of((0..100_000_u32, 1..200_000_u32)),
        gap_s in 300..100_000_u32, phase in 0.0..1.0_f64, contact_s in 1..299_u32,
    ) {
        let case = Case {
            wanted: Wanted { on: false, open_after_s, safe_after_s },
            window,
            silent_s: 0,
            in_use: if alternate { Which::Alternate } else { Which::Main },
            dead: [None, Some(Which::Main), Some(Which::Alternate)][usize::from(dead)],
            gap_s,
            phase_s: (phase * f64::from(gap_s)) as u32,
            contact_s,
        };
        assert_returns(&case);
    }
}
