//! How the gas cools as it expands: specific heat and the pressure's rise with temperature, same equation of state.

use super::{CRITICAL_K, CRITICAL_KG_M3, GAS_CONSTANT, GAUSS_TERMS, POWER_TERMS};

/// Heat of the gas at one state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heat {
    /// Specific heat at constant volume, J/(kg·K).
    pub cv_j_kg_k: f64,
    /// Rise of pressure with temperature at constant density, Pa/K.
    pub pressure_rise_pa_k: f64,
    density_kg_m3: f64,
}

impl Heat {
    /// d(ln T)/d(ln m) of the gas that stays in a vessel while some is let out, without heat from outside:
    /// (∂p/∂T)/(ρ·c_v), from T·ds = c_v·dT − T·(∂p/∂T)·dρ/ρ² = 0. An ideal gas has γ − 1 = 0.4.
    pub fn cooling(&self) -> f64 {
        self.pressure_rise_pa_k / (self.density_kg_m3 * self.cv_j_kg_k)
    }
}

/// Heat of nitrogen of `density_kg_m3` at `temperature_k`.
pub fn heat(density_kg_m3: f64, temperature_k: f64) -> Heat {
    let delta = density_kg_m3 / CRITICAL_KG_M3;
    let tau = CRITICAL_K / temperature_k;
    // δ·φ_δ, τ²·φ_ττ and δτ·φ_δτ of each term.
    let (mut slope, mut curve, mut mixed) = (0.0, 0.0, 0.0);
    let mut enter = |term: f64, by_delta: f64, by_tau: f64, by_tau_twice: f64| {
        slope += term * by_delta;
        curve += term * by_tau_twice;
        mixed += term * by_delta * by_tau;
    };
    for (n, t, d, l) in POWER_TERMS {
        let (decay, fall) = if l == 0 { (1.0, 0.0) } else { ((-delta.powi(l)).exp(), f64::from(l) * delta.powi(l)) };
        enter(n * tau.powf(t) * delta.powi(d) * decay, f64::from(d) - fall, t, t * (t - 1.0));
    }
    for (n, t, d, eta, beta, gamma) in GAUSS_TERMS {
        let bell = (-eta * (delta - 1.0).powi(2) - beta * (tau - gamma).powi(2)).exp();
        let by_delta = f64::from(d) - 2.0 * eta * delta * (delta - 1.0);
        let by_tau = t - 2.0 * beta * tau * (tau - gamma);
        let twice = by_tau * by_tau - t - 2.0 * beta * tau * tau;
        enter(n * tau.powf(t) * delta.powi(d) * bell, by_delta, by_tau, twice);
    }
    Heat {
        cv_j_kg_k: GAS_CONSTANT * (ideal_cv(temperature_k) - curve),
        pressure_rise_pa_k: density_kg_m3 * GAS_CONSTANT * (1.0 + slope - mixed),
        density_kg_m3,
    }
}

/// c_v/R of the ideal gas, same reference: 5/2, small powers of T, and one vibration.
fn ideal_cv(temperature_k: f64) -> f64 {
    let t = temperature_k;
    let u = 3364.011 / t;
    let vibration = 1.012_941 * u * u * u.exp() / u.exp_m1().powi(2);
    2.5 + 3.066_469e-6 * t + 4.701_24e-9 * t * t - 3.987_984e-13 * t * t * t + vibration
}

#[cfg(test)]
mod tests {
    use super::*;

    /// CoolProp 8.0.0, the same reference equation in another program.
    #[test]
    fn heat_agrees_with_another_program() {
        for (density, temperature_k, cv, rise) in [
            (23.076_167_964_694_218, 293.15, 747.966_715, 7_153.404_745),
            (218.544_351_349_476_46, 293.15, 782.877_207, 96_212.822_630),
            (100.0, 200.0, 782.775_850, 36_591.391_053),
        ] {
            let found = heat(density, temperature_k);
            assert!((found.cv_j_kg_k / cv - 1.0).abs() < 1e-6, "{} {cv}", found.cv_j_kg_k);
            assert!((found.pressure_rise_pa_k / rise - 1.0).abs() < 1e-6, "{} {rise}", found.pressure_rise_pa_k);
        }
        assert!((heat(1e-3, 293.15).cooling() - 0.4).abs() < 5e-4, "an ideal gas");
    }
}
