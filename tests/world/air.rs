//! The air against the table of *U.S. Standard Atmosphere, 1976* (NOAA-S/T 76-1562).

use crate::{assert_near, assert_relative};
use stillframe::world::atmosphere::Atmosphere;
use stillframe::world::ussa76;

/// Rows of the report's table, four digits: half a unit of the last digit is up to 4e-4 of the
/// value, so 1e-3 leaves nothing to hide behind.
#[test]
fn densities_of_the_table() {
    let air = Atmosphere::new(1.0);
    for (km, density) in [
        (86.0, 6.958e-6),
        (100.0, 5.604e-7),
        (115.0, 4.289e-8),
        (130.0, 8.152e-9),
        (150.0, 2.076e-9),
        (175.0, 6.339e-10),
        (200.0, 2.541e-10),
        (250.0, 6.073e-11),
        (300.0, 1.916e-11),
        (400.0, 2.803e-12),
        (500.0, 5.215e-13),
        (600.0, 1.137e-13),
        (1000.0, 3.561e-15),
    ] {
        println!("{km} km: {:+.2e}", air.density_kg_m3(km * 1e3) / density - 1.0);
        assert_relative(air.density_kg_m3(km * 1e3), density, 1e-3);
    }
}

#[test]
fn pressures_and_temperatures_of_the_table() {
    let air = Atmosphere::new(1.0);
    for (km, pa) in [(200.0, 8.4736e-5), (300.0, 8.7704e-6), (400.0, 1.4518e-6), (500.0, 3.0236e-7)] {
        assert_relative(air.state(km * 1e3).pressure_pa, pa, 1e-3);
    }
    for (km, k) in [(100.0, 195.08), (150.0, 634.39), (200.0, 854.56), (300.0, 976.01)] {
        assert_relative(air.state(km * 1e3).temperature_k, k, 1e-4);
    }
}

/// Layers: ambiance 1.3.1 and the closed forms agree with the table's digits.
#[test]
fn mixed_air() {
    let air = Atmosphere::new(1.0);
    for (km, density) in [(0.0, 1.225), (30.0, 0.018_410), (50.0, 1.0269e-3), (70.0, 8.2829e-5), (80.0, 1.8458e-5)] {
        assert_relative(air.density_kg_m3(km * 1e3), density, 1e-4);
    }
    assert_relative(ussa76::geopotential_km(86.0), 84.852_045_844_91, 1e-12);
    assert_near(air.state(0.0).pressure_pa, 101_325.0, 1e-6);
    assert_near(air.state(86_000.0).temperature_k, 186.87, 0.01);
}

/// Local scale heights from an independent implementation of the report; central differences
/// over ±0.5 km here, the 0.5 % is the reference's own.
#[test]
fn density_scale_heights() {
    let air = Atmosphere::new(1.0);
    for (km, scale_km) in [
        (100.0, 5.565_917_880_381),
        (150.0, 17.828_813_966_82),
        (200.0, 30.248_696_534_19),
        (300.0, 46.925_180_206_27),
        (400.0, 56.450_234_116_7),
        (500.0, 62.378_989_439_98),
    ] {
        let m = km * 1e3;
        let fall = (air.density_kg_m3(m - 500.0) / air.density_kg_m3(m + 500.0)).ln();
        assert_relative(1.0 / fall, scale_km, 5e-3);
    }
}

/// Between its grid points the table must follow the equations it was made from.
#[test]
fn interpolation_error() {
    let fine = ussa76::thermosphere(0.125);
    let air = Atmosphere::new(1.0);
    let mut worst = (0.0f64, 0.0);
    for (i, state) in fine.iter().enumerate() {
        let km = 86.0 + i as f64 * 0.125;
        let error = (air.density_kg_m3(km * 1e3) / state.density_kg_m3 - 1.0).abs();
        if error > worst.0 {
            worst = (error, km);
        }
    }
    println!("worst interpolation error {:.2e} at {} km", worst.0, worst.1);
    assert!(worst.0 < 1e-4, "{worst:?}");
}

/// The two halves of the standard meet at 86 km: its number densities there are printed to seven
/// digits and its molar ratio to six, so the step left is that of print, about 1e-5.
#[test]
fn the_halves_meet() {
    let air = Atmosphere::new(1.0);
    let step = air.density_kg_m3(86_000.0 - 1e-6) / air.density_kg_m3(86_000.0) - 1.0;
    println!("step of density at 86 km {step:.1e}");
    assert!(step.abs() < 5e-5);
    let (below, above) = (air.state(86_000.0 - 1e-6), air.state(86_000.0));
    assert_relative(below.pressure_pa, above.pressure_pa, 5e-5);
    assert_relative(below.temperature_k, above.temperature_k, 1e-5);
}

#[test]
fn factor_and_ends() {
    let (one, half, none) = (Atmosphere::new(1.0), Atmosphere::new(0.5), Atmosphere::new(0.0));
    assert_relative(half.density_kg_m3(220e3), 0.5 * one.density_kg_m3(220e3), 1e-15);
    assert_relative(half.state(220e3).pressure_pa, 0.5 * one.state(220e3).pressure_pa, 1e-15);
    assert_eq!(none.density_kg_m3(220e3), 0.0);
    // Beyond the standard: still falling, never negative, never infinite.
    let mut last = one.density_kg_m3(999e3);
    for km in [1000.0, 1001.0, 1500.0, 5000.0, 50_000.0] {
        let density = one.density_kg_m3(km * 1e3);
        assert!(density < last && density >= 0.0, "{km} km: {density}");
        last = density;
    }
    assert!(one.density_kg_m3(-1e6) == one.density_kg_m3(-5e3));
}

/// Density over that at 150 sfu: NRLMSIS 2.1 by pymsis 0.13.0, means over the whole Earth and year, at fluxes and
/// heights between the table's. Linear steps between its heights and in ln of its fluxes leave a few per cent.
#[test]
fn density_follows_the_sun() {
    for (sfu, rows) in [
        (95.0, [(235.0, -0.4240), (285.0, -0.6172), (110.0, -0.0239)]),
        (120.0, [(235.0, -0.2111), (285.0, -0.3032), (500.0, -0.6159)]),
        (180.0, [(235.0, 0.1783), (285.0, 0.2485), (200.0, 0.1226)]),
        (230.0, [(235.0, 0.4249), (285.0, 0.5790), (400.0, 0.8677)]),
    ] {
        let (air, mean) = (Atmosphere::new(1.0).under_sun(sfu), Atmosphere::new(1.0));
        for (km, ln_ratio) in rows {
            let found = (air.density_kg_m3(km * 1e3) / mean.density_kg_m3(km * 1e3)).ln();
            println!("{sfu} sfu, {km} km: {found:.4}, expected {ln_ratio}");
            assert_near(found, ln_ratio, 0.012);
            let state = air.state(km * 1e3);
            assert_relative(state.density_kg_m3, air.density_kg_m3(km * 1e3), 1e-12);
            assert_relative(state.pressure_pa / mean.state(km * 1e3).pressure_pa, found.exp(), 1e-12);
        }
    }
    // The standard is that of 150, and its lower half does not know the Sun.
    let quiet = Atmosphere::new(1.0).under_sun(65.0);
    assert_eq!(Atmosphere::new(1.0).under_sun(150.0).density_kg_m3(235e3), Atmosphere::new(1.0).density_kg_m3(235e3));
    assert_eq!(quiet.density_kg_m3(60e3), Atmosphere::new(1.0).density_kg_m3(60e3));
    assert_eq!(quiet.density_kg_m3(235e3), Atmosphere::new(1.0).under_sun(10.0).density_kg_m3(235e3));
}

/// Exospheric temperature by Jacchia (1971), 379 K + 3.24 K for each sfu by night and a third more by day (from
/// memory), in the diffusion of atomic oxygen alone from 120 km: an independent rule of thumb for the same ratio.
#[test]
fn the_ratio_agrees_with_a_rule_of_thumb() {
    let column = |sfu: f64| {
        let hot_k = 1.15 * (379.0 + 3.24 * sfu);
        // Bates' profile with the standard's 360 K at 120 km and its 0.01875/km; scale height of oxygen.
        let (mut ln, step_km) = (0.0, 0.1);
        for i in 0..1_150 {
            let above_km = (f64::from(i) + 0.5) * step_km;
            let (temperature_k, g) =
                (hot_k - (hot_k - 360.0) * (-0.018_75 * above_km).exp(), 9.44 * (1.0 - 3.1e-4 * above_km));
            ln -= 16e-3 * g / (8.314 * temperature_k) * step_km * 1e3;
            let slope = 0.018_75 * (hot_k - 360.0) * (-0.018_75 * above_km).exp();
            ln -= slope / temperature_k * step_km;
        }
        ln
    };
    for sfu in [65.0, 100.0, 200.0, 250.0] {
        let (found, thumb) = (
            (Atmosphere::new(1.0).under_sun(sfu).density_kg_m3(235e3) / Atmosphere::new(1.0).density_kg_m3(235e3)).ln(),
            column(sfu) - column(150.0),
        );
        println!("{sfu} sfu: {found:.3}, by the rule {thumb:.3}");
        // It has oxygen only, and no change of composition at 120 km: half is what it is good for.
        assert!(found / thumb > 0.5 && found / thumb < 2.0, "{sfu}: {found} against {thumb}");
    }
}
