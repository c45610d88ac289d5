//! What a study knows of the vehicle: inertia, jets, sensors and camera as drawn, and the torques it was seen to
//! meet.

use super::limit_cycle::AxisJets;
use crate::{
    flight::build::Built,
    scenario::{Loaded, Scenario, parts::camera::CameraKind, parts::command::Action},
};
use nalgebra::Vector3;
use stillframe_controller::{attitude::jet_table::JetTable, io::ATTITUDE_STEP_S, settings::Settings};

/// One axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axis {
    /// Jets that turn it (the weaker way of the two), and inertia.
    pub jets: AxisJets,
    /// Jets that fire together.
    pub jet_count: f64,
    /// Longest delay from command to thrust, and from command to none, s.
    pub valve_delay_s: [f64; 2],
    /// Shortest pulse its valves repeat, s.
    pub least_pulse_s: f64,
    /// Disturbance: mean of its magnitude over an orbit, and its largest, N·m.
    pub disturbance_nm: Disturbance,
}

/// A disturbance about one axis, as met over an orbit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Disturbance {
    /// Mean, with its sign, N·m.
    pub mean_nm: f64,
    /// Mean magnitude, N·m.
    pub magnitude_nm: f64,
    /// Largest magnitude, N·m.
    pub largest_nm: f64,
}

/// The vehicle under study.
#[derive(Clone, Debug, PartialEq)]
pub struct Subject {
    /// Axes: roll, pitch, yaw.
    pub axes: [Axis; 3],
    /// Orbital rate, rad/s.
    pub orbital_rate_rad_s: f64,
    /// Horizon sensor: noise of one sample and its interval.
    pub horizon_noise_rad: f64,
    /// Interval of horizon samples, s.
    pub horizon_sample_s: f64,
    /// Angle random walk of the gyros, rad/√s.
    pub gyro_walk_rad_rts: f64,
    /// Bias instability of the gyros, rad/s, and the time in which it wanders, s.
    pub gyro_instability_rad_s: f64,
    /// Correlation time of the instability, s.
    pub gyro_instability_time_s: f64,
    /// Largest drift, rad/s.
    pub gyro_drift_rad_s: f64,
    /// Range of the gyros, rad/s.
    pub gyro_range_rad_s: f64,
    /// Step of the gyros' reading, rad/s.
    pub gyro_step_rad_s: f64,
    /// Focal length, m.
    pub focal_length_m: f64,
    /// Half the field across track, rad.
    pub half_field_rad: f64,
    /// Image speed at the start of the run, m/s.
    pub image_speed_m_s: f64,
    /// Longest exposure, s.
    pub exposure_s: f64,
    /// Smear that costs a tenth of the modulation at the resolution of lens and film together, m.
    pub smear_m: f64,
    /// Longest burst of exposures in the programme, s.
    pub burst_s: f64,
    /// Interval of the attitude law, s.
    pub law_step_s: f64,
}

/// Time of the one first-order process that stands here for the gyros' instability, s: an hour, over which attitude is
/// held on them at most (common practice).
const WANDER_S: f64 = 3600.0;
/// Burst assumed where a programme has no camera command, s.
const USUAL_BURST_S: f64 = 30.0;

impl Subject {
    /// The vehicle of a scenario under `settings`; disturbances still unknown.
    pub fn new(loaded: &Loaded, built: &Built, settings: &Settings) -> Self {
        let scenario = &loaded.scenario;
        let radius_m = built.start_state.position_m.norm();
        let momentum = built.start_state.position_m.cross(&built.start_state.velocity_m_s).norm();
        let orbital_rate_rad_s = momentum / (radius_m * radius_m);
        let height_m = radius_m - crate::world::ellipsoid::A_M;
        let (optics, gyro, horizon) = (&scenario.camera, &scenario.gyro, &scenario.horizon);
        let image_speed_m_s = optics.focal_length_m * orbital_rate_rad_s * (radius_m / height_m - 1.0);
        let resolution_m = (optics.lens_lp_m.powi(-2) + optics.film_lp_m.powi(-2)).sqrt();
        Self {
            axes: [0, 1, 2].map(|axis| axis_of(scenario, settings, axis)),
            orbital_rate_rad_s,
            horizon_noise_rad: horizon.noise_rad,
            horizon_sample_s: 1.0 / horizon.sample_rate_hz,
            gyro_walk_rad_rts: gyro.random_walk_rad_rt_s,
            gyro_instability_rad_s: gyro.bias_instability_rad_s,
            gyro_instability_time_s: WANDER_S,
            gyro_drift_rad_s: gyro.drift_rad_s.iter().fold(0.0, |most, drift| drift.abs().max(most)),
            gyro_range_rad_s: gyro.range_rad_s,
            gyro_step_rad_s: gyro.quantisation_rad_s,
            focal_length_m: optics.focal_length_m,
            half_field_rad: (0.5 * optics.format_width_m / optics.focal_length_m).atan(),
            image_speed_m_s,
            exposure_s: longest_exposure_s(scenario, image_speed_m_s),
            smear_m: 0.25 * resolution_m,
            burst_s: longest_burst_s(scenario),
            law_step_s: f64::from(ATTITUDE_STEP_S),
        }
    }

    /// The same vehicle with disturbances as met.
    pub fn met(mut self, disturbances: [Disturbance; 3]) -> Self {
        for (axis, disturbance) in self.axes.iter_mut().zip(disturbances) {
            axis.disturbance_nm = disturbance;
        }
        self
    }

    /// Jets of the three axes.
    pub fn jets(&self) -> [AxisJets; 3] {
        [0, 1, 2].map(|axis| self.axes[axis].jets)
    }

    /// Noise of one gyro reading: random walk over the interval, and the reading's step, rad/s.
    pub fn gyro_noise_rad_s(&self) -> f64 {
        (self.gyro_walk_rad_rts.powi(2) / self.law_step_s + self.gyro_step_rad_s.powi(2) / 12.0).sqrt()
    }

    /// Rate that smears by the whole smear budget in the longest exposure: about roll and pitch f·ω·t, about yaw at
    /// the edge of the field, rad/s.
    pub fn smear_rate_rad_s(&self) -> Vector3<f64> {
        let square = self.smear_m / (self.focal_length_m * self.exposure_s);
        Vector3::new(square, square, square / self.half_field_rad.tan())
    }

    /// Delay from a sample to thrust about one axis: the output's tick and the valve, s.
    pub fn delay_s(&self, axis: usize) -> f64 {
        f64::from(stillframe_controller::io::TICK_US) * 1e-6 + self.axes[axis].valve_delay_s[0]
    }
}

fn axis_of(scenario: &Scenario, settings: &Settings, axis: usize) -> Axis {
    let body = &settings.body;
    let inertia_kg_m2 =
        [body.inertia_roll_kg_m2, body.inertia_pitch_kg_m2, body.inertia_yaw_kg_m2].map(f64::from)[axis];
    let first_bank = settings.jets.iter().enumerate().filter(|(_, jet)| jet.bank == 0);
    let usable = first_bank.fold(0, |mask, (index, _)| mask | 1 << index);
    let table = JetTable::build(&settings.jets, usable);
    let ways = [false, true].iter().filter_map(|&positive| table.select(axis, positive));
    let weaker = ways.min_by(|a, b| a.axis_torque_nm.total_cmp(&b.axis_torque_nm));
    // Settings without a jet for some turn are refused before any study.
    let (torque_nm, mask) = weaker.map_or((f64::NAN, 0), |way| (f64::from(way.axis_torque_nm), way.jets));
    let chosen = || scenario.jets.iter().enumerate().filter(|(index, _)| mask & (1 << index) != 0).map(|(_, jet)| jet);
    let thrust_n: f64 = chosen().map(|jet| jet.thrust_n).sum();
    let flow: f64 = chosen().map(|jet| jet.thrust_n / jet.specific_impulse_s).sum();
    let longest = |of: fn(&crate::scenario::parts::vehicle::Jet) -> f64| chosen().map(of).fold(0.0, f64::max);
    Axis {
        jets: AxisJets { inertia_kg_m2, torque_nm, lever_m: torque_nm / thrust_n, specific_impulse_s: thrust_n / flow },
        jet_count: chosen().count() as f64,
        valve_delay_s: [longest(|jet| jet.open_delay_s), longest(|jet| jet.close_delay_s)],
        least_pulse_s: longest(|jet| jet.minimum_pulse_s),
        disturbance_nm: Disturbance::default(),
    }
}

fn longest_exposure_s(scenario: &Scenario, image_speed_m_s: f64) -> f64 {
    match &scenario.camera.kind {
        CameraKind::Strip(strip) => strip.slit_widths_m.iter().copied().fold(0.0, f64::max) / image_speed_m_s,
        CameraKind::Frame(frame) => frame.shutter_s.iter().copied().fold(0.0, f64::max),
        CameraKind::Sweep(sweep) => {
            let over_film_m_s = scenario.camera.focal_length_m * sweep.rate_rad_s;
            sweep.slit_widths_m.iter().copied().fold(0.0, f64::max) / over_film_m_s
        }
    }
}

fn longest_burst_s(scenario: &Scenario) -> f64 {
    let bursts = scenario.commands.iter().filter_map(|command| match &command.kind {
        Action::Camera(camera) => Some(camera.for_s),
        _ => None,
    });
    let longest = bursts.fold(0.0, f64::max);
    if longest > 0.0 { longest } else { USUAL_BURST_S }
}
