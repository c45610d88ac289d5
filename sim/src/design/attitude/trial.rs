//! Trials: a scenario with settings and a few changes, flown by the real controller in the real plant, without a
//! record.

use crate::{
    flight::{
        build::{BuildError, Built, build},
        closed_loop::ClosedLoop,
        link::Link,
        settings::SettingsFile,
    },
    plant::{PlantError, faults::FaultSchedule},
    scenario::{
        Loaded, Scenario,
        parts::command::{Action, CameraOn, Command, CommandTime, Slit},
        read::tagged::Tagged,
        settings::write_settings,
    },
};
use stillframe_controller::settings::Settings;
use thiserror::Error;

/// Why a trial could not be flown.
#[derive(Debug, Error)]
pub enum TrialError {
    /// It could not be built.
    #[error(transparent)]
    Build(#[from] BuildError),
    /// The plant could not go on.
    #[error("the flight cannot go on: {0}")]
    Plant(#[from] PlantError),
}

/// A scenario to be flown with settings of the study.
#[derive(Clone, Debug)]
pub struct Trial {
    /// What is flown.
    pub loaded: Loaded,
    /// Seed of all noise.
    pub seed: u64,
}

impl Trial {
    /// `loaded` under `settings`, without its faults.
    pub fn new(loaded: &Loaded, settings: &Settings, seed: u64) -> Self {
        let mut loaded = loaded.clone();
        loaded.settings = Some(("settings of the study".into(), write_settings(&SettingsFile(settings.clone()))));
        loaded.scenario.faults.clear();
        Self { loaded, seed }
    }

    /// For `duration_s` with nothing in its programme, and nothing pushes and nothing steers.
    pub fn undisturbed(loaded: &Loaded, settings: &Settings, seed: u64, duration_s: f64) -> Self {
        let mut settings = settings.clone();
        settings.steering.crab = 0;
        Self::new(loaded, &settings, seed).idle(duration_s).with(|scenario| {
            scenario.world.aerodynamics = false;
            scenario.world.gravity_gradient = false;
            scenario.world.sunlight = false;
            scenario.world.magnetic_field = false;
        })
    }

    /// With a change to the scenario.
    pub fn with(mut self, change: impl FnOnce(&mut Scenario)) -> Self {
        change(&mut self.loaded.scenario);
        self
    }

    /// For `duration_s`, with nothing in its programme.
    pub fn idle(self, duration_s: f64) -> Self {
        self.with(|scenario| {
            scenario.commands.clear();
            scenario.run.duration_s = duration_s;
        })
    }

    /// For `duration_s`, with a burst of `for_s` every `every_s` from `from_s` on in place of its programme.
    pub fn with_bursts(self, duration_s: f64, from_s: f64, every_s: f64, for_s: f64) -> Self {
        let mut trial = self.idle(duration_s);
        let count = ((duration_s - from_s - for_s) / every_s).max(0.0) as usize;
        trial.loaded.scenario.commands = (0..count).map(|k| burst(from_s + k as f64 * every_s, for_s)).collect();
        trial
    }

    /// Builds plant and controller.
    ///
    /// # Errors
    /// [`TrialError::Build`].
    pub fn built(&self) -> Result<Built, TrialError> {
        Ok(build(&self.loaded, self.seed)?)
    }

    /// The closed loop at the start.
    ///
    /// # Errors
    /// [`TrialError::Build`].
    pub fn start(&self) -> Result<ClosedLoop, TrialError> {
        let built = self.built()?;
        let link = Link::new(&self.loaded.scenario, self.seed, &built.load);
        Ok(ClosedLoop::new(built.plant, built.controller, link, FaultSchedule::new(&self.loaded.scenario)))
    }
}

fn burst(at_s: f64, for_s: f64) -> Command {
    Tagged {
        common: CommandTime { utc: None, after_start_s: Some(at_s) },
        kind: Action::Camera(CameraOn { for_s, slit: Slit::Auto, interval_s: None }),
    }
}

/// Goes one tick on.
///
/// # Errors
/// [`TrialError::Plant`].
pub fn tick(flight: &mut ClosedLoop) -> Result<crate::flight::closed_loop::TickOutcome, TrialError> {
    Ok(flight.tick(&[], &mut |_, _| {})?)
}
