//! The Sun's place and the Earth's shadow.

use crate::{assert_near, assert_relative};
use stillframe::world::Vec3;
use stillframe::world::ellipsoid::{A_M, B_M, Geodetic};
use stillframe::world::frames::{EarthRotation, Topocentric};
use stillframe::world::sun::{AU_M, Shadow, Sun};
use stillframe::world::time::{JulianDate, Utc};

/// Meeus, *Astronomical Algorithms*, example 25.a: JDE 2448908.5, the method's own digits.
#[test]
fn meeus_example() {
    let sun = Sun::at_jd_tt(JulianDate::from_days(2_448_908.5));
    assert_near(sun.right_ascension_rad.to_degrees(), 198.380_83, 1e-5);
    assert_near(sun.declination_rad.to_degrees(), -7.785_07, 1e-5);
    assert_near(sun.apparent_longitude_rad.to_degrees(), 199.908_95, 1e-5);
    assert_near(sun.distance_m / AU_M, 0.997_66, 5e-6);
}

/// erfa: `epv00` with light time, `ab`, `pnm06a`, turned to TEME by `eqeq94`. 0.01° is the
/// method's own claim.
#[test]
fn against_full_theory() {
    for (text, teme, au) in [
        ("1995-09-05T18:00:00Z", [-0.954_773_300_779, 0.272_808_285_722, 0.118_252_202_352], 1.008_186_7),
        ("2027-06-21T08:00:00Z", [0.004_338_481_945, 0.917_487_861_380, 0.397_740_118_413], 1.016_187_0),
        ("2027-12-01T03:30:00Z", [-0.363_353_476_729, -0.854_784_778_417, -0.370_563_400_157], 0.986_215_2),
        ("2032-03-20T12:00:00Z", [0.999_970_854_410, 0.006_997_780_197, 0.003_053_097_142], 0.995_963_3),
    ] {
        let sun = Sun::at(Utc::parse(text).expect("a good instant"));
        let error_deg = (sun.direction - Vec3::from(teme)).norm().to_degrees();
        println!("{text}: {error_deg:.4}°");
        assert!(error_deg < 0.01, "{text}: {error_deg}°");
        assert_relative(sun.distance_m / AU_M, au, 1e-4);
    }
}

/// At the June solstice, local noon at 0° N: the Sun stands at 90° − 23.44°; at local midnight as
/// far below. Near noon in Greenwich, where the equation of time is −2 min (0.4° of hour angle
/// shifts the elevation by less than 0.01°).
#[test]
fn elevation_at_the_solstice() {
    let noon = Utc::parse("2027-06-21T12:02:00Z").expect("a good instant");
    let sun = Sun::at(noon);
    let earth = EarthRotation::at_start(noon, 0.0);
    let place = Topocentric::at(Geodetic::from_degrees(0.0, 0.0, 0.0));
    let up = sun.elevation_rad(&place, &earth, 0.0).to_degrees();
    assert_near(up, 90.0 - 23.437, 0.02);
    let night = sun.elevation_rad(&place, &earth, 43_082.0).to_degrees();
    assert_near(night, -(90.0 - 23.437), 0.02);
    let overhead = earth.to_inertial(0.0, &Geodetic::from_degrees(23.437, 0.0, 4e5).to_cartesian());
    assert_near(sun.elevation_below_rad(&overhead).to_degrees(), 90.0, 0.1);
}

/// A circular orbit in the plane of the Sun: the cylinder's shadow takes 2·asin(R/r) of the turn;
/// the penumbra's width is the Sun's apparent diameter (0.53°) to within its tilt.
#[test]
fn shadow_arc() {
    let sun = Sun { direction: Vec3::x(), ..Sun::at_jd_tt(JulianDate::from_days(2_461_000.5)) };
    let r = A_M + 220e3;
    let (mut umbra, mut penumbra, mut cylinder) = (0u32, 0u32, 0u32);
    const STEPS: u32 = 720_000;
    for i in 0..STEPS {
        let angle = std::f64::consts::TAU * f64::from(i) / f64::from(STEPS);
        let p = Vec3::new(r * angle.cos(), r * angle.sin(), 0.0);
        umbra += u32::from(sun.shadow(&p) == Shadow::Umbra);
        penumbra += u32::from(sun.shadow(&p) == Shadow::Penumbra);
        cylinder += u32::from(sun.in_cylinder(&p));
    }
    let degrees = |count: u32| 360.0 * f64::from(count) / f64::from(STEPS);
    let closed_form = 2.0 * (A_M / r).asin().to_degrees();
    assert_near(degrees(cylinder), closed_form, 2e-3);
    // Tangent lines of two spheres: umbra half-arc asin(R/r) − (Rs − R)/d; penumbra + (Rs + R)/d.
    let (rs, d) = (6.957e8, sun.distance_m);
    let narrow = 2.0 * ((A_M / r).asin() - ((rs - A_M) / d).asin()).to_degrees();
    let wide = 2.0 * ((A_M / r).asin() + ((rs + A_M) / d).asin()).to_degrees();
    assert_near(degrees(umbra), narrow, 2e-3);
    assert_near(degrees(umbra + penumbra), wide, 2e-3);
    assert_eq!(sun.visible_fraction(&Vec3::new(r, 0.0, 0.0)), 1.0);
    // Half the disc is hidden where the Earth's limb crosses the Sun's centre. The Sun is seen from
    // the satellite, which shifts it by r/d against its geocentric direction.
    let limb = std::f64::consts::PI - (A_M / r).asin();
    let seen = limb - r * limb.sin() / d;
    let half = sun.visible_fraction(&(Vec3::new(seen.cos(), seen.sin(), 0.0) * r));
    assert_near(half, 0.5, 1e-3); // the limb's curvature hides (2/3π)·a/b = 8e-4 less than half
}

/// Over the poles the shadow is as narrow as the Earth is flat: 2·asin(b/r) of the turn, 10 s less
/// at each edge than behind a sphere of equatorial radius.
#[test]
fn shadow_of_the_flattened_earth() {
    let sun = Sun { direction: Vec3::x(), ..Sun::at_jd_tt(JulianDate::from_days(2_461_000.5)) };
    let r = A_M + 220e3;
    let (mut cylinder, mut half_hidden) = (0u32, 0u32);
    const STEPS: u32 = 360_000;
    for i in 0..STEPS {
        let angle = std::f64::consts::TAU * f64::from(i) / f64::from(STEPS);
        let p = Vec3::new(r * angle.cos(), 0.0, r * angle.sin());
        cylinder += u32::from(sun.in_cylinder(&p));
        half_hidden += u32::from(sun.visible_fraction(&p) < 0.5);
    }
    let expected = 2.0 * (B_M / r).asin().to_degrees();
    assert_near(f64::from(cylinder) * 1e-3, expected, 2e-3);
    // The Sun's centre sets a little earlier or later by its parallax, r/d = 2.5e-3° each side.
    assert_near(f64::from(half_hidden) * 1e-3, expected, 1e-2);
    assert!(2.0 * (A_M / r).asin().to_degrees() - expected > 1.0, "the flattening must show");
}
