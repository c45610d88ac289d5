//! Light: from the Sun's elevation to stops off on film, and the slit that would suit.
//!
//! Sunlight at the ground: 128 klx outside the air times `exp(−0.21·m)` for a clear sky (the form is the
//! illuminating engineers' one, 0.21 from memory), `m` by Kasten & Young (Applied Optics 28, 4735, 1989;
//! coefficients from memory), plus clear skylight `0.8 + 15.5·√sin(elevation)` klx (same engineers' set, from
//! memory). Image illuminance `π·L·T/(4N²)` over the filter factor. The fall-off of light
//! towards the edge of the field (0.7 % at 3.3°) is left out.

use super::camera::{Camera, CameraKind};

/// Illuminance of the Sun outside the air at its mean distance, lx.
pub const SUN_OUTSIDE_AIR_LX: f64 = 128_000.0;
/// Extinction of a clear sky for one air mass.
pub const CLEAR_EXTINCTION: f64 = 0.21;

/// Brightness of the ground through the air, as shares of a white Lambertian ground's luminance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scene {
    /// Mean ground reflectance, 0…1.
    pub mean_reflectance: f64,
    /// Reflectance of the dark detail that must still print, 0…1.
    pub dark_reflectance: f64,
    /// Light of the air between ground and camera, as a reflectance, 0…1.
    pub haze: f64,
}

impl Default for Scene {
    /// Mean and haze together 15 %; haze doubles the dark detail.
    fn default() -> Self {
        Self { mean_reflectance: 0.1265, dark_reflectance: 0.0234, haze: 0.0235 }
    }
}

/// Relative air mass at a true elevation of 0…π/2.
pub fn air_mass(elevation_rad: f64) -> f64 {
    let degrees = elevation_rad.to_degrees();
    1.0 / (elevation_rad.sin() + 0.505_72 * (degrees + 6.079_95).powf(-1.6364))
}

/// Direct sunlight on level ground under a clear sky, lx; none when the Sun is down.
pub fn direct_illuminance_lx(elevation_rad: f64) -> f64 {
    if elevation_rad <= 0.0 {
        return 0.0;
    }
    SUN_OUTSIDE_AIR_LX * (-CLEAR_EXTINCTION * air_mass(elevation_rad)).exp() * elevation_rad.sin()
}

/// Light of a clear sky on level ground, lx; none when the Sun is down (twilight is left out).
pub fn sky_illuminance_lx(elevation_rad: f64) -> f64 {
    if elevation_rad <= 0.0 {
        return 0.0;
    }
    800.0 + 15_500.0 * elevation_rad.sin().sqrt()
}

/// Sunlight and skylight on level ground, lx.
pub fn ground_illuminance_lx(elevation_rad: f64) -> f64 {
    direct_illuminance_lx(elevation_rad) + sky_illuminance_lx(elevation_rad)
}

/// Luminance of a Lambertian ground, cd/m².
pub fn luminance_cd_m2(reflectance: f64, illuminance_lx: f64) -> f64 {
    reflectance * illuminance_lx / std::f64::consts::PI
}

/// Illuminance on film, lx, of ground of the given luminance, cd/m².
pub fn image_illuminance_lx(camera: &Camera, luminance_cd_m2: f64) -> f64 {
    lens_illuminance_lx(luminance_cd_m2, camera.transmission, camera.f_number, camera.filter_factor)
}

/// Illuminance on film, lx, through a lens of the given transmission, f-number and filter factor:
/// `π·L·T/(4N²)` over the factor.
pub fn lens_illuminance_lx(luminance_cd_m2: f64, transmission: f64, f_number: f64, filter_factor: f64) -> f64 {
    std::f64::consts::PI * luminance_cd_m2 * transmission / (4.0 * f_number * f_number) / filter_factor
}

/// Exposure of the film's speed point, lx·s: `1.5/EAFS`.
pub fn speed_point_lx_s(film_speed_eafs: f64) -> f64 {
    1.5 / film_speed_eafs
}

/// Light that a frame got.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Light {
    /// Exposure of the mean ground, lx·s.
    pub mean_lx_s: f64,
    /// Exposure of the dark detail, lx·s.
    pub dark_lx_s: f64,
    /// How far the dark detail lies from the speed point, stops; positive is over-exposed. `−∞` when the
    /// Sun is down.
    pub stops_off: f64,
}

/// Light on film for a Sun elevation (rad) and an effective exposure time (s).
pub fn light(camera: &Camera, scene: &Scene, sun_elevation_rad: f64, effective_s: f64) -> Light {
    let ground_lx = ground_illuminance_lx(sun_elevation_rad);
    let on_film = |reflectance: f64| {
        let apparent = luminance_cd_m2(reflectance + scene.haze, ground_lx);
        image_illuminance_lx(camera, apparent) * effective_s
    };
    let dark_lx_s = on_film(scene.dark_reflectance);
    Light {
        mean_lx_s: on_film(scene.mean_reflectance),
        dark_lx_s,
        stops_off: (dark_lx_s / speed_point_lx_s(camera.film_speed_eafs)).log2(),
    }
}

/// Which of the camera's slits or shutter times comes nearest to the right exposure, and the stops it is off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Choice {
    /// Place in the camera's list.
    pub index: usize,
    /// Exposure time, s.
    pub exposure_s: f64,
    /// Light on film against the film's speed point, stops.
    pub stops_off: f64,
}

/// The slit (strip) or shutter time (framing) that comes nearest to the right exposure at a film speed and Sun
/// elevation. `None` without any, with film at rest or the Sun down.
pub fn choose_exposure(camera: &Camera, scene: &Scene, sun_elevation_rad: f64, film_speed_m_s: f64) -> Option<Choice> {
    if !(film_speed_m_s > 0.0 && sun_elevation_rad > 0.0) {
        return None;
    }
    let times_s: Vec<f64> = match camera.kind {
        CameraKind::Strip => camera.slit_widths_m.iter().map(|width_m| width_m / film_speed_m_s).collect(),
        CameraKind::Framing => camera.shutter_times_s.clone(),
        CameraKind::Sweep => {
            let over_film_m_s = camera.focal_length_m * camera.sweep?.rate_rad_s;
            camera.slit_widths_m.iter().map(|width_m| width_m / over_film_m_s).collect()
        }
    };
    let choices = times_s.iter().enumerate().map(|(index, &exposure_s)| {
        let effective_s = camera.shutter_efficiency * exposure_s;
        let stops_off = light(camera, scene, sun_elevation_rad, effective_s).stops_off;
        Choice { index, exposure_s, stops_off }
    });
    choices.min_by(|a, b| a.stops_off.abs().total_cmp(&b.stops_off.abs()))
}
