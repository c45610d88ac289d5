//! Starting states: Keplerian elements and SGP4.

use crate::{assert_near, assert_relative};
use proptest::prelude::*;
use stillframe::world::Vec3;
use stillframe::world::elements::{MeanElements, StartError, StartNote, check_start, start_from_osculating};
use stillframe::world::kepler::{Elements, State, eccentric_from_mean_rad, true_from_mean_rad};

/// Vallado example 2-1.
#[test]
fn kepler_equation() {
    let e = eccentric_from_mean_rad(235.4f64.to_radians(), 0.4);
    assert_near(e.to_degrees(), 220.512_074_767_5, 1e-9);
    let nu = true_from_mean_rad(0.3, 0.7);
    let e = eccentric_from_mean_rad(0.3, 0.7);
    assert_near(nu.cos(), (e.cos() - 0.7) / (1.0 - 0.7 * e.cos()), 1e-14);
}

/// Vallado example 2-5; digits from closed forms with GM = 398600.4418 km³/s².
#[test]
fn state_to_elements() {
    let state = State {
        position_m: Vec3::new(6_524_834.0, 6_862_875.0, 6_448_296.0),
        velocity_m_s: Vec3::new(4_901.327, 5_533.756, -1_976.341),
    };
    let e = Elements::from_state(&state).expect("an ellipse");
    assert_relative(e.semi_major_axis_m, 36_127_337.619_68, 1e-12);
    assert_relative(e.eccentricity, 0.832_853_398_487_5, 1e-12);
    assert_near(e.inclination_rad.to_degrees(), 87.869_126_177_03, 1e-10);
    assert_near(e.node_rad.to_degrees(), 227.898_260_357_3, 1e-10);
    assert_near(e.perigee_rad.to_degrees(), 53.384_930_618_46, 1e-10);
    assert_near(e.true_anomaly_rad.to_degrees(), 92.335_156_762_14, 1e-10);
}

const SAT_5: [&str; 2] = [
    "1 00005U 58002B   00179.78495062  .00000023  00000-0  28098-4 0  4753",
    "2 00005  34.2682 348.7242 1859667 331.7664  19.3264 10.82419157413667",
];
const SAT_6251: [&str; 2] = [
    "1 06251U 62025E   06176.82412014  .00008885  00000-0  12808-3 0  3985",
    "2 06251  58.0579  54.0425 0030035 139.1568 221.1854 15.56387291  6774",
];
const SAT_28057: [&str; 2] = [
    "1 28057U 03049A   06177.78615833  .00000060  00000-0  35940-4 0  1836",
    "2 28057  98.4283 247.6961 0000884  88.1964 271.9322 14.35478080140550",
];

fn read(lines: [&str; 2]) -> MeanElements {
    MeanElements::from_lines(None, lines[0], lines[1]).expect("a verification set")
}

/// SGP4 verification output, Vallado et al., AIAA 2006-6753 (`tcppver.out`, WGS-72), km and km/s.
#[test]
fn sgp4_verification() {
    type Row = ([&'static str; 2], f64, [f64; 3], Option<[f64; 3]>);
    let rows: [Row; 4] = [
        (
            SAT_5,
            0.0,
            [7_022.465_292_66, -1_400.082_967_55, 0.039_951_55],
            Some([1.893_841_015, 6.405_893_759, 4.534_807_250]),
        ),
        (
            SAT_5,
            360.0,
            [-7_154.031_202_02, -3_783.176_825_04, -3_536.194_122_94],
            Some([4.741_887_409, -4.151_817_765, -2.093_935_425]),
        ),
        (
            SAT_6251,
            120.0,
            [-3_935.698_000_83, 409.109_808_37, 5_471.335_773_27],
            Some([-3.374_784_183, -6.635_211_043, -1.942_056_221]),
        ),
        (SAT_28057, 120.0, [-1_816.879_209_42, -1_835.787_621_32, 6_661.079_264_65], None),
    ];
    for (lines, minutes, position, velocity) in rows {
        let state = read(lines).state_after_minutes(minutes).expect("in range");
        let miss_km = (state.position_m / 1e3 - Vec3::from(position)).amax();
        println!("{} at {minutes} min: {miss_km:.1e} km", &lines[0][2..7]);
        assert!(miss_km < 1e-6, "{miss_km}");
        if let Some(velocity) = velocity {
            assert!((state.velocity_m_s / 1e3 - Vec3::from(velocity)).amax() < 1e-8);
        }
    }
}

/// The same set by lines, JSON and KVN starts from the same state, to the epoch's last microsecond.
#[test]
fn one_set_in_three_forms() {
    let lines = read(SAT_6251);
    let epoch = "2006-06-25T19:46:43.980096";
    let json = format!(
        r#"[{{"OBJECT_NAME":"VERIFICATION","OBJECT_ID":"1962-025E","EPOCH":"{epoch}","MEAN_MOTION":15.56387291,
        "ECCENTRICITY":0.0030035,"INCLINATION":58.0579,"RA_OF_ASC_NODE":54.0425,"ARG_OF_PERICENTER":139.1568,
        "MEAN_ANOMALY":221.1854,"EPHEMERIS_TYPE":0,"CLASSIFICATION_TYPE":"U","NORAD_CAT_ID":6251,
        "ELEMENT_SET_NO":398,"REV_AT_EPOCH":677,"BSTAR":0.00012808,"MEAN_MOTION_DOT":8.885e-5,"MEAN_MOTION_DDOT":0}}]"#
    );
    let kvn = format!(
        "CCSDS_OMM_VERS = 2.0\nCOMMENT any words = here\nOBJECT_NAME = VERIFICATION\nCENTER_NAME = EARTH\nREF_FRAME = TEME\n\
        TIME_SYSTEM = UTC\nMEAN_ELEMENT_THEORY = SGP4\nEPOCH = {epoch}Z\nMEAN_MOTION = 15.56387291 [rev/day]\n\
        ECCENTRICITY = 0.0030035\nINCLINATION = 58.0579 [deg]\nRA_OF_ASC_NODE = 54.0425 [deg]\n\
        ARG_OF_PERICENTER = 139.1568 [deg]\nMEAN_ANOMALY = 221.1854 [deg]\nBSTAR = 0.00012808\n"
    );
    let instant = lines.epoch().plus_seconds(7_200.0);
    let expected = lines.state_at(instant).expect("in range");
    for text in [json.as_str(), kvn.as_str()] {
        let message = MeanElements::parse(text).expect("a good message");
        assert_eq!(message.name(), Some("VERIFICATION"));
        assert_near(message.epoch().seconds_since(lines.epoch()), 0.0, 1e-6);
        let state = message.state_at(instant).expect("in range");
        assert!((state.position_m - expected.position_m).norm() < 0.02); // 1 µs is 8 mm
    }
    let named = MeanElements::parse(&format!("VERIFICATION\n{}\n{}\n", SAT_6251[0], SAT_6251[1]));
    assert_eq!(named.expect("three lines").name(), Some("VERIFICATION"));
}

#[test]
fn refused_element_sets() {
    let changed = SAT_6251[1].replacen("58.0579", "58.0578", 1);
    let wrong = MeanElements::from_lines(None, SAT_6251[0], &changed);
    assert!(matches!(wrong, Err(StartError::CheckDigit { line: 2, found: '4', computed: 3 })));
    let short = MeanElements::from_lines(None, &SAT_6251[0][..68], SAT_6251[1]);
    assert!(matches!(short, Err(StartError::Line { line: 1, .. })));
    let swapped = MeanElements::from_lines(None, SAT_6251[1], SAT_6251[0]);
    assert!(matches!(swapped, Err(StartError::Line { line: 1, .. })));
    let mixed = MeanElements::from_lines(None, SAT_6251[0], SAT_5[1]);
    assert!(matches!(mixed, Err(StartError::Line { .. })));
    for text in [
        "",
        "one line",
        "<omm/>",
        "{",
        "[]",
        "[1]",
        "3 = ",
        r#"{"EPOCH":"2006-06-25T19:46:43"}"#,
        "REF_FRAME = EME2000",
        "MEAN_ELEMENT_THEORY = DSST",
        "EPOCH = 1960-01-01T00:00:00\nEPOCH = 2006-01-01T00:00:00",
    ] {
        let error = MeanElements::parse(text).expect_err(text);
        assert!(error.to_string().len() > 20, "{error}");
    }
}

#[test]
fn refused_starts() {
    let circular = |height_km: f64, factor: f64| State {
        position_m: Vec3::new(6_378_137.0 + height_km * 1e3, 0.0, 0.0),
        velocity_m_s: Vec3::new(0.0, 0.0, factor * (3.986_004_418e14 / (6_378_137.0 + height_km * 1e3)).sqrt()),
    };
    assert_eq!(check_start(&circular(220.0, 1.0)), Ok(None));
    assert!(matches!(check_start(&circular(119.0, 1.0)), Err(StartError::PerigeeTooLow { .. })));
    assert!(matches!(check_start(&circular(220.0, 1.42)), Err(StartError::NotClosed { .. })));
    assert!(matches!(check_start(&circular(220.0, 0.0)), Err(StartError::NotClosed { .. })));
    assert!(matches!(check_start(&circular(220.0, f64::NAN)), Err(StartError::NotFinite { .. })));
    let high = check_start(&circular(20_000.0, 1.0));
    assert!(matches!(high, Ok(Some(StartNote::DeepSpace { .. }))));
    let good = Elements::from_state(&circular(220.0, 1.0)).expect("an ellipse");
    assert!(start_from_osculating(&good).is_ok());
    for (bad, name) in [
        (Elements { eccentricity: 1.2, ..good }, "eccentricity"),
        (Elements { semi_major_axis_m: -7e6, ..good }, "semi-major"),
        (Elements { inclination_rad: 4.0, ..good }, "inclination"),
        (Elements { node_rad: f64::INFINITY, ..good }, "node"),
        (Elements { eccentricity: 0.05, ..good }, "perigee"),
    ] {
        let error = start_from_osculating(&bad).expect_err(name).to_string();
        assert!(error.contains(name), "{error}");
    }
}

proptest! {
    /// Elements → state → elements → state, at any closed orbit, circular and equatorial included.
    #[test]
    fn elements_round_trip(
        a in 6.5e6..5.0e7, e in prop_oneof![Just(0.0), 1e-9..0.95],
        i in prop_oneof![Just(0.0), Just(180.0), 0.001..179.999],
        node in 0.0..360.0, perigee in 0.0..360.0, nu in 0.0..360.0,
    ) {
        let elements = Elements {
            semi_major_axis_m: a,
            eccentricity: e,
            inclination_rad: f64::to_radians(i),
            node_rad: f64::to_radians(node),
            perigee_rad: f64::to_radians(perigee),
            true_anomaly_rad: f64::to_radians(nu),
        };
        let state = elements.to_state();
        let found = Elements::from_state(&state).expect("an ellipse");
        let again = found.to_state();
        let scale = state.position_m.norm();
        // Close to e = 1 the shape amplifies rounding by 1/(1 − e).
        let tolerance = 1e-12 / (1.0 - e);
        prop_assert!((again.position_m - state.position_m).norm() < tolerance * scale);
        let speed = state.velocity_m_s.norm();
        prop_assert!((again.velocity_m_s - state.velocity_m_s).norm() < tolerance * speed);
        prop_assert!((found.semi_major_axis_m / a - 1.0).abs() < tolerance);
        prop_assert!((found.eccentricity - e).abs() < 1e-13);
    }
}
