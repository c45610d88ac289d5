//! Gas that the tank can hold.

use crate::nitrogen::{density_kg_m3, pressure_pa};
use crate::scenario::parts::vehicle::Tank;
use crate::scenario::read::context::Context;

/// Density of liquid nitrogen where it boils at 1 atm, kg/m³: gas is never loaded denser.
const LIQUID_KG_M3: f64 = 806.0;

/// The load's real-gas pressure must stay within the tank's rating.
pub fn check_load(tank: &Tank, key: &str, cx: &mut Context) {
    let pressure = pressure_pa(tank.gas_kg / tank.volume_m3, tank.temperature_k);
    let most_kg = density_kg_m3(tank.max_pressure_pa, tank.temperature_k) * tank.volume_m3;
    if tank.gas_kg <= most_kg {
        return;
    }
    let density = tank.gas_kg / tank.volume_m3;
    let found = if density < LIQUID_KG_M3 {
        format!("{:.1} MPa", pressure / 1e6)
    } else {
        "denser than liquid nitrogen".into()
    };
    let key = format!("{key}.gas_kg");
    let message = format!("{key} = {} is more than the tank can hold ({found})", tank.gas_kg);
    let label = format!("allowed: up to {:.3} kg", (most_kg * 1e3).floor() / 1e3);
    let help = format!(
        "{:.1} L at {:.1} MPa and {:.1}°C hold that much nitrogen as a real gas. Load less, or give the tank more \
         volume (volume_l) or a higher rating (max_pressure_mpa).",
        tank.volume_m3 * 1e3,
        tank.max_pressure_pa / 1e6,
        tank.temperature_k - 273.15
    );
    cx.refuse(&key, message, label, help);
}
