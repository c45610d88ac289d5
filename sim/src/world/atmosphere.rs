//! The air as the plant uses it: density, pressure and temperature by height, fast.
//!
//! [`ussa76`] integrates the US Standard Atmosphere 1976 above 86 km once per process; here the
//! logarithm of its density stands on a uniform 0.25 km grid and is read by cubic interpolation
//! (6e-5 of the density at worst, at 110 km). Below 86 km the layers' closed forms are evaluated.
//! Real density follows the Sun: [`activity`](super::activity) multiplies the standard by a ratio that
//! depends on height. What is left, tens of per cent, is the scenario's `density_factor`. Both scale
//! density and pressure alike (same temperature, more or fewer particles).

use std::sync::OnceLock;

use super::activity::{Activity, MEAN_SFU};
use super::ussa76::{self, AirState};

/// Lowest height of the standard, km; lower heights are treated as this one.
pub const LOWEST_KM: f64 = -5.0;
/// Grid step above 86 km, km: divides every layer boundary, so no kink falls inside an interval.
const STEP_KM: f64 = 0.25;

/// One interval of the table: cubic coefficients of ln ρ in the fraction of the interval.
#[derive(Debug, Clone, Copy)]
struct Interval {
    ln_density: [f64; 4],
}

/// What the process computes once.
struct Table {
    intervals: Vec<Interval>,
    states: Vec<AirState>,
}

/// The standard atmosphere under a Sun of some activity, times a factor.
#[derive(Clone, Copy)]
pub struct Atmosphere {
    table: &'static Table,
    density_factor: f64,
    activity: Activity,
}

impl std::fmt::Debug for Atmosphere {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Atmosphere").field("density_factor", &self.density_factor).finish()
    }
}

impl Atmosphere {
    /// With density and pressure scaled by `density_factor` (0 switches the air off, 1 is the
    /// standard). The first call in a process computes the table in a few ms.
    pub fn new(density_factor: f64) -> Self {
        static TABLE: OnceLock<Table> = OnceLock::new();
        Self { table: TABLE.get_or_init(build), density_factor, activity: Activity::at(MEAN_SFU) }
    }

    /// The same under a Sun of `flux_sfu`, its flux at 10.7 cm in sfu.
    pub fn under_sun(self, flux_sfu: f64) -> Self {
        Self { activity: Activity::at(flux_sfu), ..self }
    }

    /// The factor in use.
    pub fn density_factor(&self) -> f64 {
        self.density_factor
    }

    /// Density, kg/m³, at a height above the ellipsoid, m.
    ///
    /// Above 1000 km the last interval's fall-off goes on; below −5 km the value there.
    #[inline]
    pub fn density_kg_m3(&self, height_m: f64) -> f64 {
        let place = (height_m * 1e-3 - ussa76::MIXED_TOP_KM) * (1.0 / STEP_KM);
        if place < 0.0 {
            return self.mixed(height_m).density_kg_m3;
        }
        let i = (place as usize).min(self.table.intervals.len() - 1);
        let s = place - i as f64;
        let [c0, c1, c2, c3] = self.table.intervals[i].ln_density;
        // Past the top the cubic would bend back: go on along its end slope.
        let ln = if s <= 1.0 {
            ((c3 * s + c2) * s + c1) * s + c0
        } else {
            (c0 + c1 + c2 + c3) + (c1 + 2.0 * c2 + 3.0 * c3) * (s - 1.0)
        };
        self.density_factor * (ln + self.activity.ln_ratio(height_m)).exp()
    }

    /// Density, pressure and temperature at a height above the ellipsoid, m.
    ///
    /// Above 86 km pressure is interpolated in its logarithm, temperature linearly (1e-4); above
    /// 1000 km both stay at their last values. For reports and the descent, not the inner loop.
    pub fn state(&self, height_m: f64) -> AirState {
        if height_m < ussa76::MIXED_TOP_KM * 1e3 {
            return self.mixed(height_m);
        }
        let last = self.table.states.len() - 1;
        let place = ((height_m * 1e-3 - ussa76::MIXED_TOP_KM) / STEP_KM).clamp(0.0, last as f64);
        let i = (place as usize).min(last - 1);
        let s = place - i as f64;
        let (low, high) = (self.table.states[i], self.table.states[i + 1]);
        let ln_pressure = low.pressure_pa.ln() * (1.0 - s) + high.pressure_pa.ln() * s;
        AirState {
            temperature_k: low.temperature_k * (1.0 - s) + high.temperature_k * s,
            pressure_pa: self.density_factor * (ln_pressure + self.activity.ln_ratio(height_m)).exp(),
            density_kg_m3: self.density_kg_m3(height_m),
        }
    }

    #[cold]
    fn mixed(&self, height_m: f64) -> AirState {
        let state = ussa76::mixed((height_m * 1e-3).max(LOWEST_KM));
        let factor = self.density_factor * self.activity.ratio(height_m);
        AirState { pressure_pa: factor * state.pressure_pa, density_kg_m3: factor * state.density_kg_m3, ..state }
    }
}

fn build() -> Table {
    let states = ussa76::thermosphere(STEP_KM);
    let ln: Vec<f64> = states.iter().map(|state| state.density_kg_m3.ln()).collect();
    let intervals = (0..ln.len() - 1).map(|i| interval(&ln, i)).collect();
    Table { intervals, states }
}

/// Where the slope of ln ρ jumps inside the table, km: the report changes the molar mass that
/// nitrogen settles with.
const KINK_KM: f64 = 100.0;

/// Cubic Hermite over one interval, with slopes from neighbouring points, one-sided at the kink
/// and at the ends.
fn interval(ln: &[f64], i: usize) -> Interval {
    let one_sided = |j: usize| {
        let km = ussa76::MIXED_TOP_KM + j as f64 * STEP_KM;
        j == 0 || j == ln.len() - 1 || (km - KINK_KM).abs() < 1e-9
    };
    let rise = |j: usize| ln[j + 1] - ln[j];
    let d = rise(i);
    let m0 = if one_sided(i) { 1.5 * d - 0.5 * rise(i + 1) } else { 0.5 * (rise(i - 1) + d) };
    let m1 = if one_sided(i + 1) { 1.5 * d - 0.5 * rise(i - 1) } else { 0.5 * (d + rise(i + 1)) };
    Interval { ln_density: [ln[i], m0, 3.0 * d - 2.0 * m0 - m1, m0 + m1 - 2.0 * d] }
}
