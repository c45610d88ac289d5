//! The Sun: direction and distance, elevation over a ground point, the Earth's shadow.
//!
//! Position by the low-precision method of Meeus, *Astronomical Algorithms* (2nd ed.), ch. 25:
//! 0.01° or better from 1900 to 2100. Parallax (0.0024°) and refraction (0.5° at the horizon,
//! 0.03° at 30°) are left out.

use super::frames::{EarthRotation, Topocentric};
use super::time::{JulianDate, Utc};
use super::{Vec3, ellipsoid, length};

/// Astronomical unit, m (IAU 2012 Resolution B2).
pub const AU_M: f64 = 149_597_870_700.0;
/// Radius of the Sun, m (IAU 2015 Resolution B3, nominal).
pub const SUN_RADIUS_M: f64 = 6.957e8;

/// Where the Sun is at one instant, seen from the Earth's centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sun {
    /// Unit vector towards it in TEME of date.
    pub direction: Vec3,
    /// Distance, m.
    pub distance_m: f64,
    /// Apparent ecliptic longitude, rad in [0, 2π).
    pub apparent_longitude_rad: f64,
    /// Apparent right ascension from the true equinox, rad in [0, 2π).
    pub right_ascension_rad: f64,
    /// Apparent declination, rad.
    pub declination_rad: f64,
}

impl Sun {
    /// At a Julian date in terrestrial time.
    pub fn at_jd_tt(tt: JulianDate) -> Self {
        let t = tt.centuries();
        let mean_longitude = 280.466_46 + (36_000.769_83 + 0.000_303_2 * t) * t;
        let m = (357.529_11 + (35_999.050_29 - 0.000_153_7 * t) * t).to_radians();
        let e = 0.016_708_634 - (0.000_042_037 + 0.000_000_126_7 * t) * t;
        let centre = (1.914_602 - (0.004_817 + 0.000_014 * t) * t) * m.sin()
            + (0.019_993 - 0.000_101 * t) * (2.0 * m).sin()
            + 0.000_289 * (3.0 * m).sin();
        let anomaly = m + centre.to_radians();
        let distance_au = 1.000_001_018 * (1.0 - e * e) / (1.0 + e * anomaly.cos());
        // Aberration and the leading term of nutation.
        let moon_node = (125.04 - 1_934.136 * t).to_radians();
        let nutation_deg = -0.004_78 * moon_node.sin();
        let longitude = (mean_longitude + centre - 0.005_69 + nutation_deg).to_radians();
        let mean_obliquity = 23.439_291_11 - (0.013_004_167 + (1.64e-7 - 5.036e-7 * t) * t) * t;
        let obliquity = (mean_obliquity + 0.002_56 * moon_node.cos()).to_radians();
        let (sin_lon, cos_lon) = longitude.sin_cos();
        let (sin_obl, cos_obl) = obliquity.sin_cos();
        let ra = (cos_obl * sin_lon).atan2(cos_lon);
        let declination_rad = (sin_obl * sin_lon).asin();
        // TEME counts right ascension from the mean equinox: take out the equation of equinoxes.
        let ra_teme = ra - nutation_deg.to_radians() * cos_obl;
        let (sin_ra, cos_ra) = ra_teme.sin_cos();
        let (sin_dec, cos_dec) = declination_rad.sin_cos();
        Self {
            direction: Vec3::new(cos_dec * cos_ra, cos_dec * sin_ra, sin_dec),
            distance_m: distance_au * AU_M,
            apparent_longitude_rad: longitude.rem_euclid(std::f64::consts::TAU),
            right_ascension_rad: ra.rem_euclid(std::f64::consts::TAU),
            declination_rad,
        }
    }

    /// At an instant of UTC.
    pub fn at(utc: Utc) -> Self {
        Self::at_jd_tt(utc.jd_tt())
    }

    /// Elevation above the horizon of a ground point, rad, at `t_s` from the run's start.
    pub fn elevation_rad(&self, place: &Topocentric, earth: &EarthRotation, t_s: f64) -> f64 {
        place.elevation_rad(&earth.to_fixed(t_s, &self.direction))
    }

    /// Elevation, rad, at the point of the ellipsoid straight below an inertial position, m.
    pub fn elevation_below_rad(&self, position_m: &Vec3) -> f64 {
        ellipsoid::up(position_m).dot(&self.direction).clamp(-1.0, 1.0).asin()
    }

    /// Whether an inertial position, m, is in the cylinder of shadow behind the ellipsoid.
    pub fn in_cylinder(&self, position_m: &Vec3) -> bool {
        let position = rounded(position_m);
        let axis = rounded(&self.direction);
        let along = position.dot(&axis) / axis.norm_squared();
        along < 0.0 && length(&(position - axis * along)) < ellipsoid::A_M
    }

    /// The part of the Sun's disc that a satellite at an inertial position, m, can see, 0 to 1.
    ///
    /// Overlap of two discs, Montenbruck & Gill, *Satellite Orbits* (2000), section 3.4.2, in space
    /// stretched along the Earth's axis until the ellipsoid is a sphere: tangents stay tangents, so
    /// the edges are exact; the Sun's disc grows by at most 0.3 %. Refraction is left out.
    pub fn visible_fraction(&self, position_m: &Vec3) -> f64 {
        let to_sun = rounded(&(self.direction * self.distance_m - position_m));
        let position_m = &rounded(position_m);
        let sun_m = length(&to_sun);
        let r_m = length(position_m);
        let a = (SUN_RADIUS_M / sun_m).asin();
        let b = (ellipsoid::A_M / r_m).min(1.0).asin();
        let c = (-position_m.dot(&to_sun) / (r_m * sun_m)).clamp(-1.0, 1.0).acos();
        if c >= a + b {
            return 1.0;
        }
        if c <= b - a {
            return 0.0;
        }
        if c <= a - b {
            return 1.0 - (b / a).powi(2); // annular: only from beyond 1.3 million km
        }
        let x = (c * c + a * a - b * b) / (2.0 * c);
        let y = (a * a - x * x).max(0.0).sqrt();
        let covered = a * a * (x / a).clamp(-1.0, 1.0).acos() + b * b * ((c - x) / b).clamp(-1.0, 1.0).acos() - c * y;
        (1.0 - covered / (std::f64::consts::PI * a * a)).clamp(0.0, 1.0)
    }

    /// Sunlight, half-shadow or full shadow at an inertial position, m.
    pub fn shadow(&self, position_m: &Vec3) -> Shadow {
        match self.visible_fraction(position_m) {
            f if f >= 1.0 => Shadow::Sunlit,
            f if f > 0.0 => Shadow::Penumbra,
            _ => Shadow::Umbra,
        }
    }
}

/// Stretches space along the Earth's axis so that the ellipsoid becomes a sphere of radius a.
fn rounded(v: &Vec3) -> Vec3 {
    Vec3::new(v.x, v.y, v.z * (ellipsoid::A_M / ellipsoid::B_M))
}

/// What of the Sun a satellite sees.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shadow {
    /// The whole disc.
    Sunlit,
    /// A part of it.
    Penumbra,
    /// Nothing.
    Umbra,
}
