//! The whole study.

use super::{commands, document::Document, facts::facts};
use crate::{
    flight::build::{self, BuildError, Built, speeds},
    passes::{
        plan::{self, Plan, Subject, choose::ChoiceError, windows::TrackPoint},
        programme::Tools,
    },
    scenario::{
        Loaded, Scenario,
        parts::{command::Action, ground::Area},
    },
};
use thiserror::Error;

/// Why nothing was planned.
#[derive(Debug, Error)]
pub enum PlanError {
    /// Settings, orbit or the load made were refused.
    #[error(transparent)]
    Build(#[from] BuildError),
    /// There is nothing to photograph.
    #[error("the scenario has no [[area]]: name a GeoJSON file of areas with --areas")]
    NoAreas,
    /// The choice broke down.
    #[error(transparent)]
    Choice(#[from] ChoiceError),
}

/// A plan with all that it was made from.
pub struct Study {
    /// The scenario: areas as planned for, the plan's commands among those that stay.
    pub loaded: Loaded,
    /// Where the areas came from.
    pub areas_from: String,
    /// The plan.
    pub plan: Plan,
    /// The vehicle, orbit, settings.
    pub built: Built,
    /// What was known of the vehicle.
    pub facts: plan::Facts,
    /// Ground track.
    pub track: Vec<TrackPoint>,
    /// The plan for programs.
    pub document: Document,
}

impl Study {
    /// The scenario as planned.
    pub fn scenario(&self) -> &Scenario {
        &self.loaded.scenario
    }

    /// Scenario and vehicle of the plan, without the return's commands.
    pub fn subject(&self) -> Subject<'_> {
        subject(&self.loaded.scenario, &self.built, self.facts)
    }
}

fn subject<'a>(scenario: &'a Scenario, built: &'a Built, facts: plan::Facts) -> Subject<'a> {
    let tools = Tools {
        prediction: &built.prediction,
        camera: &built.camera,
        speeds: speeds(&built.settings),
        start: built.start,
    };
    Subject { scenario, tools, facts }
}

/// Plans for a scenario, over its own areas or others (with the name of their file).
///
/// Camera commands of the scenario make way; changes of hold and the film's cutting stay. Faults are left out: the
/// ground does not know of them.
///
/// # Errors
/// [`PlanError`].
pub fn study(loaded: &Loaded, areas: Option<(String, Vec<Area>)>) -> Result<Study, PlanError> {
    let mut loaded = loaded.clone();
    let areas_from = areas.as_ref().map_or_else(|| loaded.name.clone(), |(name, _)| name.clone());
    if let Some((_, areas)) = areas {
        loaded.scenario.areas = areas;
    }
    if loaded.scenario.areas.is_empty() {
        return Err(PlanError::NoAreas);
    }
    loaded.scenario.faults.clear();
    loaded.scenario.commands.retain(|command| !matches!(command.kind, Action::Camera(_)));
    let built = build::build(&loaded, loaded.scenario.run.seed)?;
    let facts = facts(&loaded, &built)?;
    let (plan, track) = {
        // The return has commands of its own: sealing, and the turn.
        let with_return = built.home.as_ref().map(|home| home.with_commands(&loaded.scenario));
        let subject = subject(with_return.as_ref().unwrap_or(&loaded.scenario), &built, facts);
        (plan::plan(&subject)?, plan::windows::track(&subject))
    };
    loaded.scenario.commands = commands::programme(&loaded.scenario, plan.flown());
    // The flight's own way from scenario to load, with the flight code's judgement at its end; settings that are fitted
    // to the programme are fitted to this one.
    let built = build::build(&loaded, loaded.scenario.run.seed)?;
    let mut study = Study { loaded, areas_from, plan, built, facts, track, document: Document::default() };
    study.document = Document::of(&study);
    Ok(study)
}
