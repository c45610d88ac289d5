//! How long the film must be exposed, and which slit or shutter time comes near.

use super::geometry::Height;
use super::wants::{ExposureKind, FilmSheet, LensWants, Light, Wants};
use crate::imaging::exposure::{ground_illuminance_lx, lens_illuminance_lx, luminance_cd_m2, speed_point_lx_s};

/// Illuminance on film, lx, of ground of a reflectance, seen through haze.
pub fn film_illuminance_lx(light: &Light, lens: &LensWants, f_number: f64, sun_rad: f64, reflectance: f64) -> f64 {
    let ground_lx = light.sky_clearness * ground_illuminance_lx(sun_rad);
    let luminance = luminance_cd_m2(reflectance + light.haze, ground_lx);
    lens_illuminance_lx(luminance, lens.transmission, f_number, lens.filter_factor)
}

/// Exposure time, s, that puts the dark detail on the film's speed point.
pub fn needed_s(light: &Light, lens: &LensWants, film: &FilmSheet, f_number: f64, sun_rad: f64) -> f64 {
    speed_point_lx_s(film.speed_eafs) / film_illuminance_lx(light, lens, f_number, sun_rad, light.dark_reflectance)
}

/// One way to expose: a slit or shutter time of the list, or exactly what the light asks.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Opening {
    /// As the light asks.
    Fitted,
    /// Entry of the list, from 0.
    Listed(usize),
}

/// Exposure times that a camera can make.
#[derive(Clone, Debug)]
pub struct Openings {
    /// Slit widths, m, or shutter times, s; empty: as the light asks.
    listed: Vec<f64>,
    strip: bool,
    efficiency: f64,
}

impl Openings {
    /// Of a wants file.
    pub fn of(wants: &Wants) -> Self {
        match &wants.exposure.kind {
            ExposureKind::Strip(strip) => Self { listed: strip.slit_widths_m.clone(), strip: true, efficiency: 1.0 },
            ExposureKind::Frame(frame) => {
                Self { listed: frame.shutter_s.clone(), strip: false, efficiency: frame.efficiency }
            }
        }
    }

    /// All there are.
    pub fn all(&self) -> impl Iterator<Item = Opening> + use<> {
        let fitted = self.listed.is_empty().then_some(Opening::Fitted);
        fitted.into_iter().chain((0..self.listed.len()).map(Opening::Listed))
    }

    /// Time for which a point of the image is exposed, s, where the light asks for `needed_s` of full light.
    pub fn time_s(&self, opening: Opening, height: &Height, focal_length_m: f64, needed_s: f64) -> f64 {
        let listed = match opening {
            Opening::Fitted => None,
            Opening::Listed(index) => self.listed.get(index),
        };
        match listed {
            None => needed_s / self.efficiency,
            Some(width_m) if self.strip => width_m / height.image_speed_m_s(focal_length_m),
            Some(time_s) => *time_s,
        }
    }

    /// How far an exposure lies from what the light asks, stops; positive is over-exposed.
    pub fn stops_off(&self, time_s: f64, needed_s: f64) -> f64 {
        (time_s * self.efficiency / needed_s).log2()
    }

    /// Width of the slit, m, if there is one.
    pub fn slit_m(&self, time_s: f64, height: &Height, focal_length_m: f64) -> Option<f64> {
        self.strip.then(|| time_s * height.image_speed_m_s(focal_length_m))
    }
}
