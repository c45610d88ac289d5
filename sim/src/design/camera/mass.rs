//! What a camera weighs, how long it is, and the film it takes along.
//!
//! The law is a choice of this program, with every factor a key of `[build]`: lenses grow by a power of their aperture
//! (3 for like shapes, as glass does), tube and mounts by their surface, the transport by the film's width. It ranks
//! cameras; it prices none.

use std::f64::consts::PI;

use super::geometry::Height;
use super::wants::{Build, ExposureKind, FilmSheet, Mission};

/// Mass of a camera by its parts, kg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mass {
    /// Lens.
    pub optics_kg: f64,
    /// Tube, mounts, insulation.
    pub tube_kg: f64,
    /// Film transport without film.
    pub transport_kg: f64,
    /// Film.
    pub film_kg: f64,
    /// Shutter, electronics, window.
    pub fixed_kg: f64,
}

impl Mass {
    /// All of it, kg.
    pub fn total_kg(&self) -> f64 {
        self.optics_kg + self.tube_kg + self.transport_kg + self.film_kg + self.fixed_kg
    }
}

/// Length of a camera along its optical axis, m.
pub fn length_m(build: &Build, focal_length_m: f64) -> f64 {
    build.length_ratio * focal_length_m + build.back_m
}

/// Mass of a camera.
pub fn mass(build: &Build, focal_length_m: f64, f_number: f64, film: &FilmSheet, film_m: f64) -> Mass {
    let aperture_m = focal_length_m / f_number;
    let tube_m2 = PI * build.tube_width_ratio * aperture_m * build.length_ratio * focal_length_m;
    Mass {
        optics_kg: build.optics_kg * (aperture_m / build.optics_aperture_m).powf(build.optics_power),
        tube_kg: build.tube_kg_m2 * tube_m2,
        transport_kg: build.transport_kg_m * film.width_m,
        film_kg: film_m * film.width_m * film.thickness_m * film.density_kg_m3,
        fixed_kg: build.fixed_kg,
    }
}

/// Film for the whole mission, m: image speed (or pictures and the gaps between them) times the time the camera runs,
/// starts and stops included, and the reserve.
pub fn film_load_m(
    mission: &Mission,
    build: &Build,
    exposure: &ExposureKind,
    height: &Height,
    focal_length_m: f64,
) -> f64 {
    let running_s = mission.camera_time_s + mission.starts as f64 * mission.waste_s;
    let image_m_s = height.image_speed_m_s(focal_length_m);
    let film_m_s = match exposure {
        ExposureKind::Strip(_) => image_m_s,
        ExposureKind::Frame(frame) => {
            let between_s = (1.0 - frame.overlap) * frame.length_m / image_m_s;
            (frame.length_m + frame.gap_m) / between_s
        }
    };
    film_m_s * running_s * (1.0 + build.film_reserve)
}

/// Radius of a pack of film on its core, `√(r² + L·t/π)`, m.
pub fn pack_radius_m(build: &Build, film: &FilmSheet, film_m: f64) -> f64 {
    (build.core_radius_m * build.core_radius_m + film_m * film.thickness_m / PI).sqrt()
}
