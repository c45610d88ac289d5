//! What a plan needs to know of the vehicle, from its drawing and its settings.

use crate::{
    design::attitude::{
        predict::predict,
        subject::{Disturbance, Subject as Attitude},
    },
    flight::build::{BuildError, Built, forces, mass_parameters, plant_parameters},
    passes::plan::Facts,
    plant::Plant,
    scenario::{Loaded, Scenario},
    world::kepler::State,
};
use nalgebra::Vector3;
use std::f64::consts::TAU;

/// Instants of the first revolution at which disturbances are looked at.
const LOOKS: u32 = 36;

/// Gathers the facts.
///
/// # Errors
/// If no plant can be built.
pub fn facts(loaded: &Loaded, built: &Built) -> Result<Facts, BuildError> {
    let scenario = &loaded.scenario;
    let s = &built.settings;
    let mean_motion_rad_s = built.prediction.mean_motion_rad_s();
    let attitude = Attitude::new(loaded, built, s).met(disturbances(scenario, built, TAU / mean_motion_rad_s)?);
    let tip_off = scenario.vehicle.tip_off_rad_s;
    let predicted = predict(&attitude, s, tip_off);
    // Tip-off damped, heading found, gyrocompass settled; a third more, as flown captures take.
    let ready_s = 1.35 * predicted.iter().map(|axis| axis.capture_s).fold(0.0, f64::max);
    let axes = attitude.axes.iter().zip(predicted).zip(tip_off);
    let (mut hold_kg_s, mut capture_kg, mut placing_kg) = (0.0, 0.0, 0.0);
    for ((axis, predicted), rate_rad_s) in axes {
        let kg_per_nms = axis.jets.kg_per_nms();
        hold_kg_s += predicted.held.gas_kg_s;
        placing_kg += predicted.held.impulse_nms * kg_per_nms;
        // As much again as stops the turning, for turning to the horizon and into the heading.
        capture_kg += 2.0 * rate_rad_s.abs() * axis.jets.inertia_kg_m2 * kg_per_nms;
    }
    Ok(Facts {
        film_over_s: f64::from(s.camera.lead_ticks) * 0.01,
        film_reserve_m: f64::from(s.film.reserve_length_m),
        longest_on_s: f64::from(s.camera.on_limit_ticks) * 0.01,
        // Fitted settings follow the programme's longest pass.
        most_film_m: if loaded.settings.is_some() { f64::from(s.camera.footage_limit_m) } else { f64::INFINITY },
        quiet_before_s: f64::from(s.steering.quiet_hold_s.max(s.steering.quiet_lead_s)),
        quiet_longest_s: f64::from(s.steering.quiet_longest_s),
        ready_s,
        hold_kg_s,
        capture_kg,
        placing_kg,
    })
}

/// Torques that the drawn vehicle meets around the first revolution when it looks straight down, by standard air.
fn disturbances(scenario: &Scenario, built: &Built, period_s: f64) -> Result<[Disturbance; 3], BuildError> {
    let (mut sum, mut size, mut largest) = (Vector3::zeros(), Vector3::zeros(), Vector3::<f64>::zeros());
    for k in 0..LOOKS {
        let time_s = period_s * f64::from(k) / f64::from(LOOKS);
        let (position_m, velocity_m_s) = built.prediction.path.position_velocity(time_s);
        let orbit = State { position_m, velocity_m_s };
        let mut parameters = plant_parameters(
            scenario,
            built.start.plus_seconds(time_s),
            orbit,
            mass_parameters(scenario),
            scenario.run.seed,
        );
        (parameters.attitude_rad, parameters.rate_rad_s) = ([0.0; 3], Vector3::zeros());
        parameters.forces = forces(scenario, 1.0);
        let torque: Vector3<f64> = Plant::new(parameters)?.torques().sum_nm();
        sum += torque;
        size += torque.abs();
        largest = largest.sup(&torque.abs());
    }
    let count = f64::from(LOOKS);
    Ok([0, 1, 2].map(|axis| Disturbance {
        mean_nm: sum[axis] / count,
        magnitude_nm: size[axis] / count,
        largest_nm: largest[axis],
    }))
}
