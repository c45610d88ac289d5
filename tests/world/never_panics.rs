//! Readers of outside text must refuse garbage, never panic.

use proptest::prelude::*;
use stillframe::world::elements::MeanElements;
use stillframe::world::time::Utc;

const ONE: &str = "1 06251U 62025E   06176.82412014  .00008885  00000-0  12808-3 0  3985";
const TWO: &str = "2 06251  58.0579  54.0425 0030035 139.1568 221.1854 15.56387291  6774";

/// Puts the right check digit on a line, so that the fields behind it are reached.
fn with_check_digit(mut line: Vec<u8>) -> String {
    let sum: u32 =
        line[..68].iter().map(|&c| if c == b'-' { 1 } else { char::from(c).to_digit(10).unwrap_or(0) }).sum();
    line[68] = b'0' + (sum % 10) as u8;
    String::from_utf8(line).expect("ASCII")
}

fn mutate(line: &str, changes: &[(usize, u8)]) -> String {
    let mut bytes = line.as_bytes().to_vec();
    for &(at, byte) in changes {
        bytes[1 + at % 67] = byte;
    }
    with_check_digit(bytes)
}

/// Whatever is read must also stand being asked for states.
fn exercise(text: &str) {
    if let Ok(set) = MeanElements::parse(text) {
        for minutes in [-1e6, 0.0, 1.0, 1e5, f64::MAX, f64::NAN] {
            let _ = set.state_after_minutes(minutes);
        }
        let _ = set.start_at(set.epoch());
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn any_text(text in "\\PC{0,200}") {
        exercise(&text);
        let _ = Utc::parse(&text);
    }

    #[test]
    fn any_two_lines(one in "1[ -~]{68}", two in "2[ -~]{68}") {
        exercise(&format!("{}\n{}", with_check_digit(one.into_bytes()), with_check_digit(two.into_bytes())));
    }

    #[test]
    fn damaged_lines(
        first in prop::collection::vec((any::<usize>(), 0x20u8..0x7f), 0..4),
        second in prop::collection::vec((any::<usize>(), 0x20u8..0x7f), 0..4),
    ) {
        exercise(&format!("{}\n{}", mutate(ONE, &first), mutate(TWO, &second)));
    }

    #[test]
    fn wild_digits(
        first in prop::collection::vec((any::<usize>(), b'0'..=b'9'), 0..40),
        second in prop::collection::vec((any::<usize>(), b'0'..=b'9'), 0..40),
    ) {
        exercise(&format!("{}\n{}", mutate(ONE, &first), mutate(TWO, &second)));
    }

    #[test]
    fn messages(
        motion in any::<f64>(), e in any::<f64>(), angle in any::<f64>(), drag in any::<f64>(),
        epoch in "[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(\\.[0-9]{1,9})?",
    ) {
        exercise(&format!(
            "EPOCH = {epoch}\nMEAN_MOTION = {motion}\nECCENTRICITY = {e}\nINCLINATION = {angle}\n\
             RA_OF_ASC_NODE = 0\nARG_OF_PERICENTER = 0\nMEAN_ANOMALY = 0\nBSTAR = {drag}"
        ));
    }

    #[test]
    fn instants(text in "[0-9TZ:.+-]{0,30}") {
        let _ = Utc::parse(&text);
    }
}
