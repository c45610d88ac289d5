//! Whatever happens to a file, reading it ends with a scenario or with an error that has a place.

use proptest::prelude::*;
use stillframe::scenario::demo::Demo;

use crate::support::{BASE, read_text};

fn judge(text: &str) -> Result<(), TestCaseError> {
    if let Err(refusal) = read_text(text) {
        prop_assert!(!refusal.problems.is_empty());
        for problem in &refusal.problems {
            prop_assert!(refusal.line(problem).is_some(), "{problem:?}");
            prop_assert!(!problem.message.is_empty());
        }
        prop_assert!(refusal.render(100, false).len() > 20);
    }
    Ok(())
}

/// Nearest boundary of a character at or before `at`.
fn boundary(text: &str, at: usize) -> usize {
    (0..=at.min(text.len())).rev().find(|at| text.is_char_boundary(*at)).unwrap_or(0)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn cut_anywhere(share in 0.0..1.0_f64) {
        let text = Demo::Strip.text();
        judge(&text[..boundary(text, (share * text.len() as f64) as usize)])?;
    }

    #[test]
    fn characters_changed(changes in prop::collection::vec((0.0..1.0_f64, any::<char>()), 1..6)) {
        let mut text = BASE.to_owned();
        for (share, new) in changes {
            let from = boundary(&text, (share * text.len() as f64) as usize);
            let to = (from + 1..=text.len()).find(|at| text.is_char_boundary(*at)).unwrap_or(from);
            text.replace_range(from..to, new.encode_utf8(&mut [0; 4]));
        }
        judge(&text)?;
    }

    #[test]
    fn values_exchanged(line in 0_usize..200, value in prop::sample::select(vec![
        "nan", "-inf", "1e308", "-1e-308", "0", "-1", "9223372036854775807", "0xffffffffffffffff", "true", "\"\"",
        "\"text\"", "[]", "[1, 2, 3]", "[[1, 2], [3, 4], [5, 6]]", "{}", "{ value = 1, sigma = 0.1 }",
        "{ value = 0.5, plus_minus = 0 }", "2026-06-10T09:00:00Z", "2026-06-10", "09:00:00", "\"auto\"", "1_000",
    ])) {
        let mut lines: Vec<String> = BASE.lines().map(str::to_owned).collect();
        let index = line % lines.len();
        if let Some((key, _)) = lines[index].clone().split_once('=') {
            lines[index] = format!("{key}= {value}");
        }
        judge(&lines.join("\n"))?;
    }

    #[test]
    fn lines_lost_doubled_or_moved(from in 0_usize..200, to in 0_usize..200, keep in any::<bool>()) {
        let mut lines: Vec<&str> = BASE.lines().collect();
        let (from, to) = (from % lines.len(), to % lines.len());
        let line = if keep { lines[from] } else { lines.remove(from) };
        lines.insert(to.min(lines.len()), line);
        judge(&lines.join("\n"))?;
    }
}
