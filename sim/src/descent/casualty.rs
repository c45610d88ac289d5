//! An estimate of casualties. It is guidance for a talk with the authorities, never a licence.
//!
//! Expectation = Σ (chance of coming down there × people in a square metre there × casualty area). The casualty area
//! of a piece is (0.6 + √A)² with A its area and 0.36 m² a person's (NASA-STD-8719.14, *Process for Limiting Orbital
//! Debris*; formula from memory). People are taken to stand in the open; the sheltered count as well.

use super::confidence::share_bounds;
use crate::scenario::parts::descent::Casualty;

/// The published limit for one uncontrolled re-entry: 1 in 10,000 (NASA-STD-8719.14, requirement 4.7-1, number from
/// memory). Guidance only.
pub const GUIDANCE: f64 = 1e-4;

/// Casualty area of a piece, m².
pub fn casualty_area_m2(area_m2: f64) -> f64 {
    (0.6 + area_m2.sqrt()).powi(2)
}

/// The estimate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// Casualty area of all pieces together, m².
    pub area_m2: f64,
    /// Expectation from descents that come down in the zone.
    pub in_zone: f64,
    /// From those that miss it by their dispersion.
    pub around: f64,
    /// From descents that go wrong.
    pub failed: f64,
    /// All together.
    pub expected: f64,
    /// All together with the share outside the zone at the upper 95 % bound of what the runs can say.
    pub upper: f64,
}

/// From `inside` of `runs` descents in the zone.
pub fn estimate(casualty: &Casualty, inside: usize, runs: usize) -> Estimate {
    let area_m2: f64 = casualty.areas_m2.iter().map(|area| casualty_area_m2(*area)).sum();
    let good = (1.0 - casualty.failure) * area_m2;
    let outside = (runs - inside) as f64 / runs.max(1) as f64;
    let (_, most_outside) = share_bounds(runs - inside, runs, 0.95);
    let parts = |outside: f64| (good * (1.0 - outside) * casualty.zone_per_m2, good * outside * casualty.around_per_m2);
    let (in_zone, around) = parts(outside);
    let failed = casualty.failure * area_m2 * casualty.under_orbit_per_m2;
    let (zone_high, around_high) = parts(most_outside);
    Estimate {
        area_m2,
        in_zone,
        around,
        failed,
        expected: in_zone + around + failed,
        upper: zone_high + around_high + failed,
    }
}
