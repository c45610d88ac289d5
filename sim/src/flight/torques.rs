//! The torque budget: what each source of torque came to over a run.

use crate::{
    plant::torque::Torques,
    record::{
        columns::Row,
        summary::{AirSpread, TorqueLine, TorqueSummary},
    },
    world::activity::{Activity, FLUX_RANGE_SFU, MODEL_SIGMA},
};
use nalgebra::Vector3;

/// Sums of one source.
#[derive(Clone, Copy, Debug, Default)]
struct Sum {
    impulse_nms: Vector3<f64>,
    through_nms: Vector3<f64>,
    peak_nm: Vector3<f64>,
}

impl Sum {
    fn take(&mut self, torque_nm: &Vector3<f64>, step_s: f64) {
        self.impulse_nms += torque_nm * step_s;
        self.through_nms += torque_nm.abs() * step_s;
        self.peak_nm = self.peak_nm.sup(&torque_nm.abs());
    }
}

/// Sums of every source in fine hold: elsewhere the vehicle points anywhere, and the budget would be of that.
#[derive(Clone, Debug, Default)]
pub struct TorqueTally {
    sums: [Sum; 6],
    time_s: f64,
    /// Height, m, and density, kg/m³, summed over time.
    air: [f64; 2],
}

const NAMES: [&str; 6] =
    ["air", "gravity gradient", "magnetic field", "sunlight", "gas past the jets' seats", "together"];

impl TorqueTally {
    /// Takes the torques of one moment, whose row is `row`, for `step_s`.
    pub fn take(&mut self, torques: &Torques, row: &Row, step_s: f64) {
        let t = torques;
        let all = [t.air_nm, t.gravity_nm, t.magnetic_nm, t.sunlight_nm, t.leak_nm, t.sum_nm()];
        for (sum, torque_nm) in self.sums.iter_mut().zip(&all) {
            sum.take(torque_nm, step_s);
        }
        self.time_s += step_s;
        self.air[0] += row.height_m * step_s;
        self.air[1] += f64::from(row.air_density_kg_m3) * step_s;
    }

    /// As the summary wants it; `period_s` is that of the orbit, `solar_flux_sfu` that of the scenario.
    pub fn summary(&self, period_s: f64, solar_flux_sfu: f64) -> TorqueSummary {
        let line = |(name, sum): (&&str, &Sum)| TorqueLine {
            source: (*name).into(),
            mean_n_m: (sum.impulse_nms / self.time_s.max(1.0)).into(),
            peak_n_m: sum.peak_nm.into(),
            momentum_per_orbit_n_m_s: (sum.through_nms * (period_s / self.time_s.max(1.0))).into(),
        };
        TorqueSummary {
            hold_s: self.time_s,
            sources: NAMES.iter().zip(&self.sums).map(line).collect(),
            air: self.air(solar_flux_sfu),
        }
    }

    fn air(&self, solar_flux_sfu: f64) -> AirSpread {
        let [height_m, density_kg_m3] = self.air.map(|sum| sum / self.time_s.max(1.0));
        let met = Activity::at(solar_flux_sfu).ln_ratio(height_m);
        let ratio = |flux_sfu| (Activity::at(flux_sfu).ln_ratio(height_m) - met).exp();
        let [quiet_sfu, active_sfu] = FLUX_RANGE_SFU;
        AirSpread {
            height_m,
            density_kg_m3,
            solar_flux_sfu,
            quiet_sun_ratio: ratio(quiet_sfu),
            active_sun_ratio: ratio(active_sfu),
            model_sigma: MODEL_SIGMA,
        }
    }
}
