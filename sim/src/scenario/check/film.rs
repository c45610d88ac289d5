//! Film on its reels, and cameras that can work.

use crate::scenario::Scenario;
use crate::scenario::parts::camera::{CameraKind, Optics, SweepCamera};
use crate::scenario::parts::film::Film;
use crate::scenario::read::context::Context;

/// Middle of the visible band, m, for the diffraction limit.
const WAVELENGTH_M: f64 = 550e-9;

/// The load must fit a reel.
pub fn check_load(film: &Film, key: &str, cx: &mut Context) {
    if film.core_radius_m >= film.reel_radius_m {
        let key = format!("{key}.core_radius_mm");
        let message = format!("{key} = {:.1} leaves no room for film", film.core_radius_m * 1e3);
        let label = format!("allowed: less than reel_radius_mm = {:.1}", film.reel_radius_m * 1e3);
        cx.refuse(&key, message, label, "Film is wound between the core and the rim of the reel.");
        return;
    }
    let room = core::f64::consts::PI * (film.reel_radius_m.powi(2) - film.core_radius_m.powi(2));
    let longest = room / film.thickness_m;
    if film.load_m > longest {
        let key = format!("{key}.load_m");
        let packed = film.pack_radius_m(film.load_m) * 1e3;
        let message = format!("{key} = {} is longer than the reel holds (pack radius {packed:.1} mm)", film.load_m);
        let label = format!("allowed: up to {:.1} m", (longest * 10.0).floor() / 10.0);
        let help = format!(
            "Pack radius² = core radius² + length × thickness / π must stay within reel_radius_mm = {:.1}. Load less, \
             or use thinner film or a larger reel.",
            film.reel_radius_m * 1e3
        );
        cx.refuse(&key, message, label, help);
    }
    if film.wound_m >= film.load_m {
        let key = format!("{key}.wound_m");
        let message = format!("{key} = {} leaves nothing to expose", film.wound_m);
        let label = format!("allowed: less than load_m = {}", film.load_m);
        cx.refuse(&key, message, label, "Film already on the take-up reel is part of the load.");
    }
}

/// Tension must leave the arms room; what is left out is as the camera's kind has it.
fn check_arms(film: &Film, kind: &CameraKind, cx: &mut Context) {
    let (spring, travel_m) = match kind {
        CameraKind::Strip(_) => (15.0, 0.040),
        CameraKind::Frame(_) | CameraKind::Sweep(_) => (7.5, 0.100),
    };
    let spring = film.arm_spring_n_per_m.unwrap_or(spring);
    // An arm takes in twice its way.
    let swing = spring * 2.0 * film.arm_travel_m.unwrap_or(travel_m);
    if swing > film.tension_n || film.tension_n + swing > film.break_tension_n {
        let key = "film.arm_spring_n_per_m";
        let message = format!("{key} = {spring} swings the tension by {swing:.2} N");
        let label = format!("tension_n = {} must stay above 0 and below break_tension_n", film.tension_n);
        let help = "Spring × twice arm_travel_mm is added to and taken from the tension at the ends of the arm's way. \
                    Soften the spring or shorten the way.";
        cx.refuse(key, message, label, help);
    }
}

/// The lens must be possible.
pub fn check_camera(optics: &Optics, key: &str, cx: &mut Context) {
    let cutoff = 1.0 / (WAVELENGTH_M * optics.f_number);
    if optics.lens_lp_m > cutoff {
        let key = format!("{key}.lens_lp_mm");
        let message = format!("{key} = {} is beyond diffraction", optics.lens_lp_m / 1e3);
        let label = format!("allowed: up to {:.0} lp/mm at f/{}", cutoff / 1e3, optics.f_number);
        let help = "No lens resolves more than 1/(wavelength × f-number); 550 nm is used here.";
        cx.refuse(&key, message, label, help);
    }
}

pub(super) fn check(scenario: &Scenario, cx: &mut Context) {
    let (camera, film) = (&scenario.camera, &scenario.film);
    if camera.format_width_m > film.width_m {
        let key = "camera.format_width_mm";
        let message = format!("{key} = {:.1} is wider than the film", camera.format_width_m * 1e3);
        let label = format!("allowed: up to film.width_mm = {:.1}", film.width_m * 1e3);
        cx.refuse(key, message, label, "Leave a margin at both edges for guiding the film.");
    }
    check_arms(film, &camera.kind, cx);
    match &camera.kind {
        CameraKind::Strip(strip) => {
            rising("camera.slit_widths_mm", &strip.slit_widths_m, cx);
        }
        CameraKind::Sweep(sweep) => {
            rising("camera.slit_widths_mm", &sweep.slit_widths_m, cx);
            let swept_m = 2.0 * sweep.half_angle_rad * camera.focal_length_m;
            if (camera.frame_length_m / swept_m - 1.0).abs() > 0.01 {
                let key = "camera.frame_length_mm";
                let message = format!("{key} = {:.1} is not what the sweep lays on film", camera.frame_length_m * 1e3);
                let label = format!("allowed: {:.1}, within 1 %", swept_m * 1e3);
                let help =
                    "Film lies on a cylinder: the picture is focal_length_mm × 2 × sweep_half_deg (in radians) long.";
                cx.refuse(key, message, label, help);
            }
        }
        CameraKind::Frame(frame) => {
            rising("camera.shutter_ms", &frame.shutter_s, cx);
            let longest = frame.shutter_s.iter().copied().fold(0.0, f64::max);
            if longest >= frame.shortest_cycle_s {
                let key = "camera.shutter_ms";
                let message = format!("{key} holds an exposure of {:.1} ms, longer than the cycle", longest * 1e3);
                let label = format!("allowed: shorter than shortest_cycle_s = {}", frame.shortest_cycle_s);
                let help =
                    "A cycle holds advance, clamp, settling and exposure. Shorten the exposure or lengthen the cycle.";
                cx.refuse(key, message, label, help);
            }
        }
    }
}

/// The sweep must have room and time.
pub fn check_sweep(sweep: &SweepCamera, key: &str, cx: &mut Context) {
    let swing_s = 2.0 * (sweep.half_angle_rad + sweep.run_in_rad) / sweep.rate_rad_s;
    if swing_s >= sweep.shortest_cycle_s {
        let key = format!("{key}.shortest_cycle_s");
        let message = format!("{key} = {} does not hold the sweep alone", sweep.shortest_cycle_s);
        let help = "A cycle holds advance, clamp, settling, the sweep with its run-in, and its return.";
        cx.refuse(&key, message, format!("allowed: more than {swing_s:.2} s"), help);
    }
}

fn rising(key: &str, values: &[f64], cx: &mut Context) {
    let fall = values.windows(2).position(|pair| matches!(pair, [a, b] if a >= b));
    if let Some(index) = fall {
        let message = format!("{key} does not rise at entry {}", index + 2);
        let help = "The exposure programme searches the list by size, and commands count its entries from 1.";
        cx.refuse(key, message, "allowed: from the smallest to the largest, none twice", help);
    }
}
