//! What one step of the attitude loop costs on this computer.

use super::trial::{Trial, TrialError, tick};
use crate::scenario::Loaded;
use std::{hint::black_box, time::Instant};
use stillframe_controller::{
    attitude::{Attitude, Input, mode::Mode},
    io::ATTITUDE_TICKS,
    settings::Settings,
};

/// Longest flight to fine hold, s.
const PATIENCE_S: f64 = 10_000.0;
/// Steps recorded, and how many are timed at a stretch: a clock's reading costs as much as a step.
const STEPS: usize = 10_000;
const STRETCH: usize = 100;

/// The loop in fine hold, and what it is told over the next steps of the closed loop.
#[derive(Clone, Debug)]
pub struct InHold {
    /// The attitude loop.
    pub attitude: Attitude,
    /// What it is told.
    pub inputs: Vec<Input>,
}

impl InHold {
    /// Flies a scenario without programme to fine hold, and on.
    ///
    /// # Errors
    /// [`TrialError`].
    pub fn of(loaded: &Loaded, settings: &Settings, seed: u64) -> Result<Self, TrialError> {
        let mut flight = Trial::new(loaded, settings, seed).idle(PATIENCE_S + 500.0).start()?;
        while flight.controller.mode() != Mode::Fine && flight.time_s() < PATIENCE_S {
            tick(&mut flight)?;
        }
        let attitude = flight.controller.attitude_loop().clone();
        let mut inputs = Vec::with_capacity(STEPS);
        while inputs.len() < STEPS {
            tick(&mut flight)?;
            let now = flight.plant.ticks();
            if now.is_multiple_of(u64::from(ATTITUDE_TICKS)) {
                inputs.push(flight.controller.attitude_input(now as u32));
            }
        }
        Ok(Self { attitude, inputs })
    }

    /// Median over stretches of the time of a step and the valve timers' two ticks, ns.
    pub fn median_ns(&self) -> f64 {
        let mut attitude = self.attitude.clone();
        let mut stretches: Vec<f64> = self
            .inputs
            .chunks_exact(STRETCH)
            .map(|inputs| {
                let from = Instant::now();
                for input in inputs {
                    attitude.step(black_box(input));
                    for _ in 0..ATTITUDE_TICKS {
                        black_box(attitude.valves());
                    }
                }
                from.elapsed().as_secs_f64() * 1e9 / STRETCH as f64
            })
            .collect();
        stretches.sort_by(f64::total_cmp);
        stretches.get(stretches.len() / 2).copied().unwrap_or(f64::NAN)
    }
}

/// Median cost of an attitude step in fine hold on this computer, ns.
///
/// # Errors
/// [`TrialError`].
pub fn step_ns(loaded: &Loaded, settings: &Settings, seed: u64) -> Result<f64, TrialError> {
    Ok(InHold::of(loaded, settings, seed)?.median_ns())
}
