//! Resolution rules and transfer functions against closed forms and published values.

use stillframe::imaging::mtf;
use stillframe::imaging::resolution::{Limits, Rule, area_weighted_average_lp_mm, ground_resolved_distance_m};

use crate::setup::close;

const PER_MM: f64 = 1e3;

/// |sin(πdν)/(πdν)|: 0.6366197723676 at dν = 0.5; 5 µm at 50 c/mm 0.9003163161571.
#[test]
fn smear_mtf() {
    // Printed as 0.6366197723676, which is 2/π.
    close(mtf::linear_smear(0.5, 1.0), std::f64::consts::FRAC_2_PI, 1e-9);
    close(mtf::linear_smear(50.0 * PER_MM, 5e-6), 0.900_316_316_157_1, 1e-9);
    close(mtf::linear_smear(0.0, 5e-6), 1.0, 0.0);
    // A smear of a quarter line pair costs 10 % of contrast, of half a line pair 36 % (demo's rule of thumb).
    close(mtf::linear_smear(0.25, 1.0), 0.90, 1e-3);
    close(mtf::linear_smear(0.5, 1.0), 0.64, 6e-3);
}

/// Cut-off at 550 nm, f/4: 454.5454545455 c/mm; half-way 0.3910022189558; nothing beyond.
#[test]
fn diffraction_mtf() {
    let cutoff = mtf::diffraction_cutoff_per_m(550e-9, 4.0);
    close(cutoff / PER_MM, 454.545_454_545_5, 1e-9);
    close(mtf::diffraction(0.5 * cutoff, 550e-9, 4.0), 0.391_002_218_955_8, 1e-9);
    close(mtf::diffraction(0.0, 550e-9, 4.0), 1.0, 1e-12);
    assert_eq!(mtf::diffraction(1.01 * cutoff, 550e-9, 4.0), 0.0);
}

/// Vibration J0 (scipy 1.17.1) 0.9037126420925; Gaussian jitter 0.8208687174155.
#[test]
fn vibration_and_jitter_mtf() {
    close(mtf::vibration(50.0 * PER_MM, 2e-6), 0.903_712_642_092_5, 1e-9);
    close(mtf::jitter(100.0 * PER_MM, 1e-6), 0.820_868_717_415_5, 1e-9);
}

/// 160 and 90 lp/mm: 78.44179834121 by squares (78 in a public worked example), 57.6 by the plain rule.
#[test]
fn combination_rules() {
    let limits = [160.0, 90.0];
    close(Rule::ReciprocalSquare.combine_lp_mm(&limits), 78.441_798_341_21, 1e-9);
    close(Rule::Reciprocal.combine_lp_mm(&limits), 57.6, 1e-9);
}

/// Without smear a limit of infinity takes no part, in either rule.
#[test]
fn no_smear_no_loss() {
    let limits = Limits { lens_lp_mm: 160.0, film_lp_mm: 90.0, smear_m: 0.0, vibration_m: 0.0 };
    close(limits.resolution_lp_mm(Rule::ReciprocalSquare), 78.441_798_341_21, 1e-9);
    close(limits.resolution_lp_mm(Rule::Reciprocal), 57.6, 1e-9);
    let lens_alone = Limits { film_lp_mm: f64::INFINITY, ..limits };
    close(lens_alone.resolution_lp_mm(Rule::ReciprocalSquare), 160.0, 1e-12);
}

/// h/(f·R) for 200 km, 600 mm, 100 lp/mm: 3.333333333333 m, one line pair.
#[test]
fn ground_resolved_distance() {
    close(ground_resolved_distance_m(200e3 / 0.6, 100.0), 3.333_333_333_333, 1e-9);
}

/// Three-bar target 6/4: 90.50966799188 lp/mm. Modulation at 1.6:1, 2:1, 1000:1.
#[test]
fn targets() {
    close(mtf::three_bar_lp_mm(6, 4), 90.509_667_991_88, 1e-9);
    close(mtf::target_modulation(1.6), 0.230_769_230_769_2, 1e-9);
    close(mtf::target_modulation(2.0), 0.333_333_333_333_3, 1e-9);
    close(mtf::target_modulation(1000.0), 0.998_001_998_002, 1e-9);
}

/// Zones of area 0.25, 0.5, 0.25: 88.23437224043 lp/mm (definition from memory, arithmetic by hand).
#[test]
fn area_weighted_average() {
    let zones = [(0.25, 120.0, 110.0), (0.5, 100.0, 80.0), (0.25, 70.0, 50.0)];
    close(area_weighted_average_lp_mm(zones), 88.234_372_240_43, 1e-9);
}
