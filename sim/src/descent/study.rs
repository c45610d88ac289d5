//! The whole study: from a scenario, or from a state at ignition, to footprint and page.

use std::time::Instant;

use jiff::{SignedDuration, Timestamp};
use thiserror::Error;

use super::aim::{self, Pass};
use super::dispersions::{self, Axis, Off};
use super::document::Descent;
use super::fall::{End, Fall};
use super::footprint::{Ellipse, Landing, Many, landings};
use super::ground::{Along, azimuth_rad, below};
use super::integrate::Closeness;
use super::model::{AtRetro, Faults, Model};
use super::recovery::Timers;
use super::repredict::{Before, LateFacts, News, Region, region};
use super::sensitivity::{AngleScan, Column, angle_scan, matrix};
use super::summary;
use crate::flight::build::{BuildError, drag_area_m2, forces, mass_parameters, start_state};
use crate::scenario::Loaded;
use crate::world::ellipsoid::Geodetic;
use crate::world::ephemeris::Ephemeris;
use crate::world::frames::EarthRotation;
use crate::world::kepler::State;
use crate::world::orbit::{Orbit, OrbitError};
use crate::world::time::{TimeError, Utc};

/// Why there is no descent to show.
#[derive(Debug, Error)]
pub enum DescentError {
    /// The scenario brings nothing home.
    #[error("{0} has no [{1}]: nothing comes home. `stillframe new FILE` writes a scenario that has one")]
    Nothing(String, &'static str),
    /// The start is outside the time table.
    #[error(transparent)]
    Time(#[from] TimeError),
    /// The orbit's start is refused.
    #[error(transparent)]
    Build(#[from] BuildError),
    /// The orbit ends before the window does.
    #[error("the predicted orbit ends before the window of return.latest_h: {0}")]
    Orbit(#[from] OrbitError),
    /// No pass reaches the zone.
    #[error(
        "no pass from {from_h} h to {to_h} h lands within {across_km:.0} km of the zone's centre: widen return.earliest_h, latest_h or most_across_km, or move the zone"
    )]
    NoPass {
        /// Begin of the window, h.
        from_h: f64,
        /// End, h.
        to_h: f64,
        /// Limit across, km.
        across_km: f64,
    },
    /// A pass was asked for that there is not.
    #[error("there is no pass {asked}: {there} pass(es) reach the zone's neighbourhood")]
    NoSuchPass {
        /// Number asked for.
        asked: usize,
        /// How many there are.
        there: usize,
    },
    /// News of a time that the predicted orbit does not reach.
    #[error(
        "a retro heard {time_h:.2} h after the run's start lies outside the predicted orbit, {from_h:.2} to {to_h:.2} h: check the date"
    )]
    HeardElsewhen {
        /// Time of the news, h.
        time_h: f64,
        /// Begin of the prediction, h.
        from_h: f64,
        /// Its end, h.
        to_h: f64,
    },
    /// The nominal descent does not come down.
    #[error(
        "the capsule does not come down, or never feels the g-switch's level: check retro.impulse_n_s, retro_angle_deg and g_switch"
    )]
    StaysUp,
}

/// What is to be looked at.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// Descents flown for the footprint.
    pub runs: u32,
    /// Seed in place of the scenario's.
    pub seed: Option<u64>,
    /// Pass to use, counted from 1; left out: the one that misses least.
    pub pass: Option<usize>,
    /// Retro angle in place of the plan's, rad.
    pub angle_rad: Option<f64>,
    /// Failures to suffer.
    pub faults: Faults,
    /// Late news.
    pub late: Option<LateFacts>,
    /// Time of the run, s, and inertial state at which the vehicle was found; left out: the scenario's own start.
    pub found: Option<(f64, State)>,
}

impl Default for Options {
    /// Two thousand descents of the best pass, nothing wrong, no news.
    fn default() -> Self {
        Self {
            runs: 2_000,
            seed: None,
            pass: None,
            angle_rad: None,
            faults: Faults::default(),
            late: None,
            found: None,
        }
    }
}

/// Descents from one state at ignition.
#[derive(Clone, Debug)]
pub struct Descents {
    /// Ignition.
    pub at: AtRetro,
    /// Timers fitted to it.
    pub timers: Timers,
    /// The descent with nothing off and no fault, every step kept.
    pub nominal: Fall,
    /// The same with the model's faults, if it has any.
    pub faulty: Option<Fall>,
    /// Nominal landing place and direction of the track there: what offsets are counted from.
    pub along: Along,
    /// What may be off.
    pub axes: Vec<Axis>,
    /// Many descents, with the model's faults.
    pub landings: Vec<Landing>,
    /// The ellipse of those that came down.
    pub ellipse: Option<Ellipse>,
    /// What one sigma of each thing does.
    pub columns: Vec<Column>,
}

impl Descents {
    /// The descent to show: with faults, if there are any.
    pub fn shown(&self) -> &Fall {
        self.faulty.as_ref().unwrap_or(&self.nominal)
    }
}

/// Nominal descent and footprint from a state at ignition: for whoever has flown there by other means.
///
/// # Errors
/// If the nominal descent does not come down.
pub fn from_state(
    model: &Model,
    at: &AtRetro,
    axes: &[Axis],
    (runs, seed): (u32, u64),
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Descents, DescentError> {
    let timers = model.timers(at).ok_or(DescentError::StaysUp)?;
    let healthy = model.healthy();
    let nominal = healthy.fall(at, &Off::default(), &timers, Closeness::SHOWN, true);
    if nominal.end != End::Down {
        return Err(DescentError::StaysUp);
    }
    let fast = nominal.most_g.at.at;
    let last = nominal.last.at;
    let along = Along {
        origin: below(&last.position_m(), last.t_s, &model.earth),
        azimuth_rad: azimuth_rad(&fast.position_m(), &fast.velocity_m_s(), fast.t_s, &model.earth),
    };
    let faulty = model.faults.any().then(|| model.fall(at, &Off::default(), &timers, Closeness::SHOWN, true));
    let columns = matrix(&healthy, at, &timers, axes, &along);
    progress(0.1);
    let many = Many { model, at, timers: &timers, axes, along: &along, seed, runs };
    let landings = landings(&many, &|share| progress(0.1 + 0.9 * share));
    let offsets: Vec<[f64; 2]> = landings.iter().filter(|l| l.down).map(|l| l.offset_m).collect();
    let ellipse = Ellipse::of(&offsets, model.plan.confidence);
    Ok(Descents { at: *at, timers, nominal, faulty, along, axes: axes.to_vec(), landings, ellipse, columns })
}

/// A study that was made.
#[derive(Clone, Debug)]
pub struct Study {
    /// What it came to.
    pub summary: Descent,
    /// Capsule and plan.
    pub model: Model,
    /// Passes that could be used.
    pub passes: Vec<Pass>,
    /// Which of them is.
    pub used: usize,
    /// The descents.
    pub descents: Descents,
    /// Range against retro angle.
    pub scan: AngleScan,
    /// Where it may be after late news.
    pub region: Option<Region>,
    /// Start of the run.
    pub start: Timestamp,
}

impl Study {
    /// Whether a place lies in the recovery zone.
    pub fn in_zone(&self, place: &Geodetic) -> bool {
        summary::in_zone(self, place)
    }

    /// UTC of a time of the run, to the hundredth of a second.
    pub fn utc(&self, t_s: f64) -> String {
        utc(self.start, t_s)
    }
}

/// UTC of `t_s` after `start`, to the hundredth of a second.
pub fn utc(start: Timestamp, t_s: f64) -> String {
    let hundredths = (t_s * 100.0).round() as i64;
    let at = start + SignedDuration::from_millis(10 * hundredths);
    at.strftime("%Y-%m-%dT%H:%M:%S%.2fZ").to_string()
}

/// The capsule, the return and the Earth of a scenario.
///
/// # Errors
/// If the scenario brings nothing home.
pub fn model(loaded: &Loaded) -> Result<Model, DescentError> {
    let scenario = &loaded.scenario;
    let start = Utc::parse(&scenario.run.start.to_string())?;
    let earth = EarthRotation::at_start(start, scenario.run.ut1_minus_utc_s);
    let missing = if scenario.capsule.is_none() { "capsule" } else { "return" };
    Model::new(scenario, earth).ok_or_else(|| DescentError::Nothing(loaded.name.clone(), missing))
}

/// Step of the predicted orbit, s: centimetres a day.
const ORBIT_STEP_S: f64 = 10.0;

/// The orbit as the ground predicts it, from the scenario's start or from where the vehicle was found, to the end of the
/// window.
fn path(loaded: &Loaded, found: Option<(f64, State)>, until_s: f64) -> Result<Ephemeris, DescentError> {
    let scenario = &loaded.scenario;
    let start = Utc::parse(&scenario.run.start.to_string())?;
    let (from_s, state) = match found {
        Some(found) => found,
        None => (0.0, start_state(loaded, start)?),
    };
    let film = &scenario.film;
    let film_kg = film.density_kg_m3 * film.width_m * film.thickness_m * film.load_m;
    let mass_kg = mass_parameters(scenario).with(film_kg, 0.0, scenario.tank.gas_kg).mass_kg;
    // The ground predicts with the standard atmosphere: it does not know the true density.
    let mut forces = forces(scenario, 1.0);
    forces.drag_area_per_mass_m2_kg = drag_area_m2(scenario, &state) / mass_kg;
    let orbit = Orbit::new(forces, state, from_s, ORBIT_STEP_S)?;
    Ok(Ephemeris::predict(&orbit, until_s)?)
}

/// The return as far as it can be planned: which pass, and when the motor is lit.
#[derive(Clone, Debug)]
pub struct Planned {
    /// Capsule and plan, without faults.
    pub model: Model,
    /// Passes that could be used.
    pub passes: Vec<Pass>,
    /// Which of them is.
    pub used: usize,
    /// The orbit as the ground predicts it.
    path: Ephemeris,
}

impl Planned {
    /// State at ignition.
    pub fn at(&self) -> AtRetro {
        self.passes[self.used].at
    }

    /// The same plan with its pass aimed by another search: the other passes stay as they were seen.
    #[must_use]
    pub fn aimed_by(mut self, anew: Self) -> Self {
        if let (Some(pass), Some(other)) = (self.passes.get_mut(self.used), anew.passes.get(anew.used)) {
            *pass = *other;
            self.path = anew.path;
        }
        self
    }

    /// Time at which the capsule leaves the vehicle, s from the start of the run.
    pub fn separation_s(&self) -> f64 {
        self.at().time_s - self.model.plan.separation_s
    }
}

/// Plans the return: the pass that misses least, or the one asked for.
///
/// # Errors
/// [`DescentError`].
pub fn planned(loaded: &Loaded, options: &Options) -> Result<Planned, DescentError> {
    let mut model = model(loaded)?;
    if let Some(angle_rad) = options.angle_rad {
        model.plan.retro_angle_rad = angle_rad;
    }
    if let Some((found_s, _)) = options.found {
        model.plan.earliest_s = model.plan.earliest_s.max(found_s + model.plan.separation_s);
    }
    let path = path(loaded, options.found, model.plan.latest_s + 60.0)?;
    heard_within(&path, options)?;
    let open = model.plan.latest_s > model.plan.earliest_s;
    let passes = if open { aim::passes(&model, &path) } else { Vec::new() };
    let used = chosen(&model, &passes, options)?;
    Ok(Planned { model, passes, used, path })
}

/// The study of a plan that has been flown: the footprint is what was expected, and the descent shown is the one flown.
///
/// # Errors
/// If the nominal descent does not come down.
pub fn flown(loaded: &Loaded, planned: &Planned, fall: Fall, options: &Options) -> Result<Study, DescentError> {
    from_plan(loaded, planned.clone(), Some(fall), options, &|_| ())
}

/// Makes the study. `progress` is told the share done, from any thread.
///
/// # Errors
/// [`DescentError`].
pub fn study(loaded: &Loaded, options: &Options, progress: &(dyn Fn(f64) + Sync)) -> Result<Study, DescentError> {
    let planned = planned(loaded, options)?;
    progress(0.2);
    from_plan(loaded, planned, None, options, progress)
}

fn from_plan(
    loaded: &Loaded,
    planned: Planned,
    flown: Option<Fall>,
    options: &Options,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Study, DescentError> {
    let clock = Instant::now();
    let at = planned.at();
    let Planned { mut model, passes, used, path } = planned;
    model.faults = options.faults.clone();
    let seed = options.seed.unwrap_or(loaded.scenario.run.seed);
    let axes = dispersions::axes(&loaded.scenario.dispersions);
    let mut descents = from_state(&model, &at, &axes, (options.runs, seed), &|share| progress(0.2 + 0.5 * share))?;
    if flown.is_some() {
        descents.faulty = flown;
    }
    let scan = angle_scan(&model, &at, &descents.along);
    progress(0.75);
    let region = options.late.as_ref().map(|facts| {
        let heard = match facts.news {
            // The vehicle holds the local frame until it lets the capsule go: another time, another direction.
            News::Heard { time_s, .. } => {
                let (position, velocity) = path.position_velocity(time_s);
                model.at_retro(time_s, position, velocity)
            }
            _ => at,
        };
        let before = Before {
            model: &model,
            at: &heard,
            timers: &descents.timers,
            axes: &axes,
            along: &descents.along,
            runs: options.runs,
            seed,
        };
        region(&before, facts, &|share| progress(0.75 + 0.24 * share))
    });
    let mut made = Study {
        summary: Descent::default(),
        model,
        passes,
        used,
        descents,
        scan,
        region,
        start: loaded.scenario.run.start.0,
    };
    made.summary = summary::summary(&made, &loaded.scenario.run.name, seed, options);
    made.summary.wall_s = clock.elapsed().as_secs_f64();
    progress(1.0);
    Ok(made)
}

/// Refuses news of a time that the path does not cover: reading it there would be guessing.
fn heard_within(path: &Ephemeris, options: &Options) -> Result<(), DescentError> {
    let (from_s, to_s) = path.span_s();
    match options.late.map(|late| late.news) {
        Some(News::Heard { time_s, .. }) if !(from_s..=to_s).contains(&time_s) => {
            Err(DescentError::HeardElsewhen { time_h: time_s / 3600.0, from_h: from_s / 3600.0, to_h: to_s / 3600.0 })
        }
        _ => Ok(()),
    }
}

fn chosen(model: &Model, passes: &[Pass], options: &Options) -> Result<usize, DescentError> {
    let plan = &model.plan;
    let none = DescentError::NoPass {
        from_h: plan.earliest_s / 3600.0,
        to_h: plan.latest_s / 3600.0,
        across_km: plan.most_across_m * 1e-3,
    };
    let best = aim::best(passes).ok_or(none)?;
    match options.pass {
        None => Ok(best),
        Some(asked) if (1..=passes.len()).contains(&asked) => Ok(asked - 1),
        Some(asked) => Err(DescentError::NoSuchPass { asked, there: passes.len() }),
    }
}
