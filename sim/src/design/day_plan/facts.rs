//! What a plan needs to know of the vehicle, from its drawing and its settings.

use crate::{
    design::attitude::{
        predict::predict,
        subject::{Disturbance, Subject as Attitude},
    },
    flight::build::{BuildError, Built, drag_area_m2, forces, mass_parameters, plant_parameters},
    passes::{plan::Facts, prediction::Prediction},
    plant::Plant,
    scenario::{Loaded, Scenario},
    world::{forces::Forces, gravity::GM_M3_S2, kepler::State},
};
use nalgebra::Vector3;
use std::f64::consts::TAU;

/// Instants of the first revolution at which disturbances and drag are looked at.
const LOOKS: u32 = 36;

/// Gathers the facts.
///
/// # Errors
/// If no plant can be built.
pub fn facts(loaded: &Loaded, built: &Built) -> Result<Facts, BuildError> {
    let scenario = &loaded.scenario;
    let s = &built.settings;
    let mean_motion_rad_s = f64::from(built.prediction.on_board().phase_per_tick) / 2_f64.powi(48) * TAU * 100.0;
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
    let mut drag = forces(scenario, 1.0);
    drag.drag_area_per_mass_m2_kg = drag_area_m2(scenario, &built.start_state) / built.plant.mass().mass_kg;
    Ok(Facts {
        decay_per_rev_m: decay_per_rev_m(&built.prediction, &drag, TAU / mean_motion_rad_s),
        mean_motion_rad_s,
        radius_m: built.start_state.position_m.norm(),
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

/// Fall of the semi-major axis in the first revolution, m: 2a²/μ · v·a_drag (Gauss's equation) summed around it.
pub fn decay_per_rev_m(prediction: &Prediction, forces: &Forces, period_s: f64) -> f64 {
    let sum: f64 = (0..LOOKS)
        .map(|k| {
            let (r, v) = prediction.path.position_velocity(period_s * (f64::from(k) + 0.5) / f64::from(LOOKS));
            let (_, density) = forces.acceleration(&r, &v);
            let air = forces.air_velocity(&r, &v);
            let drag = air * (-0.5 * density * forces.drag_area_per_mass_m2_kg * air.norm());
            let a = 1.0 / (2.0 / r.norm() - v.norm_squared() / GM_M3_S2);
            2.0 * a * a / GM_M3_S2 * v.dot(&drag)
        })
        .sum();
    -sum * period_s / f64::from(LOOKS)
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
