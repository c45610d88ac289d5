//! The air that the capsule falls through: rows of the US Standard Atmosphere 1976 (NOAA-S/T 76-1562), no jumps
//! between its parts, errors by height, winds.

use stillframe::descent::air::{Planet, Surroundings, Winds, by_height};
use stillframe::scenario::parts::descent::Wind;
use stillframe::world::Vec3;
use stillframe::world::frames::EARTH_RATE_RAD_S;

use crate::{close, near};

/// A place on the equator at a height.
fn above(height_m: f64) -> Vec3 {
    Vec3::new(6_378_137.0 + height_m, 0.0, 0.0)
}

/// Table I of the standard, four figures; sound 340.29 m/s at sea level and 295.07 m/s from 11 to 20 km.
#[test]
fn rows_of_the_standard() {
    let planet = Planet::standard();
    let air = |height_m: f64| planet.air(&above(height_m), height_m);
    for (height_m, density) in [
        (0.0, 1.225),
        (30e3, 1.841_0e-2),
        (50e3, 1.026_9e-3),
        (70e3, 8.282_9e-5),
        (80e3, 1.845_8e-5),
        (86e3, 6.958e-6),
        (100e3, 5.604e-7),
        (150e3, 2.076e-9),
        (200e3, 2.541e-10),
    ] {
        close(air(height_m).density_kg_m3, density, 3e-4);
    }
    close(air(0.0).sound_m_s, 340.29, 3e-5);
    close(air(15e3).sound_m_s, 295.07, 3e-5);
}

/// A step of one metre never changes the density by more than a scale height of 5 km does, from the sea to 1000 km: the
/// closed layers below 86 km and the table above meet within 3e-4 of it.
#[test]
fn no_jump_from_the_sea_to_a_thousand_kilometres() {
    let planet = Planet::standard();
    let density = |height_m: f64| planet.air(&above(height_m), height_m).density_kg_m3;
    let mut last = density(0.0);
    for k in 1..=20_000 {
        let height_m = 50.0 * f64::from(k);
        let now = density(height_m);
        let change = (now / last).ln();
        assert!((-50.0 / 4_500.0 - 3e-4..0.0).contains(&change), "{change} at {height_m} m");
        last = now;
    }
}

/// An error of 10 % at 40 km and 20 % at 80 is 15 % at 60, and holds beyond either end.
#[test]
fn an_error_goes_by_height() {
    let planet = Planet { density_height_m: vec![40e3, 80e3], density_off: vec![0.1, 0.2], ..Planet::standard() };
    for (height_m, off) in [(10e3, 0.1), (60e3, 0.15), (120e3, 0.2)] {
        let (wrong, right) =
            (planet.air(&above(height_m), height_m), Planet::standard().air(&above(height_m), height_m));
        close(wrong.density_kg_m3 / right.density_kg_m3, 1.0 + off, 1e-12);
        assert_eq!(wrong.sound_m_s, right.sound_m_s);
    }
    assert_eq!(by_height(&[1.0], &[7.0], 3.0), 7.0);
}

/// The air turns with the Earth, and the wind blows on top of that: east over x on the equator is y, north is z.
#[test]
fn the_wind_blows_where_it_should() {
    let wind = |height_m: f64, east_m_s: f64, north_m_s: f64| Wind { height_m, east_m_s, north_m_s, sigma_m_s: 2.0 };
    let winds = Winds::new(&[wind(0.0, 10.0, 0.0), wind(10e3, 30.0, -4.0)]);
    let planet = Planet { winds: winds.clone(), ..Planet::standard() };
    let velocity = planet.air(&above(5e3), 5e3).velocity_m_s;
    let turning = EARTH_RATE_RAD_S * (6_378_137.0 + 5e3);
    near(velocity.y - turning, 20.0, 1e-9);
    near(velocity.z, -2.0, 1e-9);
    near(velocity.x, 0.0, 1e-9);
    // Two sigmas of error to the east; far above the table there is none.
    let off = Planet { wind_off: [2.0, 0.0], ..planet };
    near(off.air(&above(5e3), 5e3).velocity_m_s.y - velocity.y, 4.0, 1e-9);
    let high = off.air(&above(50e3), 50e3).velocity_m_s;
    near(high.y, EARTH_RATE_RAD_S * (6_378_137.0 + 50e3), 1e-9);
}
