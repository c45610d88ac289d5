//! A load as text and back, bit for bit; bad text named by line.

use proptest::prelude::*;
use stillframe::{
    passes::check::listing::{parse, print},
    world::time::Utc,
};
use stillframe_controller::{
    attitude::{mode::Hold, orbit::Ephemeris},
    programme::load::{Command, Entry, Load},
};

fn start() -> Utc {
    Utc::parse("2026-06-10T06:00:00Z").expect("an instant")
}

prop_compose! {
    fn command()(kind in 0..12, a in any::<u8>(), b in any::<u16>(), c in 0_u32..0x0100_0000) -> Command {
        match kind {
            0 => Command::CameraOn { slit: a, interval_ticks: b },
            1 => Command::CameraOff,
            2 => Command::Speed(b),
            3 => Command::Hold(Hold::Fine),
            4 => Command::Hold(Hold::Coarse),
            5 => Command::Hold(Hold::Drift),
            6 => Command::Secure,
            7 => Command::Receiver(a.is_multiple_of(2)),
            8 => Command::OpenAfter(b),
            9 => Command::SafeAfter(b),
            10 => Command::Hold(Hold::Turned),
            _ => Command::Expect(c),
        }
    }
}

prop_compose! {
    fn load()(
        words in any::<(u16, u32, u32, u32)>(),
        numbers in prop::array::uniform3(prop::num::f32::NORMAL | prop::num::f32::SUBNORMAL | prop::num::f32::ZERO),
        entries in prop::collection::vec((any::<u32>(), command()), 0..40),
    ) -> Load {
        let (counter, epoch_tick, phase, phase_per_tick) = words;
        let [half_acceleration_rad_s2, inclination_rad, radius_ratio2] = numbers;
        let ephemeris = Ephemeris { epoch_tick, phase, phase_per_tick, half_acceleration_rad_s2, inclination_rad, radius_ratio2 };
        let entries = entries.into_iter().map(|(tick, command)| Entry { tick, command }).collect();
        Load { counter, ephemeris, entries }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// What is printed reads back to the same bytes, and the lines told are those of the commands.
    #[test]
    fn what_is_printed_reads_back_to_the_same_bytes(load in load()) {
        let (text, lines) = print(&load, "any load\nof any kind", start(), 1e-4);
        let read = parse("any.txt", &text, start()).expect("a listing of our own");
        prop_assert_eq!(read.load.encode(), load.encode());
        prop_assert_eq!(&read.lines, &lines);
        for (line, entry) in lines.iter().zip(&load.entries) {
            let first = text.lines().nth(line - 1).and_then(|line| line.split_whitespace().next());
            prop_assert_eq!(first.map(str::to_owned), Some(entry.tick.to_string()));
        }
    }

    /// No text breaks the reader; what it takes, it prints to something it takes as the same.
    #[test]
    fn any_text_is_read_or_refused(text in "(?s).{0,300}") {
        if let Ok(listed) = parse("x", &text, start()) {
            let (again, _) = print(&listed.load, "", start(), 1e-4);
            prop_assert_eq!(parse("x", &again, start()).expect("our own").load.encode(), listed.load.encode());
        }
    }

    /// Nor does a good listing with a stretch of it cut out or written over.
    #[test]
    fn a_damaged_listing_is_read_or_refused(load in load(), from in 0_usize..2_000, len in 0_usize..40, by in "[ -~\n]{0,20}") {
        let (mut text, _) = print(&load, "damaged", start(), 1e-4);
        let from = from.min(text.len());
        let to = (from + len).min(text.len());
        text.replace_range(from..to, &by);
        if let Err(refusal) = parse("x", &text, start()) {
            prop_assert!(!refusal.problems.is_empty());
            prop_assert!(refusal.problems.iter().all(|problem| !problem.help.is_empty()));
        }
    }

    /// No bytes break the reader of loads off the wire.
    #[test]
    fn any_bytes_are_a_load_or_refused(mut bytes in prop::collection::vec(any::<u8>(), 0..600), mark in any::<bool>()) {
        if mark && bytes.len() > 2 {
            bytes[..2].copy_from_slice(&crate::day().1.load.encode()[..2]);
        }
        if let Ok(load) = Load::decode(&bytes) {
            let again = load.encode();
            prop_assert_eq!(again.as_slice(), bytes.as_slice());
        }
    }
}

/// The example of the handbook's page on loads (docs/src/programme.md): its bytes, worked out there by hand.
#[test]
fn the_handbooks_example_gives_the_handbooks_bytes() {
    let text = "counter 1\nepoch 0\nphase 0\nrate 527000000\ndecay 0e0\ninclination 1.43117\nradius 0.93\n\
                2026-06-10T07:57:39.10Z speed 302\n706000 camera_on slit 1\n709000 camera_off # thirty seconds\n710000 hold coarse\n";
    let listed = parse("example.txt", text, start()).expect("the example");
    let bytes = listed.load.encode();
    // From the first entry on the handbook's table, which does not depend on the format of the head.
    let entries = "000ac5760300012e 000ac5d001000000 000ad18802000000 000ad57004010000";
    let shown: String = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
    assert!(shown.contains(&entries.replace(' ', "")), "{shown}");
    assert_eq!(listed.lines, [8, 9, 10, 11]);
}

#[test]
fn everything_wrong_with_a_listing_is_told_with_its_line() {
    let text = "counter 70000\nepoch 0\nphase 0\nphase 1\nrate 527000000\ndecay x\ninclination 1.4\n\
                100 camera on slit 1\n200 speed fast\n300\n2026-06-10T05:59:59Z speed 3\n2026-06-10T06:00:00.005Z speed 3\nwait 3\n";
    let refusal = parse("bad.txt", text, start()).expect_err("bad");
    let told: Vec<String> = refusal.problems.iter().map(ToString::to_string).collect();
    let all = told.join("\n");
    for (line, part) in [
        (1, "counter: '70000' is no whole number from 0 to 65535"),
        (4, "phase stands there twice"),
        (6, "decay: 'x' is no number"),
        (8, "'camera on slit 1' is no command"),
        (9, "'fast' is no whole number"),
        (10, "there is a time but no command"),
        (11, "is no time of the on-board clock"),
        (12, "falls between two ticks"),
        (13, "'wait' begins no line"),
    ] {
        assert!(
            told.iter().any(|told| told.starts_with(&format!("line {line}: ")) && told.contains(part)),
            "{line} {part}:\n{all}"
        );
    }
    assert!(all.contains("radius is missing"), "{all}");
}
