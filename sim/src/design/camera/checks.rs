//! Checks of the wants file that join several keys.

use super::film::Threshold;
use super::lens::{Aberration, quoted_modulation};
use super::wants::{ExposureKind, FilmData, FilmSheet, FilmStock, LensWants, Search, Wants};
use crate::imaging::mtf;
use crate::scenario::read::context::Context;

/// Most combinations of focal length, f-number and film; each may be tried with several slits.
pub const MOST_COMBINATIONS: usize = 5_000_000;

/// The lens must be possible.
pub fn lens(lens: &LensWants, key: &str, cx: &mut Context) {
    if Aberration::of(lens).is_some() {
        return;
    }
    let perfect = mtf::diffraction(lens.resolution_lp_m, lens.wavelength_m, lens.reference_f_number);
    let key = format!("{key}.resolution_lp_mm");
    let message = format!("{key} = {} is beyond diffraction", lens.resolution_lp_m / 1e3);
    let label = format!(
        "a perfect lens at f/{} leaves {:.1} % of a 1.6:1 target, below threshold_percent = {}",
        lens.reference_f_number,
        100.0 * quoted_modulation() * perfect,
        100.0 * lens.threshold
    );
    let help = "Give the low-contrast resolution (1.6:1) of the lens alone, not a high-contrast catalogue figure; or a \
                smaller reference_f_number.";
    cx.refuse(&key, message, label, help);
}

/// The picture must fit the film.
pub fn film(film: &FilmSheet, key: &str, cx: &mut Context) {
    if film.usable_m > film.width_m {
        let key = format!("{key}.usable_mm");
        let message = format!("{key} = {:.1} is wider than the film", film.usable_m * 1e3);
        let label = format!("allowed: up to width_mm = {:.1}", film.width_m * 1e3);
        cx.refuse(&key, message, label, "Leave a margin at both edges for guiding the film.");
    }
}

/// The grid must have an inside, and an end.
pub fn search(search: &Search, key: &str, cx: &mut Context) {
    let mut range = |name: &str, [low, high]: [f64; 2], scale: f64| {
        if low > high {
            let key = format!("{key}.{name}");
            let message = format!("{key} runs from {} down to {}", low * scale, high * scale);
            cx.refuse(&key, message, "allowed: [smallest, largest]", "Write the smaller number first.");
        }
    };
    range("focal_lengths_mm", search.focal_lengths_m, 1e3);
    range("f_numbers", search.f_numbers, 1.0);
}

/// What joins tables.
pub fn check(wants: &Wants, _: &str, cx: &mut Context) {
    let mission = &wants.mission;
    if mission.lowest_m > mission.highest_m {
        let key = "mission.lowest_altitude_km";
        let message = format!("{key} = {} lies above the highest", mission.lowest_m / 1e3);
        let label = format!("allowed: up to highest_altitude_km = {}", mission.highest_m / 1e3);
        cx.refuse(key, message, label, "For a round orbit write the same height twice.");
    }
    for (index, film) in wants.films.iter().enumerate() {
        curves(film, &format!("film[{}]", index + 1), cx);
        let same = |other: &FilmStock| other.name == film.name;
        if wants.films.iter().take(index).any(same) {
            let key = format!("film[{}].name", index + 1);
            let message = format!("{key} = \"{}\" is taken", film.name);
            cx.refuse(&key, message, "must differ from the other films'", "The report tells films apart by name.");
        }
    }
    match &wants.exposure.kind {
        ExposureKind::Strip(strip) => rising("exposure.slit_widths_mm", &strip.slit_widths_m, cx),
        ExposureKind::Frame(frame) => rising("exposure.shutter_ms", &frame.shutter_s, cx),
    }
    let combinations = wants.search.focal_lengths().len() * wants.search.f_numbers().len() * wants.films.len();
    if combinations > MOST_COMBINATIONS {
        let key = "search";
        let message = format!("search holds {combinations} combinations of focal length, f-number and film");
        let label = format!("allowed: up to {MOST_COMBINATIONS}");
        cx.refuse(key, message, label, "Widen the steps or narrow the ranges; a second, finer search can follow.");
    }
}

fn curves(film: &FilmStock, key: &str, cx: &mut Context) {
    match &film.kind {
        FilmData::ResolvingPower(power) if power.high_contrast_lp_m <= power.low_contrast_lp_m => {
            let key = format!("{key}.high_contrast_lp_mm");
            let message = format!("{key} = {} is no more than at low contrast", power.high_contrast_lp_m / 1e3);
            let label = format!("allowed: above low_contrast_lp_mm = {}", power.low_contrast_lp_m / 1e3);
            let help = "Data sheets give both: the larger number belongs to 1000:1. Films differ, but two to three times \
                        the low-contrast figure is usual (common practice).";
            cx.refuse(&key, message, label, help);
        }
        FilmData::ResolvingPower(_) => {}
        FilmData::Curves(curves) => {
            let counts = [curves.at_lp_m.len(), curves.mtf.len(), curves.threshold.len()];
            if counts.iter().any(|count| *count != counts[0]) {
                let key = format!("{key}.at_lp_mm");
                let message = format!("{key} has {} entries, mtf {}, threshold {}", counts[0], counts[1], counts[2]);
                cx.refuse(&key, message, "must be as many in all three", "Each frequency has one value on each curve.");
            } else if !Threshold::of(film).rises() {
                let key = format!("{key}.at_lp_mm");
                let message = format!("{key}, mtf and threshold do not make a rising demand");
                let help = "Frequencies must rise, and threshold over mtf, the modulation that the image needs, must \
                            rise with them. Otherwise there is no one place where resolution ends.";
                cx.refuse(&key, message, "must rise", help);
            }
        }
    }
}

fn rising(key: &str, values: &[f64], cx: &mut Context) {
    if !values.is_sorted_by(|a, b| a < b) {
        let message = format!("{key} does not rise");
        cx.refuse(key, message, "write them from small to large", "Each must be larger than the one before it.");
    }
}
