//! Nitrogen as a real gas: what a tank holds, and what its gauge reads.
//!
//! Reference equation of state: R. Span, E. W. Lemmon, R. T. Jacobsen, W. Wagner, A. Yokozeki, "A reference
//! equation of state for the thermodynamic properties of nitrogen…", J. Phys. Chem. Ref. Data 29, 1361
//! (2000). Its residual part gives Z = 1 + δ·∂φʳ/∂δ, with δ = ρ/ρc and τ = Tc/T, and with the ideal gas's heat how
//! the gas cools as it expands (`heat`).

pub mod heat;
pub mod nozzle;

pub use heat::heat;

const CRITICAL_K: f64 = 126.192;
const CRITICAL_KG_M3: f64 = 11_183.9 * MOLAR_KG;
const MOLAR_KG: f64 = 28.013_48e-3;
/// Gas constant of that equation, J/(kg·K).
pub const GAS_CONSTANT: f64 = 8.314_51 / MOLAR_KG;

/// n, power of τ, power of δ, power of δ in the exponential (0: none).
const POWER_TERMS: [(f64, f64, i32, i32); 32] = [
    (0.924803575275, 0.25, 1, 0),
    (-0.492448489428, 0.875, 1, 0),
    (0.661883336938, 0.5, 2, 0),
    (-1.92902649201, 0.875, 2, 0),
    (-0.0622469309629, 0.375, 3, 0),
    (0.349943957581, 0.75, 3, 0),
    (0.564857472498, 0.5, 1, 1),
    (-1.61720005987, 0.75, 1, 1),
    (-0.481395031883, 2.0, 1, 1),
    (0.421150636384, 1.25, 3, 1),
    (-0.0161962230825, 3.5, 3, 1),
    (0.172100994165, 1.0, 4, 1),
    (0.00735448924933, 0.5, 6, 1),
    (0.0168077305479, 3.0, 6, 1),
    (-0.00107626664179, 0.0, 7, 1),
    (-0.0137318088513, 2.75, 7, 1),
    (0.000635466899859, 0.75, 8, 1),
    (0.00304432279419, 2.5, 8, 1),
    (-0.0435762336045, 4.0, 1, 2),
    (-0.0723174889316, 6.0, 2, 2),
    (0.0389644315272, 6.0, 3, 2),
    (-0.021220136391, 3.0, 4, 2),
    (0.00408822981509, 3.0, 5, 2),
    (-5.51990017984e-5, 6.0, 8, 2),
    (-0.0462016716479, 16.0, 4, 3),
    (-0.00300311716011, 11.0, 5, 3),
    (0.0368825891208, 15.0, 5, 3),
    (-0.0025585684622, 12.0, 8, 3),
    (0.00896915264558, 12.0, 3, 4),
    (-0.0044151337035, 7.0, 5, 4),
    (0.00133722924858, 4.0, 6, 4),
    (0.000264832491957, 16.0, 9, 4),
];

/// n, power of τ, power of δ, η, β, γ of the terms near the critical point.
const GAUSS_TERMS: [(f64, f64, i32, f64, f64, f64); 4] = [
    (19.6688194015, 0.0, 1, 20.0, 325.0, 1.16),
    (-20.911560073, 1.0, 1, 20.0, 325.0, 1.16),
    (0.0167788306989, 2.0, 3, 15.0, 300.0, 1.13),
    (2627.67566274, 3.0, 2, 25.0, 275.0, 1.25),
];

/// Compressibility factor Z = p/(ρRT) of nitrogen of `density_kg_m3` at `temperature_k`.
///
/// Good from 200 to 400 K and up to 60 MPa, where this program uses it (the equation reaches further).
pub fn compressibility(density_kg_m3: f64, temperature_k: f64) -> f64 {
    let delta = density_kg_m3 / CRITICAL_KG_M3;
    let tau = CRITICAL_K / temperature_k;
    let power: f64 = POWER_TERMS
        .iter()
        .map(|&(n, t, d, l)| {
            let (decay, slope) =
                if l == 0 { (1.0, 0.0) } else { ((-delta.powi(l)).exp(), f64::from(l) * delta.powi(l)) };
            n * tau.powf(t) * delta.powi(d) * decay * (f64::from(d) - slope)
        })
        .sum();
    let gauss: f64 = GAUSS_TERMS
        .iter()
        .map(|&(n, t, d, eta, beta, gamma)| {
            let bell = (-eta * (delta - 1.0).powi(2) - beta * (tau - gamma).powi(2)).exp();
            n * tau.powf(t) * delta.powi(d) * bell * (f64::from(d) - 2.0 * eta * delta * (delta - 1.0))
        })
        .sum();
    1.0 + power + gauss
}

/// Pressure, Pa, of nitrogen of `density_kg_m3` at `temperature_k`.
pub fn pressure_pa(density_kg_m3: f64, temperature_k: f64) -> f64 {
    density_kg_m3 * GAS_CONSTANT * temperature_k * compressibility(density_kg_m3, temperature_k)
}

/// Density, kg/m³, of nitrogen at `pressure_pa` and `temperature_k`; above the critical temperature pressure
/// rises with density, so halving an interval finds it.
pub fn density_kg_m3(at_pressure_pa: f64, temperature_k: f64) -> f64 {
    let (mut low, mut high) = (0.0, 900.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if pressure_pa(middle, temperature_k) < at_pressure_pa { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}
