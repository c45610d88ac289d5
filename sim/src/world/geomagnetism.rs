//! The Earth's magnetic field: the World Magnetic Model 2025 (2020 before its epoch), degree 12.
//!
//! A published model for −1 to 850 km and the years 2020 to 2029, by the crate `world_magnetic_model` in `f32`
//! (a few nT of some 40,000). Beyond 850 km the field there falls off as a dipole's.

use super::Vec3;
use super::ellipsoid::Geodetic;
use super::time::Utc;
use world_magnetic_model::GeomagneticField;
use world_magnetic_model::time::{Date, OffsetDateTime};
use world_magnetic_model::uom::si::angle::radian;
use world_magnetic_model::uom::si::f32::{Angle, Length};
use world_magnetic_model::uom::si::length::meter;
use world_magnetic_model::uom::si::magnetic_flux_density::tesla;

/// First and last year covered.
pub const YEARS: (i16, i16) = (2020, 2029);
/// Greatest height of the model, m.
const TOP_M: f64 = 850e3;

/// Flux density at a place and time, T, in Earth-fixed axes; `None` outside [`YEARS`].
pub fn flux_density_t(position_m: &Vec3, at: Utc) -> Option<Vec3> {
    let place = Geodetic::from_cartesian(position_m);
    let height_m = place.height_m.clamp(0.0, TOP_M);
    let [x, y, z] = GeomagneticField::new(
        Length::new::<meter>(height_m as f32),
        Angle::new::<radian>(place.latitude_rad as f32),
        Angle::new::<radian>(place.longitude_rad as f32),
        date(at)?,
    )
    .map(|field| [field.x(), field.y(), field.z()].map(|part| f64::from(part.get::<tesla>())))
    .ok()?;
    let (sin_lat, cos_lat) = place.latitude_rad.sin_cos();
    let (sin_lon, cos_lon) = place.longitude_rad.sin_cos();
    let north = Vec3::new(-sin_lat * cos_lon, -sin_lat * sin_lon, cos_lat);
    let east = Vec3::new(-sin_lon, cos_lon, 0.0);
    let top = Geodetic { height_m, ..place }.to_cartesian();
    let fall = (top.norm_squared() / position_m.norm_squared()).powf(1.5);
    Some((north * x + east * y - place.up() * z) * fall)
}

fn date(at: Utc) -> Option<Date> {
    OffsetDateTime::from_unix_timestamp_nanos(i128::from(at.unix_ns())).ok().map(OffsetDateTime::date)
}
