//! The Moon: direction, distance and lit part, to about 0.1°.
//!
//! The largest terms of the series in Meeus, *Astronomical Algorithms* (2nd ed.), ch. 47 (after Chapront): all above
//! 0.008° in longitude and 0.004° in latitude, 150 km in distance. Nutation and the change of the Earth's eccentricity
//! are left out.

use super::Vec3;
use super::sun::Sun;
use super::time::{JulianDate, Utc};

/// Multiples of elongation D, Sun's anomaly M, Moon's anomaly M′ and argument of latitude F; amplitude in 1e-6 degree
/// of longitude (sine) and in metres of distance (cosine).
const LONGITUDE: [([i8; 4], f64, f64); 20] = [
    ([0, 0, 1, 0], 6_288_774.0, -20_905_355.0),
    ([2, 0, -1, 0], 1_274_027.0, -3_699_111.0),
    ([2, 0, 0, 0], 658_314.0, -2_955_968.0),
    ([0, 0, 2, 0], 213_618.0, -569_925.0),
    ([0, 1, 0, 0], -185_116.0, 48_888.0),
    ([0, 0, 0, 2], -114_332.0, -3_149.0),
    ([2, 0, -2, 0], 58_793.0, 246_158.0),
    ([2, -1, -1, 0], 57_066.0, -152_138.0),
    ([2, 0, 1, 0], 53_322.0, -170_733.0),
    ([2, -1, 0, 0], 45_758.0, -204_586.0),
    ([0, 1, -1, 0], -40_923.0, -129_620.0),
    ([1, 0, 0, 0], -34_720.0, 108_743.0),
    ([0, 1, 1, 0], -30_383.0, 104_755.0),
    ([2, 0, 0, -2], 15_327.0, 10_321.0),
    ([0, 0, 1, 2], -12_528.0, 0.0),
    ([0, 0, 1, -2], 10_980.0, 79_661.0),
    ([4, 0, -1, 0], 10_675.0, -34_782.0),
    ([0, 0, 3, 0], 10_034.0, -23_210.0),
    ([4, 0, -2, 0], 8_548.0, -21_636.0),
    ([2, 1, -1, 0], -7_888.0, 24_208.0),
];

/// The same for latitude, 1e-6 degree (sine).
const LATITUDE: [([i8; 4], f64); 13] = [
    ([0, 0, 0, 1], 5_128_122.0),
    ([0, 0, 1, 1], 280_602.0),
    ([0, 0, 1, -1], 277_693.0),
    ([2, 0, 0, -1], 173_237.0),
    ([2, 0, -1, 1], 55_413.0),
    ([2, 0, -1, -1], 46_271.0),
    ([2, 0, 0, 1], 32_573.0),
    ([0, 0, 2, 1], 17_198.0),
    ([2, 0, 1, -1], 9_266.0),
    ([0, 0, 2, -1], 8_822.0),
    ([2, -1, 0, -1], 8_216.0),
    ([2, 0, -2, -1], 4_324.0),
    ([2, 0, 1, 1], 4_200.0),
];

/// Where the Moon is at one instant, seen from the Earth's centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moon {
    /// Place in TEME of date, m.
    pub position_m: Vec3,
    /// Ecliptic longitude from the mean equinox of date, rad, not wrapped.
    pub longitude_rad: f64,
    /// Ecliptic latitude, rad.
    pub latitude_rad: f64,
    /// Distance, m.
    pub distance_m: f64,
}

impl Moon {
    /// At a Julian date in terrestrial time.
    pub fn at_jd_tt(tt: JulianDate) -> Self {
        let t = tt.centuries();
        let mean_longitude_deg = 218.316_447_7 + (481_267.881_234_21 - 0.001_578_6 * t) * t;
        let arguments = [
            297.850_192_1 + (445_267.111_403_4 - 0.001_881_9 * t) * t,
            357.529_109_2 + (35_999.050_290_9 - 0.000_153_6 * t) * t,
            134.963_396_4 + (477_198.867_505_5 + 0.008_741_4 * t) * t,
            93.272_095_0 + (483_202.017_523_3 - 0.003_653_9 * t) * t,
        ]
        .map(f64::to_radians);
        let angle = |multiples: &[i8; 4]| -> f64 {
            multiples.iter().zip(arguments).map(|(&times, argument)| f64::from(times) * argument).sum()
        };
        let (mut longitude_deg, mut distance_m) = (mean_longitude_deg, 385_000_560.0);
        for (multiples, longitude, distance) in &LONGITUDE {
            let (sin, cos) = angle(multiples).sin_cos();
            longitude_deg += 1e-6 * longitude * sin;
            distance_m += distance * cos;
        }
        let latitude_deg: f64 = LATITUDE.iter().map(|(multiples, size)| 1e-6 * size * angle(multiples).sin()).sum();
        let (longitude_rad, latitude_rad) = (longitude_deg.to_radians(), latitude_deg.to_radians());
        let obliquity = (23.439_291_11 - 0.013_004_167 * t).to_radians();
        let (sin_lon, cos_lon) = longitude_rad.sin_cos();
        let (sin_lat, cos_lat) = latitude_rad.sin_cos();
        let (sin_obl, cos_obl) = obliquity.sin_cos();
        let direction = Vec3::new(
            cos_lat * cos_lon,
            cos_obl * cos_lat * sin_lon - sin_obl * sin_lat,
            sin_obl * cos_lat * sin_lon + cos_obl * sin_lat,
        );
        Self { position_m: direction * distance_m, longitude_rad, latitude_rad, distance_m }
    }

    /// At an instant of UTC.
    pub fn at(utc: Utc) -> Self {
        Self::at_jd_tt(utc.jd_tt())
    }

    /// Lit part of the disc, 0…1: half of 1 − cos of the elongation from a Sun far away (0.3 % from Meeus, ch. 48).
    pub fn lit(&self, sun: &Sun) -> f64 {
        0.5 * (1.0 - self.position_m.dot(&sun.direction) / self.distance_m)
    }
}
