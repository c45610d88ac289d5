//! What a trial comes to: gas and pulses of each axis, coasts, rates in exposures, bursts, errors of the estimate.

use super::{
    limit_cycle::AxisJets,
    subject::Disturbance,
    trial::{Trial, TrialError, tick},
};
use crate::flight::{
    closed_loop::ClosedLoop,
    rows::attitude_truth,
    settings::{gas_by_axis_kg, impulse_by_axis_ns, jet_duties},
};
use crate::plant::jets::G0_M_S2;
use nalgebra::Vector3;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use stillframe_controller::attitude::mode::Mode;

/// Ticks between looks at the truth while the shutter is open.
const EXPOSED_TICKS: u64 = 5;
/// Ticks between looks at the truth otherwise.
const IDLE_TICKS: u64 = 100;
/// Time after fine hold was reached at which measuring begins, s: the way in is no part of holding.
const SETTLED_S: f64 = 300.0;
/// Most points kept for phase planes.
const PHASE_POINTS: usize = 1_500;

/// Rate errors allowed in exposures, one sigma, rad/s: roll, pitch, yaw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Goals {
    /// Limits.
    pub rate_rad_s: [f64; 3],
}

impl Default for Goals {
    fn default() -> Self {
        Self { rate_rad_s: [0.005, 0.003, 0.003].map(f64::to_radians) }
    }
}

/// One burst of exposures.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
pub struct Burst {
    /// Shutter opened, s after the start.
    pub from_s: f64,
    /// Shutter shut, s after the start.
    pub to_s: f64,
    /// Root mean square of the rate error about roll, pitch, yaw, degrees a second.
    pub rate_rms_deg_s: [f64; 3],
    /// Valve openings while the shutter was open.
    pub pulses: u32,
    /// Why it was not quiet; empty if it was.
    pub missed: String,
}

/// One axis of a trial.
#[derive(Clone, Copy, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
pub struct AxisMeasure {
    /// Pulses (openings of the first jet of a couple count once).
    pub pulses: f64,
    /// Gas, kg.
    pub gas_kg: f64,
    /// Least gas for the disturbance met, ∫|torque| dt at the lever and specific impulse delivered, kg.
    pub least_kg: f64,
    /// Specific impulse delivered: impulse over gas, s.
    pub specific_impulse_s: f64,
    /// Median time from one pulse to the next, s; 0 with fewer than three.
    pub quiet_median_s: f64,
    /// Root mean square of the attitude error, degrees.
    pub error_rms_deg: f64,
    /// Largest attitude error, degrees.
    pub error_max_deg: f64,
    /// Root mean square of the rate error in exposures, degrees a second.
    pub rate_rms_deg_s: f64,
    /// Mean of the rate error's magnitude outside exposures, degrees a second.
    pub rate_mean_deg_s: f64,
}

/// What a trial came to, from `from_s` on.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
pub struct Measured {
    /// Time measured over, s.
    pub time_s: f64,
    /// When fine hold was first reached, s after the start.
    pub capture_s: Option<f64>,
    /// Share of the time in fine hold.
    pub fine_share: f64,
    /// Roll, pitch, yaw.
    pub axes: [AxisMeasure; 3],
    /// Three sigma of the yaw estimate's error about zero, degrees.
    pub yaw_error_3sigma_deg: f64,
    /// Time from first fix of the heading until the yaw estimate stayed within 0.6°, s.
    pub yaw_converged_s: Option<f64>,
    /// Bursts of exposures.
    pub bursts: Vec<Burst>,
    /// Points of the phase planes: error (degrees) and rate (degrees a second) of roll, pitch, yaw.
    #[serde(skip)]
    pub phase: Vec<[[f32; 2]; 3]>,
    /// Disturbance met by each axis.
    #[serde(skip)]
    pub disturbance: [Disturbance; 3],
}

impl Measured {
    /// Share of bursts that were quiet; none without bursts.
    pub fn quiet_share(&self) -> Option<f64> {
        let quiet = self.bursts.iter().filter(|burst| burst.missed.is_empty()).count();
        (!self.bursts.is_empty()).then(|| quiet as f64 / self.bursts.len() as f64)
    }

    /// Gas of all axes, kg a day.
    pub fn gas_kg_day(&self) -> f64 {
        self.axes.iter().map(|axis| axis.gas_kg).sum::<f64>() / self.time_s * 86_400.0
    }

    /// Pulses of all axes an hour.
    pub fn pulses_per_hour(&self) -> f64 {
        self.axes.iter().map(|axis| axis.pulses).sum::<f64>() / self.time_s * 3_600.0
    }

    /// Largest rate in exposures over its limit.
    pub fn rate_share(&self, goals: &Goals) -> f64 {
        let shares = self.axes.iter().zip(goals.rate_rad_s);
        shares.map(|(axis, limit)| axis.rate_rms_deg_s.to_radians() / limit).fold(0.0, f64::max)
    }
}

/// Flies a trial to `until_s` and measures from five minutes after fine hold was reached, but not before `from_s`.
///
/// `jets` are the levers and specific impulses behind the least gas.
///
/// # Errors
/// [`TrialError`].
pub fn measure(
    trial: &Trial,
    jets: &[AxisJets; 3],
    goals: &Goals,
    from_s: f64,
    until_s: f64,
) -> Result<Measured, TrialError> {
    let mut flight = trial.start()?;
    let mut watch = Watch::new(&flight, jets, *goals);
    while flight.time_s() < until_s - 1e-6 {
        let outcome = tick(&mut flight)?;
        watch.tick(&mut flight, outcome.open.total_us() > 0, from_s);
    }
    Ok(watch.finish(&flight))
}

/// Totals at a moment.
#[derive(Clone, Debug, Default)]
struct Totals {
    time_s: f64,
    gas_kg: [f64; 3],
    impulse_ns: [f64; 3],
    disturbance_nms: Vector3<f64>,
}

/// Samples of an open burst.
#[derive(Clone, Debug, Default)]
struct OpenBurst {
    from_s: f64,
    samples: f64,
    rate_square: Vector3<f64>,
    pulses: u32,
    first_pulse: Option<String>,
}

struct Watch {
    goals: Goals,
    jets: [AxisJets; 3],
    duties: Vec<Option<(usize, bool)>>,
    from: Option<Totals>,
    out: Measured,
    fine_ticks: u64,
    ticks: u64,
    idle: Tally,
    exposed: Tally,
    torque: (f64, Vector3<f64>, Vector3<f64>, Vector3<f64>),
    yaw_square: f64,
    yaw_bad_s: f64,
    heading_s: Option<f64>,
    coasts_s: [Vec<f64>; 3],
    last_pulse_s: [f64; 3],
    burst: Option<OpenBurst>,
    phase_every: u64,
}

#[derive(Clone, Copy, Debug, Default)]
struct Tally {
    samples: f64,
    error_square: Vector3<f64>,
    error_max: Vector3<f64>,
    rate_square: Vector3<f64>,
    rate_sum: Vector3<f64>,
}

impl Tally {
    fn take(&mut self, error: &Vector3<f64>, rate: &Vector3<f64>) {
        self.samples += 1.0;
        self.error_square += error.component_mul(error);
        self.error_max = self.error_max.sup(&error.abs());
        self.rate_square += rate.component_mul(rate);
        self.rate_sum += rate.abs();
    }
}

impl Watch {
    fn new(flight: &ClosedLoop, jets: &[AxisJets; 3], goals: Goals) -> Self {
        Self {
            goals,
            jets: *jets,
            duties: jet_duties(flight.controller.settings()),
            from: None,
            out: Measured::default(),
            fine_ticks: 0,
            ticks: 0,
            idle: Tally::default(),
            exposed: Tally::default(),
            torque: Default::default(),
            yaw_square: 0.0,
            yaw_bad_s: 0.0,
            heading_s: None,
            coasts_s: Default::default(),
            last_pulse_s: [f64::NAN; 3],
            burst: None,
            phase_every: 1,
        }
    }

    fn tick(&mut self, flight: &mut ClosedLoop, open: bool, from_s: f64) {
        let time_s = flight.time_s();
        let fine = flight.controller.mode() == Mode::Fine;
        if fine {
            self.out.capture_s.get_or_insert(time_s);
        }
        let ticks = flight.plant.ticks();
        if ticks.is_multiple_of(IDLE_TICKS) && flight.controller.attitude().heading_known {
            self.yaw(flight, time_s);
        }
        if self.from.is_none() {
            let settled_s = self.out.capture_s.map_or(f64::INFINITY, |capture_s| capture_s + SETTLED_S);
            if time_s < from_s.max(settled_s) {
                return;
            }
            self.from = Some(totals(flight, &self.duties));
        }
        self.ticks += 1;
        self.fine_ticks += u64::from(fine);
        self.pulses(flight, time_s, open);
        if open && ticks.is_multiple_of(EXPOSED_TICKS) || ticks.is_multiple_of(IDLE_TICKS) {
            self.look(flight, open);
        }
        match (open, self.burst.is_some()) {
            (true, false) => self.burst = Some(OpenBurst { from_s: time_s, ..OpenBurst::default() }),
            (false, true) if !flight.controller.telemetry().camera_commanded => self.close_burst(time_s),
            _ => {}
        }
    }

    fn pulses(&mut self, flight: &ClosedLoop, time_s: f64, open: bool) {
        for edge in flight.plant.flow_edges.iter().filter(|edge| edge.on) {
            let Some((axis, positive)) = self.duties.get(edge.jet).copied().flatten() else { continue };
            let couple = self.duties.iter().filter(|duty| **duty == Some((axis, positive))).count();
            // Two banks hold the same duties; a couple is two jets of one bank.
            self.out.axes[axis].pulses += if couple > 2 { 0.5 } else { 1.0 };
            let gap_s = time_s - self.last_pulse_s[axis];
            if gap_s > 0.015 {
                self.coasts_s[axis].push(gap_s);
            }
            self.last_pulse_s[axis] = time_s;
            if let (true, Some(burst)) = (open, self.burst.as_mut()) {
                burst.pulses += 1;
                burst.first_pulse.get_or_insert_with(|| first_pulse(flight, axis, positive, time_s - burst.from_s));
            }
        }
    }

    fn look(&mut self, flight: &mut ClosedLoop, open: bool) {
        let truth = flight.plant.truth();
        let status = flight.controller.attitude();
        let attitude = attitude_truth(&truth, f64::from(status.steering_rad), f64::from(status.steering_rate_rad_s));
        let (error, rate) = (attitude.error_rad, attitude.rate_error_rad_s);
        if open {
            self.exposed.take(&error, &rate);
            if let Some(burst) = &mut self.burst {
                burst.samples += 1.0;
                burst.rate_square += rate.component_mul(&rate);
            }
        } else {
            self.idle.take(&error, &rate);
            let torque = truth.torques.sum_nm();
            self.torque.0 += 1.0;
            self.torque.1 += torque;
            self.torque.2 += torque.abs();
            self.torque.3 = self.torque.3.sup(&torque.abs());
        }
        if (self.idle.samples as u64).is_multiple_of(self.phase_every) {
            let point = |axis: usize| [error[axis].to_degrees() as f32, rate[axis].to_degrees() as f32];
            self.out.phase.push([0, 1, 2].map(point));
            if self.out.phase.len() >= PHASE_POINTS {
                // Thinned to half, and half as many from here on.
                let mut keep = false;
                self.out.phase.retain(|_| {
                    keep = !keep;
                    keep
                });
                self.phase_every *= 2;
            }
        }
    }

    fn yaw(&mut self, flight: &mut ClosedLoop, time_s: f64) {
        let heading_s = *self.heading_s.get_or_insert(time_s);
        let truth = flight.plant.truth();
        let [w, x, y, z] = flight.controller.attitude().quaternion.map(f64::from);
        let believed = (2.0 * (w * z + x * y)).atan2(1.0 - 2.0 * (y * y + z * z));
        let off = wrapped(believed - attitude_truth(&truth, 0.0, 0.0).orbital_rad.z);
        if off.abs() > 0.6_f64.to_radians() {
            self.yaw_bad_s = time_s - heading_s;
        }
        if self.from.is_some() {
            self.yaw_square += off * off;
        }
    }

    fn close_burst(&mut self, time_s: f64) {
        let Some(burst) = self.burst.take() else { return };
        let samples = burst.samples.max(1.0);
        let rate: [f64; 3] = (burst.rate_square / samples).map(f64::sqrt).into();
        let missed = match burst.first_pulse {
            Some(text) => text,
            None => too_fast(&rate, &self.goals),
        };
        self.out.bursts.push(Burst {
            from_s: burst.from_s,
            to_s: time_s,
            rate_rms_deg_s: rate.map(f64::to_degrees),
            pulses: burst.pulses,
            missed,
        });
    }

    fn finish(mut self, flight: &ClosedLoop) -> Measured {
        let now = totals(flight, &self.duties);
        let from = self.from.clone().unwrap_or_else(|| now.clone());
        let out = &mut self.out;
        out.time_s = now.time_s - from.time_s;
        out.fine_share = self.fine_ticks as f64 / self.ticks.max(1) as f64;
        out.yaw_error_3sigma_deg = 3.0 * (self.yaw_square / out.time_s.max(1.0)).sqrt().to_degrees();
        out.yaw_converged_s = self.heading_s.map(|_| self.yaw_bad_s);
        let brought = now.disturbance_nms - from.disturbance_nms;
        for axis in 0..3 {
            let to = &mut out.axes[axis];
            to.gas_kg = now.gas_kg[axis] - from.gas_kg[axis];
            let impulse_ns = now.impulse_ns[axis] - from.impulse_ns[axis];
            let jets = &self.jets[axis];
            let fired = impulse_ns > 0.0;
            to.specific_impulse_s = if fired { impulse_ns / (to.gas_kg * G0_M_S2) } else { jets.specific_impulse_s };
            to.least_kg = brought[axis] / (jets.lever_m * to.specific_impulse_s * G0_M_S2);
            to.quiet_median_s = median(&mut self.coasts_s[axis]);
            to.error_rms_deg = (self.idle.error_square[axis] / self.idle.samples.max(1.0)).sqrt().to_degrees();
            to.error_max_deg = self.idle.error_max[axis].to_degrees();
            to.rate_rms_deg_s = (self.exposed.rate_square[axis] / self.exposed.samples.max(1.0)).sqrt().to_degrees();
            to.rate_mean_deg_s = (self.idle.rate_sum[axis] / self.idle.samples.max(1.0)).to_degrees();
            let (count, sum, size, largest) = &self.torque;
            out.disturbance[axis] = Disturbance {
                mean_nm: sum[axis] / count.max(1.0),
                magnitude_nm: size[axis] / count.max(1.0),
                largest_nm: largest[axis],
            };
        }
        self.out
    }
}

fn totals(flight: &ClosedLoop, duties: &[Option<(usize, bool)>]) -> Totals {
    Totals {
        time_s: flight.time_s(),
        gas_kg: gas_by_axis_kg(flight.plant.jets(), duties),
        impulse_ns: impulse_by_axis_ns(flight.plant.jets(), duties),
        disturbance_nms: flight.plant.ledger().disturbance_body_nms,
    }
}

fn wrapped(angle: f64) -> f64 {
    let turn = std::f64::consts::TAU;
    angle - turn * (angle / turn).round()
}

fn median(values: &mut [f64]) -> f64 {
    if values.len() < 3 {
        return 0.0;
    }
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// What the vehicle saw when the first pulse of a burst was fired.
fn first_pulse(flight: &ClosedLoop, axis: usize, positive: bool, after_s: f64) -> String {
    let status = flight.controller.attitude();
    format!(
        "{} {} fired {after_s:.1} s into the burst, at an estimated error of {:.3}° and {:.4} °/s",
        super::keys::AXES[axis],
        if positive { '+' } else { '−' },
        status.error_rad[axis].to_degrees(),
        status.rate_error_rad_s[axis].to_degrees(),
    )
}

/// Axes whose rate was above its limit.
fn too_fast(rate_rad_s: &[f64; 3], goals: &Goals) -> String {
    let axes = rate_rad_s.iter().zip(goals.rate_rad_s).zip(super::keys::AXES);
    let over = axes.filter(|((rate, limit), _)| *rate > limit).map(|((rate, limit), name)| {
        format!("{name} turned at {:.4} °/s, limit {:.4} °/s", rate.to_degrees(), limit.to_degrees())
    });
    over.collect::<Vec<_>>().join("; ")
}
