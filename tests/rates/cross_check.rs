//! A load whose film speeds are off is warned of before the pass.

use stillframe::{
    flight::build::build,
    scenario::{BuiltIn, demo::Demo, read},
};

use crate::demo;

#[test]
fn sound_loads_are_not_warned_of() {
    for kind in [Demo::Strip, Demo::Frame] {
        assert_eq!(build(&demo(kind), 1).expect("builds").rate_warnings, []);
    }
}

/// One step off, either way: every pass it touches is named, before anything flies; the others are not.
#[test]
fn one_table_step_off_is_warned_of_before_the_pass() {
    for steps in ["1", "-1"] {
        let fault = format!("\n[[fault]]\nkind = \"rate_table_off\"\nat_h = 1.9\nfor_s = 20000.0\nsteps = {steps}\n");
        let text = format!("{}{fault}", Demo::Strip.text());
        let loaded = read("off", &text, &BuiltIn(&[])).expect("a sound scenario");
        let warnings = build(&loaded, 1).expect("builds").rate_warnings;
        // Passes of the demonstration between 1.9 h and 7.46 h: 1.96, 3.46, 5.18 h.
        let at_h: Vec<f64> = warnings.iter().map(|w| (w.on_s / 36.0).round() / 100.0).collect();
        assert_eq!(at_h, [1.96, 3.46, 5.18], "{warnings:?}");
        for warning in &warnings {
            let off = f64::from(warning.steps) - warning.wanted_steps;
            assert!((0.75..1.6).contains(&off.abs()) && (off > 0.0) == (steps == "1"), "{warning:?}");
            assert!(warning.to_string().contains("before the pass at"), "{warning}");
        }
    }
}

#[test]
fn half_a_step_is_no_table() {
    let text = format!("{}\n[[fault]]\nkind = \"rate_table_off\"\nat_h = 1.9\nsteps = 0.5\n", Demo::Strip.text());
    let refusal = read("off", &text, &BuiltIn(&[])).expect_err("refused");
    assert!(
        refusal.to_string().contains("fault[2].steps") || format!("{refusal:?}").contains("fault[2].steps"),
        "{refusal}"
    );
}
