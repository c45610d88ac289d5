//! The sonic throat: how much nitrogen passes, and how long a plenum before it takes to fill.
//!
//! One-dimensional frozen flow of an ideal gas: Sutton & Biblarz, *Rocket Propulsion Elements*, ch. 3 (the relations
//! are in every edition). At jet pressures, below 2 MPa, nitrogen is within 1 % of ideal.

use super::GAS_CONSTANT;

/// Standard gravity, m/s² (ISO 80000-3).
pub const G0_M_S2: f64 = 9.806_65;

/// Ratio of specific heats of cold nitrogen.
pub const GAMMA: f64 = 1.4;

/// Mass flow through a sonic throat for each pascal before it and each square metre, s/m, of gas at `temperature_k`.
pub fn flow_s_m(temperature_k: f64) -> f64 {
    let vandenkerckhove = GAMMA.sqrt() * (2.0 / (GAMMA + 1.0)).powf(0.5 * (GAMMA + 1.0) / (GAMMA - 1.0));
    vandenkerckhove / (GAS_CONSTANT * temperature_k).sqrt()
}

/// Area of the throat that passes `flow_kg_s` at `pressure_pa`, m².
pub fn throat_m2(flow_kg_s: f64, pressure_pa: f64, temperature_k: f64) -> f64 {
    flow_kg_s / (pressure_pa * flow_s_m(temperature_k))
}

/// Time constant with which a plenum of `volume_m3` fills and empties through a throat, s: the gas it holds over
/// the flow at the same pressure, V/(A·R·T·flow), its walls keeping the gas at `temperature_k`.
pub fn filling_time_s(volume_m3: f64, throat_m2: f64, temperature_k: f64) -> f64 {
    volume_m3 / (throat_m2 * GAS_CONSTANT * temperature_k * flow_s_m(temperature_k))
}

/// Mach number at the exit of a nozzle that widens to `area_ratio` times its throat.
pub fn exit_mach(area_ratio: f64) -> f64 {
    let ratio = |mach: f64| {
        let heat = 2.0 / (GAMMA + 1.0) * (1.0 + 0.5 * (GAMMA - 1.0) * mach * mach);
        heat.powf(0.5 * (GAMMA + 1.0) / (GAMMA - 1.0)) / mach
    };
    let (mut low, mut high) = (1.0, 100.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if ratio(middle) < area_ratio { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// Thrust in vacuum over plenum pressure and throat area, for a lossless nozzle of `area_ratio`.
pub fn thrust_coefficient(area_ratio: f64) -> f64 {
    let mach = exit_mach(area_ratio);
    let pressure = (1.0 + 0.5 * (GAMMA - 1.0) * mach * mach).powf(-GAMMA / (GAMMA - 1.0));
    // Momentum and pressure at the exit: (1 + γM²)·p·A.
    pressure * area_ratio * (1.0 + GAMMA * mach * mach)
}

/// Specific impulse in vacuum of a lossless nozzle, s.
pub fn ideal_specific_impulse_s(area_ratio: f64, temperature_k: f64) -> f64 {
    thrust_coefficient(area_ratio) / (flow_s_m(temperature_k) * G0_M_S2)
}

/// Most that nitrogen of `temperature_k` can give in an endless nozzle, s: all its heat turned into speed.
pub fn greatest_specific_impulse_s(temperature_k: f64) -> f64 {
    (2.0 * GAMMA / (GAMMA - 1.0) * GAS_CONSTANT * temperature_k).sqrt() / G0_M_S2
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An independent computation of the same textbook relations (printed tables round them to 76 and 80 s).
    #[test]
    fn nitrogen_at_twenty_degrees_passes_and_pushes_as_the_tables_say() {
        assert!((flow_s_m(293.15) / 2.321_352_80e-3 - 1.0).abs() < 2e-6, "{}", flow_s_m(293.15));
        assert!((exit_mach(50.0) / 5.913_765 - 1.0).abs() < 1e-6, "{}", exit_mach(50.0));
        assert!((thrust_coefficient(50.0) / 1.729_150_526 - 1.0).abs() < 1e-8);
        assert!((ideal_specific_impulse_s(50.0, 293.15) / 75.957_6 - 1.0).abs() < 3e-6);
        assert!((greatest_specific_impulse_s(293.15) / 79.580_6 - 1.0).abs() < 3e-6);
        // Specific impulse goes with the root of temperature.
        let colder = ideal_specific_impulse_s(50.0, 0.81 * 293.15) / ideal_specific_impulse_s(50.0, 293.15);
        assert!((colder - 0.9).abs() < 1e-12, "{colder}");
    }

    #[test]
    fn filling_time_is_gas_held_over_flow() {
        // 0.5 N at 68 s are 0.7498 g/s; 290 mm³ at 0.4 MPa and 293.15 K hold 1.3332 mg: 1.778 ms.
        let flow_kg_s = 0.5 / (68.0 * 9.806_65);
        let throat = throat_m2(flow_kg_s, 0.4e6, 293.15);
        assert!((throat - 8.075e-7).abs() < 1e-10, "{throat}");
        assert!((filling_time_s(290e-9, throat, 293.15) - 1.778e-3).abs() < 1e-6);
    }
}
