//! Torques from outside: free-molecular flow, sunlight, the magnetic field.

use crate::{assert_near, assert_relative};
use nalgebra::Vector3;
use std::f64::consts::PI;
use stillframe::plant::torque::{
    air::Stream,
    sunlight,
    surface::{Facet, cylinder, cylinder_of, plate},
};
use stillframe::world::{ellipsoid::Geodetic, geomagnetism::flux_density_t, time::Utc, ussa76::AirState};

const BLACK: [f64; 2] = [0.0, 0.0];
/// USSA-1976 at 200 km (tables of NOAA-S/T 76-1562).
const AIR: AirState = AirState { temperature_k: 854.56, pressure_pa: 8.4736e-5, density_kg_m3: 2.541e-10 };

fn stream(velocity_m_s: Vector3<f64>, accommodation: f64) -> Stream {
    Stream::new(&velocity_m_s, &AIR, accommodation).unwrap()
}

/// A ball of radius 1 m by the midpoint rule on rings of equal height (equal areas, by Archimedes).
fn ball(rings: u32, on_a_ring: u32) -> Vec<Facet> {
    let area = 4.0 * PI / f64::from(rings * on_a_ring);
    let at = |i: u32, k: u32| {
        let z = 1.0 - (2.0 * f64::from(i) + 1.0) / f64::from(rings);
        let (sine, cosine) = (2.0 * PI * (f64::from(k) + 0.5) / f64::from(on_a_ring)).sin_cos();
        let normal = Vector3::new((1.0 - z * z).sqrt() * cosine, (1.0 - z * z).sqrt() * sine, z);
        plate(normal, normal, area, BLACK)
    };
    (0..rings).flat_map(|i| (0..on_a_ring).map(move |k| at(i, k))).collect()
}

/// Sphere in free-molecular flow with diffuse emission, closed form: Schaaf & Chambré, *Flow of Rarefied Gases*
/// (1961); Sentman (1961); from memory.
#[test]
fn a_ball_has_the_drag_of_the_closed_form() {
    for speed in [1_500.0, 4_000.0, 7_800.0] {
        let stream = stream(Vector3::new(0.3, -0.5, 0.8).normalize() * speed, 0.93);
        let s = stream.speed_ratio;
        let closed = (2.0 * s * s + 1.0) / (PI.sqrt() * s.powi(3)) * (-s * s).exp()
            + (4.0 * s.powi(4) + 4.0 * s * s - 1.0) / (2.0 * s.powi(4)) * libm::erf(s)
            + 2.0 * PI.sqrt() / 3.0 * stream.leaving;
        let (force, torque) = stream.load(&ball(400, 200), &Vector3::zeros());
        let found = force.dot(&stream.direction) / (stream.pressure_pa * PI);
        assert_relative(found, closed, 2e-5);
        assert!((force - stream.direction * force.dot(&stream.direction)).norm() < 1e-4 * force.norm());
        assert!(torque.norm() < 1e-4 * force.norm());
    }
}

/// Far above thermal speed molecules come as a beam: 2 for what arrives and √π·(leaving speed) for what leaves
/// evenly over a hemisphere from a plate across the beam.
#[test]
fn a_plate_across_a_fast_beam() {
    let stream = stream(Vector3::new(400_000.0, 0.0, 0.0), 0.5);
    let facet = plate(Vector3::zeros(), Vector3::x(), 2.0, BLACK);
    let drag = -stream.force_n(&facet).x / (stream.pressure_pa * 2.0);
    assert_relative(drag, 2.0 + PI.sqrt() * stream.leaving, 1e-5);
    assert_relative(stream.leaving, 0.5, 1e-4);
    let back = plate(Vector3::zeros(), -Vector3::x(), 2.0, BLACK);
    assert_eq!(stream.force_n(&back).norm(), 0.0);
}

/// At rest in its own gas a wall of the gas's temperature feels the gas's pressure, whatever it sends back.
#[test]
fn a_slow_wall_feels_the_pressure_of_the_gas() {
    let air = AirState { temperature_k: 300.0, ..AIR };
    let stream = Stream::new(&Vector3::new(0.01, 0.0, 0.0), &air, 1.0).unwrap();
    let force = stream.force_n(&plate(Vector3::zeros(), Vector3::y(), 1.0, BLACK));
    // Half comes in and half goes out; emission is referred to the stream's speed, which cancels.
    assert_relative(-force.y, air.pressure_pa, 1e-4);
}

#[test]
fn strips_of_a_cylinder_are_enough() {
    let stream = stream(Vector3::new(7_700.0, 450.0, -300.0), 0.95);
    let of = |strips| {
        let centre = Vector3::new(0.1, 0.2, -0.1);
        stream.load(&cylinder_of(strips, centre, Vector3::new(1.0, 0.1, 0.0), 1.2, 2.8, BLACK), &Vector3::zeros())
    };
    let (few, many) = (of(24), of(2_000));
    assert!((few.0 - many.0).norm() < 1e-9 * many.0.norm(), "{}", (few.0 - many.0).norm() / many.0.norm());
    assert!((few.1 - many.1).norm() < 1e-9 * many.1.norm());
    let area: f64 = cylinder(Vector3::zeros(), Vector3::z(), 1.2, 2.8, BLACK).iter().map(|f| f.area_m2).sum();
    assert_relative(area, PI * 1.2 * 2.8 + 2.0 * PI * 0.36, 1e-12);
}

/// 1361 W/m² over the speed of light, and 6 m² on an arm of 0.1 m that reflects 60 %: worked from Wertz (1978), ch.
/// 17.
#[test]
fn sunlight_on_a_plate() {
    let pressure = sunlight::pressure_pa(stillframe::world::sun::AU_M);
    assert_relative(pressure, 4.539_807e-6, 1e-6);
    let facet = plate(Vector3::new(0.0, 0.1, 0.0), Vector3::x(), 6.0, [0.6, 0.0]);
    let torque = sunlight::torque_nm(&[facet], &Vector3::x(), pressure, &Vector3::zeros());
    assert_relative(torque.norm(), 4.358e-6, 1e-4);
    assert_eq!(sunlight::force_n(&facet, &-Vector3::x(), pressure).norm(), 0.0);
}

/// What a surface absorbs, mirrors or scatters changes momentum by as much as the light loses: each part of the
/// light is followed by itself, the scattered one summed over the hemisphere by Lambert's law.
#[test]
fn sunlight_keeps_momentum() {
    let normal = Vector3::z();
    let to_sun = Vector3::new(0.5, -0.3, 0.9).normalize();
    let facing = to_sun.z;
    let (mirrored, scattered) = (0.35, 0.4);
    let force = sunlight::force_n(&plate(Vector3::zeros(), normal, 1.0, [mirrored, scattered]), &to_sun, 1.0);
    let arrives = -to_sun * facing;
    let mirror = (normal * (2.0 * facing) - to_sun) * (facing * mirrored);
    let mut lambert = Vector3::zeros();
    let steps = 400;
    for i in 0..steps {
        let theta = (f64::from(i) + 0.5) / f64::from(steps) * PI / 2.0;
        // Radiance over π, solid angle of a ring; across the normal it cancels.
        lambert.z += theta.cos() * theta.cos() * theta.sin() * 2.0 * (PI / 2.0 / f64::from(steps));
    }
    let leaves = mirror + lambert * (facing * scattered);
    assert!((force - (arrives - leaves)).norm() < 1e-5, "{force} against {}", arrives - leaves);
}

/// Test values printed with the World Magnetic Model 2020 (README of its coefficient file, 10 December 2019): date,
/// height km, latitude, longitude, then X north, Y east, Z down in nT.
#[test]
fn the_magnetic_field_has_its_published_values() {
    let rows = [
        ("2020-01-01T00:00:00Z", 66.0, 14.0, 143.0, [34_916.8, 70.2, 8_114.9]),
        ("2020-01-01T00:00:00Z", 18.0, 0.0, 21.0, [29_311.2, 536.0, -14_589.0]),
        ("2020-07-02T00:00:00Z", 6.0, -36.0, -137.0, [23_948.6, 8_791.9, -32_897.6]),
        ("2020-07-02T00:00:00Z", 63.0, 26.0, 81.0, [34_737.7, 259.2, 30_023.4]),
    ];
    for (time, height_km, latitude, longitude, expected) in rows {
        let place = Geodetic::from_degrees(latitude, longitude, height_km * 1e3);
        let field = flux_density_t(&place.to_cartesian(), Utc::parse(time).unwrap()).unwrap();
        let east = Vector3::new(-longitude.to_radians().sin(), longitude.to_radians().cos(), 0.0);
        let north = place.up().cross(&east);
        let found = [field.dot(&north), field.dot(&east), -field.dot(&place.up())].map(|t| t * 1e9);
        // Single precision in the crate, and the date to a day.
        for (found, expected) in found.iter().zip(expected) {
            assert_near(*found, expected, 1.0);
        }
    }
}

/// Out to twice the model's top the field is near that of the dipole term, 29.4 µT·(a/r)³ at the equator (WMM 2025:
/// |g₁⁰, g₁¹, h₁¹| = 29,737 nT together), and it ends with its years.
#[test]
fn the_magnetic_field_falls_off_and_ends() {
    let at = |height_km: f64, time: &str| {
        let place = Geodetic::from_degrees(0.0, 170.0, height_km * 1e3);
        flux_density_t(&place.to_cartesian(), Utc::parse(time).unwrap())
    };
    let (near, far) = (at(850.0, "2026-06-10T06:00:00Z").unwrap(), at(1_700.0, "2026-06-10T06:00:00Z").unwrap());
    assert_relative(near.norm() / far.norm(), ((6378.137 + 1_700.0) / (6378.137 + 850.0_f64)).powi(3), 1e-9);
    assert_eq!(at(220.0, "2031-01-01T00:00:00Z"), None);
}
