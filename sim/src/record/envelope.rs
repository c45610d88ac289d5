//! Curves cut down to what a page can show without hiding a peak.

use super::columns::Row;

/// Buckets of a curve: at most two points each, so a curve has at most 1,600 points.
pub const BUCKETS: usize = 800;
/// Width of a bucket at the start, s: one attitude step.
const FIRST_WIDTH_S: f64 = 0.02;

type Getter = fn(&Row) -> f64;

/// The series the report draws, by column name.
pub const DIGESTED: &[(&str, Getter)] = &[
    ("latitude_deg", |r| r.latitude_deg),
    ("height_m", |r| r.height_m),
    ("sun_elevation_deg", |r| r.sun_elevation_deg.into()),
    ("air_density_kg_m3", |r| r.air_density_kg_m3.into()),
    ("roll_error_rad", |r| r.attitude_error_rad[0].into()),
    ("pitch_error_rad", |r| r.attitude_error_rad[1].into()),
    ("yaw_error_rad", |r| r.attitude_error_rad[2].into()),
    ("roll_rad", |r| r.orbital_angle_rad[0].into()),
    ("pitch_rad", |r| r.orbital_angle_rad[1].into()),
    ("yaw_rad", |r| r.orbital_angle_rad[2].into()),
    ("roll_rate_error_rad_s", |r| r.rate_error_rad_s[0].into()),
    ("pitch_rate_error_rad_s", |r| r.rate_error_rad_s[1].into()),
    ("yaw_rate_error_rad_s", |r| r.rate_error_rad_s[2].into()),
    ("disturbance_torque_x_n_m", |r| r.disturbance_torque_n_m[0].into()),
    ("disturbance_torque_y_n_m", |r| r.disturbance_torque_n_m[1].into()),
    ("disturbance_torque_z_n_m", |r| r.disturbance_torque_n_m[2].into()),
    ("air_torque_x_n_m", |r| r.air_torque_n_m[0].into()),
    ("air_torque_y_n_m", |r| r.air_torque_n_m[1].into()),
    ("air_torque_z_n_m", |r| r.air_torque_n_m[2].into()),
    ("gravity_torque_x_n_m", |r| r.gravity_torque_n_m[0].into()),
    ("gravity_torque_y_n_m", |r| r.gravity_torque_n_m[1].into()),
    ("gravity_torque_z_n_m", |r| r.gravity_torque_n_m[2].into()),
    ("magnetic_torque_x_n_m", |r| r.magnetic_torque_n_m[0].into()),
    ("magnetic_torque_y_n_m", |r| r.magnetic_torque_n_m[1].into()),
    ("magnetic_torque_z_n_m", |r| r.magnetic_torque_n_m[2].into()),
    ("sunlight_torque_x_n_m", |r| r.sunlight_torque_n_m[0].into()),
    ("sunlight_torque_y_n_m", |r| r.sunlight_torque_n_m[1].into()),
    ("sunlight_torque_z_n_m", |r| r.sunlight_torque_n_m[2].into()),
    ("leak_torque_x_n_m", |r| r.leak_torque_n_m[0].into()),
    ("leak_torque_y_n_m", |r| r.leak_torque_n_m[1].into()),
    ("leak_torque_z_n_m", |r| r.leak_torque_n_m[2].into()),
    ("gas_kg", |r| r.gas_kg),
    ("tank_pressure_pa", |r| r.tank_pressure_pa.into()),
    ("tank_temperature_k", |r| r.tank_temperature_k.into()),
    ("film_speed_m_s", |r| r.film_speed_m_s.into()),
    ("image_speed_m_s", |r| r.image_speed_m_s.into()),
    ("film_supply_m", |r| r.film_supply_m),
    ("film_take_up_m", |r| r.film_take_up_m),
    ("supply_tension_n", |r| r.supply_tension_n.into()),
    ("take_up_tension_n", |r| r.take_up_tension_n.into()),
    ("reel_momentum_n_m_s", |r| r.reel_momentum_n_m_s.into()),
    ("power_w", |r| r.power_w.into()),
    ("energy_used_wh", |r| r.energy_used_wh),
    ("yaw_steering_rad", |r| r.yaw_steering_rad.into()),
    ("assumed_roll_rad", |r| r.assumed_angle_rad[0].into()),
    ("assumed_pitch_rad", |r| r.assumed_angle_rad[1].into()),
    ("assumed_yaw_rad", |r| r.assumed_angle_rad[2].into()),
    ("assumed_gyro_drift_x_rad_s", |r| r.assumed_gyro_drift_rad_s[0].into()),
    ("assumed_gyro_drift_y_rad_s", |r| r.assumed_gyro_drift_rad_s[1].into()),
    ("assumed_gyro_drift_z_rad_s", |r| r.assumed_gyro_drift_rad_s[2].into()),
    ("assumed_gas_kg", |r| r.assumed_gas_kg.into()),
    ("metered_film_m", |r| r.metered_film_m),
    ("ahead_m", |r| r.ahead_m.into()),
    ("place_since_start_m", |r| r.place_since_start_m.into()),
    ("place_since_tracked_m", |r| r.place_since_tracked_m.into()),
    ("observation_age_s", |r| r.observation_age_s.into()),
];

/// One bucket of a curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bucket {
    /// Middle of the bucket, s.
    pub time_s: f64,
    /// Smallest value in it; NaN where the curve has a gap.
    pub low: f64,
    /// Largest value in it; NaN where the curve has a gap.
    pub high: f64,
}

/// Smallest and largest value of every digested series in equal stretches of time.
///
/// When the stretches run out, neighbours are merged and the width doubles, so memory is bounded and no
/// peak is ever lost.
#[derive(Clone, Debug)]
pub struct Envelopes {
    start_s: f64,
    width_s: f64,
    rows: Vec<u32>,
    low: Vec<Vec<f64>>,
    high: Vec<Vec<f64>>,
}

impl Envelopes {
    /// Empty curves that begin at `start_s`.
    pub fn new(start_s: f64) -> Self {
        Self {
            start_s,
            width_s: FIRST_WIDTH_S,
            rows: Vec::new(),
            low: vec![Vec::new(); DIGESTED.len()],
            high: vec![Vec::new(); DIGESTED.len()],
        }
    }

    /// Takes a row in; rows before the start count as at the start.
    pub fn push(&mut self, row: &Row) {
        if !row.time_s.is_finite() {
            return;
        }
        let mut index = self.index(row.time_s);
        while index >= BUCKETS {
            self.merge();
            index = self.index(row.time_s);
        }
        if index >= self.rows.len() {
            self.rows.resize(index + 1, 0);
            for curve in self.low.iter_mut().chain(&mut self.high) {
                curve.resize(index + 1, f64::NAN);
            }
        }
        self.rows[index] += 1;
        for (k, (_, get)) in DIGESTED.iter().enumerate() {
            let value = get(row);
            // `min` and `max` pass over NaN, so a bucket is a gap only if all its rows are.
            self.low[k][index] = self.low[k][index].min(value);
            self.high[k][index] = self.high[k][index].max(value);
        }
    }

    /// The curve of a column; empty if the column is not digested.
    pub fn curve(&self, name: &str) -> Vec<Bucket> {
        let Some(k) = DIGESTED.iter().position(|(digested, _)| *digested == name) else {
            return Vec::new();
        };
        let buckets = self.rows.iter().enumerate().filter(|(_, rows)| **rows > 0);
        buckets
            .map(|(i, _)| Bucket {
                time_s: self.start_s + (i as f64 + 0.5) * self.width_s,
                low: self.low[k][i],
                high: self.high[k][i],
            })
            .collect()
    }

    fn index(&self, time_s: f64) -> usize {
        // Saturates below zero and past the largest index.
        ((time_s - self.start_s) / self.width_s) as usize
    }

    fn merge(&mut self) {
        self.width_s *= 2.0;
        self.rows = self.rows.chunks(2).map(|pair| pair.iter().sum()).collect();
        for curve in &mut self.low {
            *curve = curve.chunks(2).map(|pair| pair.iter().copied().fold(f64::NAN, f64::min)).collect();
        }
        for curve in &mut self.high {
            *curve = curve.chunks(2).map(|pair| pair.iter().copied().fold(f64::NAN, f64::max)).collect();
        }
    }
}

/// Every n-th of a stream of samples, n doubling so that there are never more than a set number.
#[derive(Clone, Debug)]
pub struct Thinned<T> {
    kept: Vec<T>,
    most: usize,
    stride: u64,
    seen: u64,
}

impl<T> Thinned<T> {
    /// Nothing yet; at most `most` (at least 2) will be kept.
    pub fn new(most: usize) -> Self {
        Self { kept: Vec::new(), most: most.max(2), stride: 1, seen: 0 }
    }

    /// Takes a sample in.
    pub fn push(&mut self, sample: T) {
        if self.seen.is_multiple_of(self.stride) {
            if self.kept.len() >= self.most {
                let mut odd = false;
                self.kept.retain(|_| {
                    odd = !odd;
                    odd
                });
                self.stride *= 2;
            }
            if self.seen.is_multiple_of(self.stride) {
                self.kept.push(sample);
            }
        }
        self.seen += 1;
    }

    /// What was kept, in order.
    pub fn samples(&self) -> &[T] {
        &self.kept
    }
}
