//! Bad scenarios, each the base with a small edit, and the exact message each earns.

use std::fmt::Write;

use crate::support::{FRAMING, edited, read_text, snapshot};

/// Name of the case and the edits that make it.
type Case<'a> = (&'a str, &'a [(&'a str, &'a str)]);

/// One readable text of all cases: what was changed, then what the user is told.
#[track_caller]
fn messages(cases: &[Case<'_>]) -> String {
    let mut out = String::new();
    for (name, edits) in cases {
        let text = edited(edits);
        let Err(refusal) = read_text(&text) else { panic!("{name}: was accepted") };
        for problem in &refusal.problems {
            assert!(refusal.line(problem).is_some(), "{name}: {problem} has no line");
            assert!(!problem.label.is_empty() || !problem.help.is_empty(), "{name}: {problem} teaches nothing");
        }
        let _ = writeln!(out, "==== {name}\n{}", refusal.render(100, false));
    }
    out
}

const STATE: &str = "[orbit.state]\nposition_km = [6613.137, 0.0, 0.0]\nvelocity_km_s = ";
const ELEMENTS: &str = "[orbit.elements]                 # osculating, TEME of the start
semi_major_axis_km = 6613.137    # 235 km
eccentricity = 0.0005
inclination_deg = 82.0
node_deg = 250.0
perigee_deg = 0.0
true_anomaly_deg = 0.0
";
/// Satellite 00005 of the public SGP4 verification set (Vallado et al., AIAA 2006-6753).
const LINE_1: &str = "1 00005U 58002B   00179.78495062  .00000023  00000-0  28098-4 0  4753";
const LINE_2: &str = "2 00005  34.2682 348.7242 1859667 331.7664  19.3264 10.82419157413667";

/// Torques (2, −1, 0), (−1, 2, 0), (0, 0, ±1): both signs on every axis, but never −x together with −y.
const HALF_SPACE: &str = r#"[[jet]]
name = "1"
position_m = [1.0, 2.0, 0.0]
direction = [0.0, 0.0, 1.0]
thrust_n = 1.0
[[jet]]
name = "2"
position_m = [-2.0, -1.0, 0.0]
direction = [0.0, 0.0, 1.0]
thrust_n = 1.0
[[jet]]
name = "3"
position_m = [1.0, 0.0, 0.0]
direction = [0.0, 1.0, 0.0]
thrust_n = 1.0
[[jet]]
name = "4"
position_m = [-1.0, 0.0, 0.0]
direction = [0.0, 1.0, 0.0]
thrust_n = 1.0

"#;

#[test]
fn files_as_a_whole() {
    let cut = crate::support::BASE.find("specific").unwrap_or(2_000);
    let tail = &crate::support::BASE[cut..];
    snapshot(
        "bad_files_as_a_whole",
        &messages(&[
            ("format missing", &[("format = 1\n", "")]),
            ("format of the future", &[("format = 1\n", "format = 2\n")]),
            ("format as text", &[("format = 1\n", "format = \"1\"\n")]),
            ("cut short in a value", &[(tail, "spec")]),
            ("quote not closed", &[("name = \"base\"", "name = \"base")]),
            ("bracket not closed", &[("pressure_centre_m = [0.0, 0.0, -0.1]", "pressure_centre_m = [0.0, 0.0, -0.1")]),
            ("comma in a number", &[("duration_h = 24.0", "duration_h = 24,0")]),
            ("key given twice", &[("seed = 1\n", "seed = 1\nseed = 2\n")]),
            ("table given twice", &[("[world]", "[run]")]),
            ("table of another program", &[("[world]", "[propulsion]")]),
            ("misspelt table", &[("[world]", "[wrold]")]),
            ("table missing", &[("[vehicle]", "[craft]"), ("[vehicle.inertia]", "[craft.inertia]")]),
            ("table where a list is needed", &[("[[station]]", "[station]")]),
            ("list where a table is needed", &[("[tank]", "[[tank]]")]),
            (
                "text where a table is needed",
                &[("[world]\ndensity_factor = 1.0\n", ""), ("format = 1\n", "format = 1\nworld = \"calm\"\n")],
            ),
        ]),
    );
}

#[test]
fn run_and_world() {
    snapshot(
        "bad_run_and_world",
        &messages(&[
            ("start without zone", &[("start = 2026-06-10T06:00:00Z", "start = 2026-06-10T06:00:00")]),
            ("start before leap seconds", &[("start = 2026-06-10T06:00:00Z", "start = 1969-01-01T00:00:00Z")]),
            ("start as text that is no time", &[("start = 2026-06-10T06:00:00Z", "start = \"tomorrow\"")]),
            ("start missing", &[("start = 2026-06-10T06:00:00Z\n", "")]),
            (
                "leap second inside",
                &[
                    ("start = 2026-06-10T06:00:00Z", "start = 2016-12-31T12:00:00Z"),
                    ("at = 2026-06-10T09:00:00Z", "at_h = 3.0"),
                ],
            ),
            ("start in a leap second", &[("start = 2026-06-10T06:00:00Z", "start = \"2016-12-31T23:59:60Z\"")]),
            ("run of no length", &[("duration_h = 24.0", "duration_h = 0")]),
            ("duration in days", &[("duration_h = 24.0", "duration_s = 86400")]),
            ("duration infinite", &[("duration_h = 24.0", "duration_h = inf")]),
            ("seed with a fraction", &[("seed = 1", "seed = 1.5")]),
            ("seed negative", &[("seed = 1", "seed = -4")]),
            ("name blank", &[("name = \"base\"", "name = \" \"")]),
            ("settings file missing", &[("seed = 1", "seed = 1\nsettings = \"mine.toml\"")]),
            ("density not a number", &[("density_factor = 1.0", "density_factor = nan")]),
            ("density too large to hold", &[("density_factor = 1.0", "density_factor = 1e999")]),
            ("flag as a number", &[("density_factor = 1.0", "density_factor = 1.0\naerodynamics = 1")]),
            ("flag as text", &[("density_factor = 1.0", "density_factor = 1.0\ngravity_gradient = \"off\"")]),
        ]),
    );
}

#[test]
fn orbits() {
    let fast = format!("{STATE}[0.0, 1.0, 11.5]\n");
    let inside = "[orbit.state]\nposition_km = [3613.137, 0.0, 0.0]\nvelocity_km_s = [0.0, 1.0, 7.5]\n";
    let slow = format!("{STATE}[0.0, 1.0, 7.0]\n");
    let both = format!("{STATE}[0.0, 1.0, 7.7]\n{ELEMENTS}");
    let sum = format!("[orbit.element_set]\nline1 = \"{}4\"\nline2 = \"{LINE_2}\"\n", &LINE_1[..68]);
    let short = format!("[orbit.element_set]\nline1 = \"{LINE_1}\"\nline2 = \"{}\"\n", &LINE_2[..60]);
    let one = format!("[orbit.element_set]\nline1 = \"{LINE_1}\"\n");
    let old = format!("[orbit.element_set]\nline1 = \"{LINE_1}\"\nline2 = \"{LINE_2}\"\n");
    let omm = "[orbit.element_set]\nomm = \"none.json\"\n";
    snapshot(
        "bad_orbits",
        &messages(&[
            ("perigee too low", &[("eccentricity = 0.0005", "eccentricity = 0.03")]),
            ("hyperbolic elements", &[("eccentricity = 0.0005", "eccentricity = 1.2")]),
            ("axis in metres", &[("semi_major_axis_km = 6613.137", "semi_major_axis_m = 6613137.0")]),
            ("axis as a height", &[("semi_major_axis_km = 6613.137", "semi_major_axis_km = 235.0")]),
            ("inclination in radians", &[("inclination_deg = 82.0", "inclination_rad = 1.431")]),
            ("hyperbolic state", &[(ELEMENTS, &fast)]),
            ("state inside the Earth", &[(ELEMENTS, inside)]),
            ("state that falls", &[(ELEMENTS, &slow)]),
            ("state with two parts", &[(ELEMENTS, &slow.replace("6613.137, 0.0, 0.0", "6613.137, 0.0"))]),
            ("two descriptions", &[(ELEMENTS, &both)]),
            ("no description", &[(ELEMENTS, "[orbit]\n")]),
            ("check sum of line 1", &[(ELEMENTS, &sum)]),
            ("line cut short", &[(ELEMENTS, &short)]),
            ("line 2 missing", &[(ELEMENTS, &one)]),
            ("element set years old", &[(ELEMENTS, &old)]),
            ("OMM file missing", &[(ELEMENTS, omm)]),
        ]),
    );
}

#[test]
fn vehicle_and_jets() {
    let base = crate::support::BASE;
    let (first, end) = (base.find("[[jet]]").expect("jets"), base.find("[tank]").expect("tank"));
    let jets = &base[first..end];
    snapshot(
        "bad_vehicle_and_jets",
        &messages(&[
            ("mass with its unit", &[("dry_mass_kg = 403.9", "dry_mass_kg = \"403.9 kg\"")]),
            ("mass negative", &[("dry_mass_kg = 403.9", "dry_mass_kg = -403.9")]),
            ("triangle rule", &[("xx_kg_m2 = 75.0", "xx_kg_m2 = 900.0")]),
            ("products too large", &[("yz_kg_m2 = 0.3", "yz_kg_m2 = 400.0")]),
            ("inertia missing", &[("zz_kg_m2 = 310.0\n", "")]),
            ("centre with two parts", &[("pressure_centre_m = [0.0, 0.0, -0.1]", "pressure_centre_m = [0.0, -0.1]")]),
            (
                "centre in millimetres",
                &[("pressure_centre_m = [0.0, 0.0, -0.1]", "pressure_centre_mm = [0.0, 0.0, -100.0]")],
            ),
            ("tip-off far too fast", &[("tip_off_deg_s = [0.6, -0.6, 0.5]", "tip_off_deg_s = [60.0, -0.6, 0.5]")]),
            ("jet without direction", &[("direction = [0.0, 1.0, 0.0]", "direction = [0.0, 0.0, 0.0]")]),
            ("jet without thrust", &[("thrust_n = 0.5", "thrust_n = 0.0")]),
            ("bank unknown", &[("bank = \"A\"", "bank = \"C\"")]),
            ("jet name twice", &[("name = \"A-roll-plus-2\"", "name = \"A-roll-plus-1\"")]),
            (
                "no negative pitch",
                &[
                    ("direction = [0.0, 0.0, -1.0]", "direction = [0.0, 0.0, 0.001]"),
                    ("[-1.2, 0.0, 0.6]\ndirection = [0.0, 0.0", "[-1.2, 0.0, -0.6]\ndirection = [0.0, 0.0"),
                ],
            ),
            ("torque only in half of space", &[(jets, HALF_SPACE)]),
            ("surface of no known shape", &[("[world]\n", "[[surface]]\nkind = \"ball\"\n\n[world]\n")]),
            (
                "plate that faces nowhere",
                &[(
                    "[world]\n",
                    "[[surface]]\nkind = \"plate\"\ncentre_m = [0, 0, 0]\nnormal = [0, 0, 0]\narea_m2 = 1\n\n[world]\n",
                )],
            ),
            (
                "surface brighter than the Sun",
                &[(
                    "[world]\n",
                    "[[surface]]\nkind = \"cylinder\"\ncentre_m = [0, 0, 0]\naxis = [1, 0, 0]\ndiameter_m = 1\nlength_m = 2\nmirrored_percent = 70\nscattered_percent = 40\n\n[world]\n",
                )],
            ),
            (
                "dipole beyond the field's years",
                &[
                    ("start = 2026", "start = 2034"),
                    ("dry_mass_kg = 403.9", "dry_mass_kg = 403.9\ndipole_a_m2 = [1.0, 0.0, 0.0]"),
                ],
            ),
            ("gas beyond the tank", &[("gas_kg = 4.0", "gas_kg = 4.2")]),
            ("gas beyond all sense", &[("gas_kg = 4.0", "gas_kg = 40.0")]),
            ("gas in grams", &[("gas_kg = 4.0", "gas_g = 4000.0")]),
            ("pressure in bar", &[("max_pressure_mpa = 21.0", "max_pressure_bar = 210.0")]),
        ]),
    );
}

#[test]
fn gas_between_tank_and_jets() {
    let feed = |keys: &str| format!("[feed]\n{keys}\n\n[tank]\n");
    let spread = "[jet_spread]\nthrust_percent = -1.0\njitter_s = 0.1\n\n[tank]\n";
    snapshot(
        "bad_gas_between_tank_and_jets",
        &messages(&[
            ("scheme unknown", &[("[tank]\n", &feed("scheme = \"pump\""))]),
            ("line in litres", &[("[tank]\n", &feed("line_l = 0.02"))]),
            ("tail beyond the whole", &[("[tank]\n", &feed("tail_percent = 120.0"))]),
            (
                "more than nitrogen can give",
                &[
                    ("[tank]\n", &feed("scheme = \"regulator\"")),
                    ("thrust_n = 0.5", "thrust_n = 0.5\nspecific_impulse_s = 90.0"),
                ],
            ),
            ("spread below nothing, in seconds", &[("[tank]\n", spread)]),
            ("plume on nothing", &[("thrust_n = 0.5", "thrust_n = 0.5\nplume_percent = 3.0")]),
            ("heat that runs away", &[("[tank]\n", "[tank]\nheat_soak_s = -5.0\n")]),
        ]),
    );
}

#[test]
fn sensors_and_film() {
    snapshot(
        "bad_sensors_and_film",
        &messages(&[
            ("noise negative", &[("noise_deg = 0.05", "noise_deg = -0.05")]),
            ("drift of one axis only", &[("drift_deg_h = [0.5, -0.4, 0.3]", "drift_deg_h = 0.5")]),
            ("drift as text in the list", &[("drift_deg_h = [0.5, -0.4, 0.3]", "drift_deg_h = [0.5, \"-0.4\", 0.3]")]),
            ("drift in radians", &[("drift_deg_h = [0.5, -0.4, 0.3]", "drift_rad_s = [0.1, 0.1, 0.1]")]),
            ("film longer than the reel holds", &[("load_m = 900.0", "load_m = 1200.0")]),
            ("core wider than the reel", &[("core_radius_mm = 40.0", "core_radius_mm = 160.0")]),
            ("thickness in micrometres", &[("thickness_mm = 0.076", "thickness_um = 76.0")]),
            ("all film wound already", &[("load_m = 900.0", "load_m = 900.0\nwound_m = 900.0")]),
            ("spring that lets film go slack", &[("load_m = 900.0", "load_m = 900.0\narm_spring_n_per_m = 400.0")]),
            ("misspelt film key", &[("load_m = 900.0", "laod_m = 900.0")]),
        ]),
    );
}

#[test]
fn cameras() {
    let framing = |extra: &[(&'static str, &'static str)]| [FRAMING.as_slice(), extra].concat();
    snapshot(
        "bad_cameras",
        &messages(&[
            ("kind missing", &[("kind = \"strip\"\n", "")]),
            ("kind unknown", &[("kind = \"strip\"", "kind = \"stripe\"")]),
            ("key of the other kind", &[("kind = \"strip\"", "kind = \"strip\"\nshortest_cycle_s = 2.0")]),
            ("focal length in metres", &[("focal_length_mm = 1000.0", "focal_length_m = 1.0")]),
            ("format wider than film", &[("format_width_mm = 114.0", "format_width_mm = 130.0")]),
            ("lens beyond diffraction", &[("lens_lp_mm = 130.0", "lens_lp_mm = 500.0")]),
            ("transmission in per cent", &[("transmission = 0.8", "transmission = 80.0")]),
            ("no slits", &[("slit_widths_mm = [0.068, 0.097, 0.137, 0.194]", "slit_widths_mm = []")]),
            ("slits out of order", &[("0.068, 0.097, 0.137", "0.097, 0.068, 0.137")]),
            (
                "exposure longer than the cycle",
                &framing(&[("8.0]", "80.0]"), ("shortest_cycle_s = 2.0", "shortest_cycle_s = 0.06")]),
            ),
            ("interval shorter than the cycle", &framing(&[("interval_s = 3.0", "interval_s = 1.0")])),
        ]),
    );
}

#[test]
fn ground_and_programme() {
    snapshot(
        "bad_ground_and_programme",
        &messages(&[
            ("latitude beyond the pole", &[("latitude_deg = 62.0", "latitude_deg = 162.0")]),
            ("area with longitude first", &[("centre_deg = [61.0, 8.0]", "centre_deg = [108.0, 61.0]")]),
            ("area without radius", &[("radius_km = 60.0\n", "")]),
            (
                "area with two corners",
                &[("[[52.0, -4.0], [52.5, -3.0], [51.5, -3.0]]", "[[52.0, -4.0], [52.5, -3.0]]")],
            ),
            (
                "area across the 180° meridian",
                &[(
                    "[[52.0, -4.0], [52.5, -3.0], [51.5, -3.0]]",
                    "[[60.0, 175.0], [60.0, -175.0], [65.0, -175.0], [65.0, 175.0]]",
                )],
            ),
            (
                "area that crosses itself",
                &[(
                    "[[52.0, -4.0], [52.5, -3.0], [51.5, -3.0]]",
                    "[[52.0, -4.0], [53.0, -3.0], [53.0, -4.0], [52.0, -3.0]]",
                )],
            ),
            (
                "area with nothing inside",
                &[("[[52.0, -4.0], [52.5, -3.0], [51.5, -3.0]]", "[[52.0, -4.0], [52.5, -3.0], [53.0, -2.0]]")],
            ),
            ("area name twice", &[("name = \"Ostrel Bay\"", "name = \"Tarnholm Sound\"")]),
            ("command unknown", &[("do = \"camera\"", "do = \"photograph\"")]),
            ("mode unknown", &[("mode = \"fine\"", "mode = \"finest\"")]),
            ("command with two times", &[("at_h = 2.9", "at_h = 2.9\nat = 2026-06-10T08:54:00Z")]),
            ("command without time", &[("at_h = 2.9\n", "")]),
            ("command before the run", &[("at = 2026-06-10T09:00:00Z", "at = 2026-06-09T09:00:00Z")]),
            ("command beyond the run", &[("at_h = 4.5", "at_h = 23.99")]),
            ("commands out of order", &[("at_h = 4.5", "at_h = 2.95")]),
            ("commands overlap", &[("at_h = 4.5", "at_h = 3.01")]),
            ("slit that does not exist", &[("slit = 3", "slit = 8")]),
            ("slit counted from nought", &[("slit = 3", "slit = 0")]),
            ("interval for a strip camera", &[("slit = 3", "slit = 3\ninterval_s = 2.0")]),
            ("camera on for an hour and more", &[("for_s = 60.0", "for_s = 3700.0")]),
            ("more film than there is", &[("load_m = 900.0", "load_m = 5.0")]),
        ]),
    );
}

#[test]
fn faults() {
    let fault = |text: &'static str| {
        [("kind = \"horizon_sun\"\nat_h = 9.8\nfor_s = 40.0\nroll_deg = 2.0\npitch_deg = -1.5\n", text)]
    };
    snapshot(
        "bad_faults",
        &messages(&[
            ("kind unknown", &fault("kind = \"horizon_son\"\nat_h = 9.8\n")),
            ("kind missing", &fault("at_h = 9.8\n")),
            ("amount missing", &fault("kind = \"gyro_bias_step\"\nat_h = 1.0\naxis = \"x\"\n")),
            ("amount of another kind", &fault("kind = \"film_jam\"\nat_h = 1.0\nslip_percent = 3.0\n")),
            (
                "amount in another unit",
                &fault("kind = \"gyro_bias_step\"\nat_h = 1.0\naxis = \"x\"\nstep_deg_s = 0.01\n"),
            ),
            (
                "amount out of range",
                &fault("kind = \"jet_weak\"\nat_h = 1.0\njet = \"A-yaw-plus\"\nthrust_percent = 150\n"),
            ),
            ("axis unknown", &fault("kind = \"gyro_dead\"\nat_h = 1.0\naxis = \"roll\"\n")),
            ("jet unknown", &fault("kind = \"jet_stuck_open\"\nat_h = 1.0\njet = \"C-1\"\n")),
            ("time missing", &fault("kind = \"film_jam\"\n")),
            ("beyond the run", &fault("kind = \"film_jam\"\nat_h = 30.0\n")),
            ("clock step that lasts", &fault("kind = \"clock_step\"\nat_h = 1.0\nstep_s = 10\nfor_s = 60\n")),
            (
                "same fault twice at once",
                &fault("kind = \"film_jam\"\nat_h = 1.0\n\n[[fault]]\nkind = \"film_jam\"\nat_h = 2.0\n"),
            ),
            ("lasts less than nothing", &fault("kind = \"film_jam\"\nat_h = 1.0\nfor_s = -5.0\n")),
        ]),
    );
}

#[test]
fn spreads() {
    snapshot(
        "bad_spreads",
        &messages(&[
            ("no width", &[("gas_kg = 4.0", "gas_kg = { value = 4.0 }")]),
            ("two widths", &[("gas_kg = 4.0", "gas_kg = { value = 4.0, sigma = 0.1, plus_minus = 0.1 }")]),
            ("no value", &[("gas_kg = 4.0", "gas_kg = { sigma = 0.1 }")]),
            ("unknown part", &[("gas_kg = 4.0", "gas_kg = { value = 4.0, sd = 0.1 }")]),
            ("width negative", &[("gas_kg = 4.0", "gas_kg = { value = 4.0, sigma = -0.1 }")]),
            ("draws leave the range", &[("density_factor = 1.0", "density_factor = { value = 1.0, sigma = 0.5 }")]),
            ("value out of range", &[("density_factor = 1.0", "density_factor = { value = 100.0, sigma = 0.5 }")]),
            ("width as text", &[("density_factor = 1.0", "density_factor = { value = 1.0, sigma = \"10 %\" }")]),
            ("on a whole number", &[("seed = 1", "seed = { value = 1, sigma = 1 }")]),
        ]),
    );
}

#[test]
fn problems_of_one_file_are_told_together() {
    snapshot(
        "bad_many_at_once",
        &messages(&[(
            "many at once",
            &[
                ("seed = 1", "seed = 1.5"),
                ("inclination_deg = 82.0\n", ""),
                ("dry_mass_kg = 403.9", "dry_mass_kg = true"),
                ("xx_kg_m2 = 75.0", "xx_kg_m2 = 900.0"),
                ("gas_kg = 4.0", "gas_kg = 9.0"),
                ("load_m = 900.0", "load_m = 2000.0"),
                ("mode = \"fine\"", "mode = \"finest\""),
            ],
        )]),
    );
}
