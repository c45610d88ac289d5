//! The handbook's worked examples, computed by the program they explain.

use nalgebra::{Quaternion, UnitQuaternion, Vector3};
use stillframe::{
    imaging::resolution::{Limits, Rule, ground_resolved_distance_m},
    world::frames::OrbitalFrame,
};
use stillframe_controller::{
    attitude::{
        mode::Hold,
        orbit::Ephemeris,
        quiet::{Burst, placement},
        rotation,
        settings::SteeringSettings,
        switching::{AxisLaw, AxisState},
    },
    programme::load::{Command, Entry, Load},
};

use super::text;

/// A chapter, with its line breaks as spaces.
struct Chapter(&'static str, String);

impl Chapter {
    fn open(name: &'static str) -> Self {
        Self(name, text(&format!("docs/src/{name}")).split_whitespace().collect::<Vec<_>>().join(" "))
    }

    #[track_caller]
    fn says(&self, sentence: &str) {
        assert!(self.1.contains(sentence), "docs/src/{} does not say: {sentence}", self.0);
    }
}

/// Three decimals without a minus before zero.
fn listed<const N: usize>(numbers: [f64; N], digits: usize) -> String {
    let unit = 10_f64.powi(digits as i32);
    let tidy = numbers.map(|number| format!("{:.digits$}", (number * unit).round() / unit + 0.0));
    format!("({})", tidy.join(", "))
}

#[test]
fn a_roll_of_ten_degrees_over_the_equator() {
    let chapter = Chapter::open("frames.md");
    let position = Vector3::new(6_598_137.0, 0.0, 0.0);
    let velocity = Vector3::new(0.0, 7_772.0, 0.0);
    let orbital = UnitQuaternion::from_matrix(&OrbitalFrame::from_state(&position, &velocity).to_inertial());
    let wxyz = |q: &UnitQuaternion<f64>| [q.w, q.i, q.j, q.k];
    chapter.says(&format!("q_LO = {}", listed(wxyz(&orbital), 1)));
    let roll =
        UnitQuaternion::from_quaternion(Quaternion::new(5_f64.to_radians().cos(), 5_f64.to_radians().sin(), 0.0, 0.0));
    chapter.says(&format!("q_roll = {}", listed(wxyz(&roll), 6)));
    let body = orbital * roll;
    chapter.says(&format!("q = {}", listed(wxyz(&body), 6)));
    let boresight: [f64; 3] = (body * Vector3::z()).into();
    chapter.says(&format!("b = {}", listed(boresight, 6)));
}

#[test]
fn the_error_between_two_quaternions_is_three_small_angles() {
    let chapter = Chapter::open("frames.md");
    let deg = |angle: f32| angle.to_radians();
    let reference = rotation::about_z(deg(3.0));
    let at = rotation::turned(&rotation::about_z(deg(3.2)), &rotation::Vec3::new(deg(0.1), 0.0, 0.0));
    let error = rotation::error(&reference, &at);
    let degrees = [error.x, error.y, error.z].map(|angle| f64::from(angle.to_degrees()));
    chapter.says(&format!("e = {}°", listed(degrees, 3)));
}

#[test]
fn a_pulse_of_the_switching_law() {
    let chapter = Chapter::open("attitude.md");
    // The demonstration's pitch: 310 kg·m², 0.6 N·m of jets, 0.6 mN·m of air, deadband 0.3°.
    let law = AxisLaw {
        deadband_rad: 0.3_f32.to_radians(),
        lead_s: 5.0,
        rate_limit_rad_s: 0.3_f32.to_radians(),
        fill: 0.7,
        minimum_us: 20_000,
        longest_us: 1_000_000,
        lockout_us: 150_000,
    };
    let disturbance = 0.6e-3_f32 / 310.0;
    let cycle = (2.0 * disturbance * 2.0 * law.fill * law.deadband_rad).sqrt();
    chapter.says(&format!("{:.4} °/s", cycle.to_degrees()));
    chapter.says(&format!("every {:.0} s", 2.0 * cycle / disturbance));
    let angle_rad = law.deadband_rad - law.lead_s * cycle + 1e-7;
    let state = AxisState {
        angle_rad,
        rate_rad_s: cycle,
        disturbance_rad_s2: disturbance,
        jet_rad_s2: [0.6 / 310.0, 0.6 / 310.0],
    };
    let pulse = law.hold(&state, 1.0).expect("the line is crossed");
    assert!(!pulse.positive);
    chapter.says(&format!("{} ms", pulse.length_us / 1000));
}

#[test]
fn a_quiet_time_of_thirty_seconds() {
    let chapter = Chapter::open("attitude.md");
    let alpha = 0.6e-3_f32 / 310.0;
    let steering = SteeringSettings::default();
    let rate = placement(alpha, 0, Some(Burst { on_tick: 0, off_tick: 3_000 }), &steering);
    chapter.says(&format!("{:.4} °/s", rate.abs().to_degrees()));
    chapter.says(&format!("{:.3}°", (alpha * 30.0 * 30.0 / 8.0).to_degrees()));
}

#[test]
fn a_load_byte_by_byte() {
    let chapter = Chapter::open("programme.md");
    let load = Load {
        counter: 1,
        ephemeris: Ephemeris {
            epoch_tick: 0,
            phase: 0,
            phase_per_tick: 527_000_000,
            half_acceleration_rad_s2: 0.0,
            inclination_rad: 82_f32.to_radians(),
            radius_ratio2: 0.93,
        },
        entries: [
            (705_910, Command::Speed(302)),
            (706_000, Command::CameraOn { slit: 0, interval_ticks: 0 }),
            (709_000, Command::CameraOff),
            (710_000, Command::Hold(Hold::Coarse)),
        ]
        .into_iter()
        .map(|(tick, command)| Entry { tick, command })
        .collect(),
    };
    let bytes = load.encode();
    let hex = |bytes: &[u8]| bytes.iter().map(|byte| format!("{byte:02x}")).collect::<Vec<_>>().join(" ");
    chapter.says(&format!("{} bytes", bytes.len()));
    for part in
        [0..2, 2..4, 4..8, 8..12, 12..16, 16..20, 20..24, 24..28, 28..30, 30..38, 38..46, 46..54, 54..62, 62..64]
    {
        chapter.says(&format!("`{}`", hex(&bytes[part])));
    }
    let rate_rad_s = f64::from(load.ephemeris.phase_per_tick) * std::f64::consts::TAU / 2_f64.powi(48) / 0.01;
    chapter.says(&format!("{:.4} mrad/s", rate_rad_s * 1e3));
}

#[test]
fn from_rates_to_ground_resolved_distance() {
    let chapter = Chapter::open("imaging.md");
    let (height_m, focal_m, exposure_s) = (220e3, 1.0, 4e-3);
    let radius_m: f64 = 6_378_137.0 + height_m;
    let n = (3.986_004_418e14 / radius_m.powi(3)).sqrt();
    let v_over_h = n * 6_378_137.0 / height_m;
    chapter.says(&format!("{:.2} mrad/s", v_over_h * 1e3));
    chapter.says(&format!("{:.1} µm", v_over_h * focal_m * exposure_s * 1e6));
    let limits =
        |smear_um: f64| Limits { lens_lp_mm: 130.0, film_lp_mm: 160.0, smear_m: smear_um * 1e-6, vibration_m: 0.0 };
    for smear_um in [0.0, 2.17, 5.0, 8.0] {
        let lp_mm = limits(smear_um).resolution_lp_mm(Rule::ReciprocalSquare);
        let grd_m = ground_resolved_distance_m(height_m / focal_m, lp_mm);
        chapter.says(&format!("| {smear_um:.2} | {lp_mm:.1} | {grd_m:.2} |"));
    }
    // One cause at a time: rate × focal length × exposure.
    for (rate_deg_s, smear_um) in [(0.01_f64, 0.70), (0.02, 1.40)] {
        let travel_um = rate_deg_s.to_radians() * focal_m * exposure_s * 1e6;
        assert!((travel_um - smear_um).abs() < 0.005);
        chapter.says(&format!("{smear_um:.2} µm"));
    }
}
