//! The Moon's place.

use crate::{assert_near, assert_relative};
use stillframe::world::{Vec3, moon::Moon, sun::Sun, time::Utc};

/// Meeus, *Astronomical Algorithms*, example 47.a: 1992 April 12, 0h TT; printed longitude 133.162655°, latitude
/// −3.229126°, distance 368,409.7 km. Here without the smaller terms: 0.02° and 200 km of them.
#[test]
fn the_worked_example() {
    // 0h TT is 58.184 s before 0h UTC in 1992 (27 s of leap seconds and 32.184 s would be 59.184; TAI − UTC was 26 s).
    let moon = Moon::at(Utc::parse("1992-04-11T23:59:01.816Z").unwrap());
    println!("{} {} {}", moon.longitude_rad.to_degrees(), moon.latitude_rad.to_degrees(), moon.distance_m);
    assert_near(moon.longitude_rad.to_degrees().rem_euclid(360.0), 133.162_655, 0.03);
    assert_near(moon.latitude_rad.to_degrees(), -3.229_126, 0.02);
    assert_near(moon.distance_m, 368_409_700.0, 400e3);
}

/// astropy 8.0.2 (its built-in ephemeris, GCRS turned into TEME), km: place and lit part of the disc.
#[test]
fn places_of_a_library() {
    for (time, place_km, lit) in [
        ("2024-01-11T11:00:00Z", [125_402.0, -300_796.0, -165_100.0], 0.0019),
        ("2026-06-10T06:00:00Z", [365_856.0, 63_754.0, 50_427.0], 0.3071),
        ("2026-06-24T18:00:00Z", [-324_624.0, -201_320.0, -122_064.0], 0.7675),
    ] {
        let utc = Utc::parse(time).unwrap();
        let (moon, expected) = (Moon::at(utc), Vec3::from(place_km) * 1e3);
        let off_deg = moon.position_m.angle(&expected).to_degrees();
        println!("{time}: {off_deg:.4}° off");
        // The library's places include light time and aberration, 0.006° together.
        assert!(off_deg < 0.05, "{time}: {off_deg}°");
        assert_relative(moon.distance_m, expected.norm(), 1e-3);
        assert_near(moon.lit(&Sun::at(utc)), lit, 0.003);
    }
}
