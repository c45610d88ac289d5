//! Running sums from which the summary is made.

use super::{rows::AttitudeTruth, torques::TorqueTally};
use crate::{
    plant::{Plant, jets::G0_M_S2},
    record::{
        columns::Row,
        summary::{AxisStatistics, PlaceSummary},
    },
};
use nalgebra::Vector3;
use stillframe_controller::attitude::mode::Mode;

/// Statistics of errors and rates about three axes.
#[derive(Clone, Debug, Default)]
pub struct AxisTally {
    samples: u64,
    error_sum: Vector3<f64>,
    error_square: Vector3<f64>,
    error_max: Vector3<f64>,
    rate_square: Vector3<f64>,
    rate_max: Vector3<f64>,
}

impl AxisTally {
    /// Takes one sample.
    pub fn take(&mut self, attitude: &AttitudeTruth) {
        let (error, rate) = (attitude.error_rad, attitude.rate_error_rad_s);
        self.samples += 1;
        self.error_sum += error;
        self.error_square += error.component_mul(&error);
        self.error_max = self.error_max.sup(&error.abs());
        self.rate_square += rate.component_mul(&rate);
        self.rate_max = self.rate_max.sup(&rate.abs());
    }

    /// As the summary wants it, degrees.
    pub fn statistics(&self) -> AxisStatistics {
        let count = self.samples.max(1) as f64;
        let deg = |v: Vector3<f64>| <[f64; 3]>::from(v.map(f64::to_degrees));
        AxisStatistics {
            samples: self.samples,
            error_mean_deg: deg(self.error_sum / count),
            error_rms_deg: deg((self.error_square / count).map(f64::sqrt)),
            error_max_deg: deg(self.error_max),
            rate_rms_deg_s: deg((self.rate_square / count).map(f64::sqrt)),
            rate_max_deg_s: deg(self.rate_max),
        }
    }
}

/// Gas against the least that physics allows, while the vehicle is held.
#[derive(Clone, Debug)]
pub struct HoldTally {
    /// Gas that undoes one newton-metre-second about each axis, kg.
    kg_per_nms: Vector3<f64>,
    last: Option<(f64, Vector3<f64>)>,
    /// Gas gone in hold, kg.
    pub used_kg: f64,
    /// Least gas for the disturbance's impulse in hold, about each axis, kg.
    pub least_kg: Vector3<f64>,
    /// Time in hold, s.
    pub time_s: f64,
}

impl HoldTally {
    /// For a vehicle whose jets turn it as `levers` say: torque over summed thrust about each axis, m.
    pub fn new(levers_m: Vector3<f64>, specific_impulse_s: f64) -> Self {
        let kg_per_nms = levers_m.map(|lever_m| 1.0 / (lever_m * specific_impulse_s * G0_M_S2));
        Self { kg_per_nms, last: None, used_kg: 0.0, least_kg: Vector3::zeros(), time_s: 0.0 }
    }

    /// Takes one second.
    pub fn take(&mut self, mode: Mode, plant: &Plant, step_s: f64) {
        let now = (plant.tank().used_kg(), plant.ledger().disturbance_body_nms);
        if let (Some((used_kg, disturbance_nms)), Mode::Fine) = (self.last, mode) {
            self.used_kg += now.0 - used_kg;
            self.least_kg += (now.1 - disturbance_nms).component_mul(&self.kg_per_nms);
            self.time_s += step_s;
        }
        self.last = Some(now);
    }
}

/// Everything that is summed up along the way.
#[derive(Clone, Debug)]
pub struct Tally {
    /// Attitude in fine hold.
    pub hold: AxisTally,
    /// Attitude in exposures.
    pub exposures: AxisTally,
    /// Gas in fine hold.
    pub gas: HoldTally,
    /// Torques from outside in fine hold.
    pub torques: TorqueTally,
    /// When fine hold was first reached, s.
    pub capture_s: Option<f64>,
    /// Lowest and highest height, m.
    pub height_m: (f64, f64),
    /// Rows seen, and how many of them in eclipse.
    pub rows: (u64, u64),
    /// Highest power, W.
    pub peak_w: f64,
    /// Last row.
    pub last: Option<Row>,
    /// Film starts.
    pub film_starts: u64,
    /// Valve openings.
    pub firings: u64,
    film_ran: bool,
    /// Contacts: count by station, time, longest gap, time of the last contact.
    pub contacts: ContactTally,
    /// Largest residuals of the momentum balance by the vehicle's own measure, with what went through, N·m·s.
    pub on_board_momentum: (f64, f64),
}

/// Contacts summed up.
#[derive(Clone, Debug, Default)]
pub struct ContactTally {
    /// Contacts of each station.
    pub by_station: std::collections::BTreeMap<usize, u64>,
    /// Time in contact, s.
    pub total_s: f64,
    /// Longest time without, s.
    pub longest_gap_s: f64,
    /// First and last time of contact, s.
    pub heard_s: Option<(f64, f64)>,
    /// How far it was from where it was predicted.
    pub place: PlaceSummary,
    gap_from_s: f64,
}

impl ContactTally {
    fn take(&mut self, row: &Row, step_s: f64) {
        let (time_s, since_tracked_m) = (row.time_s, f64::from(row.place_since_tracked_m));
        let place = &mut self.place;
        (place.ahead_m, place.since_start_m) = (row.ahead_m.into(), row.place_since_start_m.into());
        if since_tracked_m > place.since_tracked_worst_m {
            (place.since_tracked_worst_m, place.worst_s) = (since_tracked_m, time_s);
        }
        if place.since_start_m > 0.0 {
            place.worst_sigmas = place.worst_sigmas.max(place.ahead_m.abs() / place.since_start_m);
        }
        if row.contact_station >= 0 {
            self.total_s += step_s;
            self.gap_from_s = time_s;
            self.heard_s = Some((self.heard_s.map_or(time_s, |(first_s, _)| first_s), time_s));
        }
        self.longest_gap_s = self.longest_gap_s.max(time_s - self.gap_from_s);
    }
}

impl Tally {
    /// Nothing yet.
    pub fn new(gas: HoldTally) -> Self {
        Self {
            hold: AxisTally::default(),
            exposures: AxisTally::default(),
            gas,
            torques: TorqueTally::default(),
            capture_s: None,
            height_m: (f64::INFINITY, f64::NEG_INFINITY),
            rows: (0, 0),
            peak_w: 0.0,
            last: None,
            film_starts: 0,
            firings: 0,
            film_ran: false,
            contacts: ContactTally::default(),
            on_board_momentum: (0.0, 0.0),
        }
    }

    /// Takes one row of the decimated series.
    pub fn row(&mut self, row: &Row, attitude: &AttitudeTruth, mode: Mode, plant: &Plant, step_s: f64) {
        if mode == Mode::Fine {
            self.capture_s.get_or_insert(row.time_s);
            self.hold.take(attitude);
            self.torques.take(&plant.torques(), row, step_s);
        }
        self.gas.take(mode, plant, step_s);
        self.height_m = (self.height_m.0.min(row.height_m), self.height_m.1.max(row.height_m));
        self.rows = (self.rows.0 + 1, self.rows.1 + u64::from(row.in_eclipse));
        self.peak_w = self.peak_w.max(f64::from(row.power_w));
        self.contacts.take(row, step_s);
        self.last = Some(row.clone());
    }

    /// Takes what changes within ticks.
    pub fn tick(&mut self, plant: &Plant) {
        self.firings += plant.flow_edges.iter().filter(|edge| edge.on).count() as u64;
        let runs = !plant.film().asleep() && plant.film().speed_m_s() > 1e-3;
        self.film_starts += u64::from(runs && !self.film_ran);
        self.film_ran = runs;
    }

    /// Takes the vehicle's own momentum balance.
    pub fn on_board(&mut self, residual_nms: &[f32; 3], through_nms: &[f32; 3]) {
        let size = |v: &[f32; 3]| v.iter().map(|x| f64::from(x.abs())).sum::<f64>();
        let (residual, through) = (size(residual_nms), size(through_nms));
        if through > 0.0 && residual > self.on_board_momentum.0 {
            self.on_board_momentum = (residual, through);
        }
    }
}
