//! A quick look at what the hot calls cost. Run by hand:
//! `cargo test --release -p stillframe-tests --test world -- --ignored --nocapture cost`

use std::hint::black_box;
use std::time::Instant;
use stillframe::world::Vec3;
use stillframe::world::atmosphere::Atmosphere;
use stillframe::world::ellipsoid::{self, Geodetic};
use stillframe::world::frames::{EARTH_RATE_RAD_S, EarthRotation};
use stillframe::world::gravity::Zonal;
use stillframe::world::kepler::State;
use stillframe::world::orbit::{Forces, Orbit};
use stillframe::world::sun::Sun;
use stillframe::world::time::JulianDate;

/// Keeps a result from being optimised away.
fn keep<T>(value: T) {
    black_box(value);
}

fn each(name: &str, count: u32, mut f: impl FnMut(f64)) {
    let best = (0..5)
        .map(|_| {
            let start = Instant::now();
            for i in 0..count {
                f(f64::from(i));
            }
            start.elapsed().as_secs_f64() / f64::from(count)
        })
        .fold(f64::INFINITY, f64::min);
    println!("{name:32} {:9.1} ns", best * 1e9);
}

#[test]
#[ignore = "prints timings, asserts nothing"]
fn cost_per_call() {
    let start = Instant::now();
    let air = Atmosphere::new(1.0);
    println!("table of the air                 {:9.1} ms", start.elapsed().as_secs_f64() * 1e3);
    let p = Vec3::new(4.1e6, -2.3e6, 4.6e6);
    each("density", 1_000_000, |x| {
        keep(air.density_kg_m3(black_box(2e5 + x * 0.05)));
    });
    each("height", 1_000_000, |x| {
        keep(ellipsoid::height_m(&(p * (1.0 + 1e-9 * x))));
    });
    each("geodetic", 1_000_000, |x| {
        keep(Geodetic::from_cartesian(&(p * (1.0 + 1e-9 * x))));
    });
    each("zonal acceleration", 1_000_000, |x| {
        keep(Zonal::EGM96.acceleration_m_s2(&(p * (1.0 + 1e-9 * x))));
    });
    let earth = EarthRotation { angle_at_start_rad: 1.0, rate_rad_s: EARTH_RATE_RAD_S };
    each("inertial to Earth-fixed", 1_000_000, |x| {
        keep(earth.to_fixed(x, &p));
    });
    each("Sun", 100_000, |x| {
        keep(Sun::at_jd_tt(JulianDate::from_days(2.461e6 + x)));
    });
    let v = Vec3::new(0.0, 7_000.0, 3_400.0);
    let state = State { position_m: Vec3::new(6.6e6, 0.0, 0.0), velocity_m_s: v };
    let orbit = Orbit::new(Forces::new(air, 1.0 / 169.0), state, 0.0, 10.0).expect("up");
    each("orbit: position and velocity", 1_000_000, |x| {
        keep(orbit.position_velocity(black_box(x * 1e-5)));
    });
    each("orbit: full sample", 1_000_000, |x| {
        keep(orbit.sample(black_box(x * 1e-5)));
    });
    let mut flown = orbit.clone();
    each("orbit: one 10 s step", 1_000, |_| {
        let end = flown.segment().end_s;
        flown.advance_to(end + 1.0).expect("stays up");
    });
    let mut read = orbit.clone();
    let start = Instant::now();
    let mut sum = 0.0;
    for i in 0..4_320_000u32 {
        let t = f64::from(i) * 0.02;
        read.advance_to(t).expect("stays up");
        sum += read.sample(t).density_kg_m3;
    }
    let took = start.elapsed().as_secs_f64();
    println!("a day read every 20 ms           {:9.1} ns a reading, {took:.3} s ({sum:.1e})", took / 4.32e6 * 1e9);
}
