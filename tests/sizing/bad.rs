//! Bad wants, each the built-in ones with a small edit, and the exact message each earns.

use std::fmt::Write;

use stillframe::design::camera::demo::DEMO_TEXT;
use stillframe::design::camera::wants::Wants;
use stillframe::scenario::read_plain;

/// Name of the case and the edits that make it.
type Case<'a> = (&'a str, &'a [(&'a str, &'a str)]);

#[track_caller]
fn edited(edits: &[(&str, &str)]) -> String {
    edits.iter().fold(DEMO_TEXT.to_owned(), |text, (find, replace)| {
        assert!(text.contains(find), "the built-in wants do not hold {find:?}");
        text.replacen(find, replace, 1)
    })
}

#[track_caller]
fn messages(cases: &[Case<'_>]) -> String {
    let mut out = String::new();
    for (name, edits) in cases {
        let Err(refusal) = read_plain::<Wants>("camera.toml", &edited(edits)) else { panic!("{name}: was accepted") };
        for problem in &refusal.problems {
            assert!(refusal.line(problem).is_some(), "{name}: {problem} has no line");
            assert!(!problem.help.is_empty(), "{name}: {problem} teaches nothing");
        }
        let _ = writeln!(out, "==== {name}\n{}", refusal.render(100, false));
    }
    out.lines().map(str::trim_end).collect::<Vec<_>>().join("\n")
}

#[track_caller]
fn snapshot(name: &str, text: &str) {
    insta::with_settings!({ omit_expression => true, prepend_module_to_snapshot => false, snapshot_path => "messages" }, {
        insta::assert_snapshot!(name, text);
    });
}

#[test]
fn wants_are_refused_with_reasons() {
    snapshot(
        "bad_wants",
        &messages(&[
            ("format missing", &[("format = 1\n", "")]),
            ("format of the future", &[("format = 1\n", "format = 2\n")]),
            ("a scenario's table", &[("[limits]", "[vehicle]")]),
            ("wanted distance of nothing", &[("grd_m = 2.2 ", "grd_m = 0.0 ")]),
            ("height in metres", &[("lowest_altitude_km = 220.0", "lowest_altitude_m = 220000.0")]),
            ("lowest above highest", &[("lowest_altitude_km = 220.0", "lowest_altitude_km = 320.0")]),
            ("rule unknown", &[("\"reciprocal-squares\"", "\"linear\"")]),
            ("Sun below the horizon", &[("[30.0, 45.0, 60.0]", "[-5.0, 45.0]")]),
            ("no Sun at all", &[("[30.0, 45.0, 60.0]", "[]")]),
            ("lens beyond diffraction", &[("resolution_lp_mm = 130.0 ", "resolution_lp_mm = 300.0 ")]),
            ("high contrast below low", &[("high_contrast_lp_mm = 400.0", "high_contrast_lp_mm = 100.0")]),
            ("picture wider than film", &[("usable_mm = 114.0", "usable_mm = 130.0")]),
            ("two films of one name", &[("\"fast 127\"", "\"fine 127\"")]),
            ("film told by hearsay", &[("given_as = \"resolving-power\"", "given_as = \"hearsay\"")]),
            ("slits not rising", &[("[0.0485, 0.0685,", "[0.0685, 0.0485,")]),
            ("range upside down", &[("f_numbers = [3.0, 9.0]", "f_numbers = [9.0, 3.0]")]),
            (
                "search without end",
                &[
                    ("focal_length_step_mm = 10.0", "focal_length_step_mm = 0.1"),
                    ("f_number_step = 0.1", "f_number_step = 0.01"),
                ],
            ),
            ("spread on a want", &[("grd_m = 2.2 ", "grd_m = { value = 2.2, sigma = 0.1 } ")]),
            ("not a number", &[("optics_kg = 30.0", "optics_kg = nan")]),
        ]),
    );
}

#[test]
fn curves_are_refused_with_reasons() {
    let by_power = "given_as = \"resolving-power\"\nlow_contrast_lp_mm = 160.0\nhigh_contrast_lp_mm = 400.0";
    let curves = |lists: &str| format!("given_as = \"curves\"\n{lists}");
    let short = curves("at_lp_mm = [10, 100]\nmtf = [0.9, 0.5]\nthreshold = [0.02, 0.05, 0.1]");
    let falling = curves("at_lp_mm = [10, 100, 200]\nmtf = [0.9, 0.5, 0.8]\nthreshold = [0.02, 0.05, 0.05]");
    let sound = curves("at_lp_mm = [10, 100, 200]\nmtf = [0.9, 0.5, 0.3]\nthreshold = [0.02, 0.05, 0.08]");
    assert!(read_plain::<Wants>("camera.toml", &edited(&[(by_power, &sound)])).is_ok());
    snapshot(
        "bad_curves",
        &messages(&[("lists of unlike length", &[(by_power, &short)]), ("demand that falls", &[(by_power, &falling)])]),
    );
}
