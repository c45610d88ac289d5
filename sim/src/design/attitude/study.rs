//! The whole study, in the order of the work: see the vehicle, propose, fly what is in hand and what is proposed,
//! sweep around it, choose, find the limits of the choice.

use super::{
    capture::{self, Capture},
    cost,
    describing::Relay,
    document::{AxisFacts, Candidate, Compared, Document, STUDY_FORMAT},
    keys::{AXES, get},
    loop_margins::{Linear, margins},
    measure::{Goals, Measured, measure},
    predict::{AxisPrediction, predict},
    propose::{Choice, propose},
    riccati::RiccatiError,
    stress::{self, Doubt},
    subject::Subject,
    sweep::{self, Knob, Plan, SweepError},
    trial::{Trial, TrialError},
};
use crate::{
    flight::settings::SettingsFile,
    record::summary::{Bound, Criterion},
    scenario::{
        Loaded,
        parts::command::Action,
        settings::{digest, text_digest},
    },
};
use std::path::PathBuf;
use stillframe_controller::settings::Settings;
use thiserror::Error;

/// Flight that shows the disturbances, s: capture and an orbit and a half.
const SIGHT_S: f64 = 10_000.0;
/// Undisturbed flight, s.
const FREE_S: f64 = 40_000.0;
/// Captures are flown up to this rate about each axis, rad/s.
pub const CAPTURE_RAD_S: f64 = 0.052_359_877_559_829_88;
/// Bursts of a sweep's flight: first, and from one to the next, s.
const BURSTS_S: (f64, f64) = (2_700.0, 480.0);

/// How much of a study is done.
#[derive(Clone, Debug)]
pub struct Options {
    /// Seed of all random draws.
    pub seed: u64,
    /// Rates asked for in exposures.
    pub goals: Goals,
    /// Points of the sweep; 0 for none.
    pub points: u64,
    /// Settings to vary; empty for the usual ones.
    pub knobs: Vec<Knob>,
    /// Side of the capture map; 0 for none.
    pub map_side: usize,
    /// Random captures; 0 for none.
    pub captures: u64,
    /// Rounds of bisection for each limit; 0 for no limits.
    pub rounds: u32,
    /// Longest flight of the scenario's programme, s.
    pub held_s: f64,
    /// Point of the sweep to take in place of the study's own choice.
    pub take: Option<u64>,
    /// Folder for the sweep's rows.
    pub out: PathBuf,
}

/// Why a study ends.
#[derive(Debug, Error)]
pub enum StudyError {
    /// A trial cannot be flown.
    #[error(transparent)]
    Trial(#[from] TrialError),
    /// The noise model has no steady filter.
    #[error("observer gains cannot be worked out: {0}. Give horizon sensor and gyros some noise in the scenario")]
    Noise(#[from] RiccatiError),
    /// The sweep cannot be flown.
    #[error(transparent)]
    Sweep(#[from] SweepError),
    /// The point to be taken is not among those flown.
    #[error("point {0} was not flown; the sweep has points 0 to {1}")]
    NoPoint(u64, u64),
    /// The vehicle never reached hold with what was proposed.
    #[error(
        "the vehicle never reached fine hold with the settings proposed, so its disturbances cannot be seen: check jets, inertia and horizon range"
    )]
    NoHold,
}

/// A finished study.
#[derive(Clone, Debug)]
pub struct Study {
    /// Everything in numbers.
    pub document: Document,
    /// Settings of each candidate, in the document's order.
    pub settings: Vec<Settings>,
    /// Vehicle.
    pub subject: Subject,
    /// Linear part and relay of each axis of the chosen settings.
    pub loops: [(Linear, Relay); 3],
}

/// Hears of progress: what is done now, steps done, steps in all.
pub trait Listener: Sync {
    /// A part of the study begins, with so many steps.
    fn part(&self, name: &str, steps: u64);
    /// One step is done.
    fn step(&self);
}

/// Does the study of `loaded` under the settings `in_hand`; `other` is a second set to be compared.
///
/// # Errors
/// [`StudyError`].
pub fn study(
    loaded: &Loaded,
    in_hand: &Settings,
    other: Option<(String, Settings)>,
    options: &Options,
    hear: &impl Listener,
) -> Result<Study, StudyError> {
    let built = Trial::new(loaded, in_hand, options.seed).built()?;
    let unseen = Subject::new(loaded, &built, in_hand);
    hear.part("seeing the disturbances", 1);
    let (subject, proposed, proposal) = see(loaded, in_hand, unseen, options)?;
    hear.step();
    let mut bench = Bench { loaded, subject: &subject, options };
    let mut settings = vec![("in hand".to_owned(), in_hand.clone())];
    settings.extend(other);
    settings.push(("proposed".to_owned(), proposed.clone()));
    let knobs = if options.knobs.is_empty() { sweep::usual_knobs(&proposed) } else { options.knobs.clone() };
    sweep::check_knobs(&proposed, &knobs)?;
    let points = bench.sweep(&proposed, &knobs, hear)?;
    let taken = match options.take {
        Some(number) => {
            Some(points.iter().find(|p| p.number == number).ok_or(StudyError::NoPoint(number, options.points))?)
        }
        None => sweep::chosen(&points),
    };
    if let Some(point) = taken.filter(|point| point.number > 0) {
        settings.push((format!("point {}", point.number), sweep::settings_at(&proposed, &knobs, point.number)));
    }
    let chosen = settings.len() - 1;
    hear.part("flying the candidates", settings.len() as u64);
    let mut candidates = Vec::new();
    for (name, set) in &settings {
        candidates.push(bench.candidate(name, set)?);
        hear.step();
    }
    let last = &settings[chosen].1;
    let loops = [0, 1, 2].map(|axis| loop_of(&subject, last, axis));
    let limits = bench.limits(last, hear)?;
    let (capture_map, captures) = bench.captures(last, hear)?;
    if let Some(candidate) = candidates.get_mut(chosen) {
        candidate.criteria.extend(capture_criteria(&captures));
    }
    let end = predict(&subject, last, loaded.scenario.vehicle.tip_off_rad_s);
    let document = Document {
        format: STUDY_FORMAT,
        scenario: loaded.scenario.run.name.clone(),
        vehicle: loaded.scenario.run.vehicle.clone(),
        seed: options.seed,
        scenario_hash: format!("{:08x}", text_digest(&loaded.text)),
        program_version: env!("CARGO_PKG_VERSION").into(),
        axes: (0..3).map(|axis| facts(&subject, axis, &end)).collect(),
        proposal,
        candidates,
        chosen,
        margins: loops.iter().map(|(linear, relay)| margins(linear, relay)).collect(),
        limits,
        front: sweep::front(&points).iter().map(|point| point.number).collect(),
        knobs: if points.is_empty() { Vec::new() } else { knobs },
        points,
        capture_map,
        captures,
        step_ns: cost::step_ns(loaded, last, options.seed)?,
    };
    Ok(Study { document, settings: settings.into_iter().map(|(_, set)| set).collect(), subject, loops })
}

/// Two rounds: settings proposed without knowing the disturbances fly the vehicle for an orbit, which shows them.
fn see(
    loaded: &Loaded,
    in_hand: &Settings,
    unseen: Subject,
    options: &Options,
) -> Result<(Subject, Settings, Vec<Choice>), StudyError> {
    let (first, _) = propose(&unseen, in_hand)?;
    let jets = unseen.jets();
    let trial = Trial::new(loaded, &first, options.seed).idle(SIGHT_S);
    let seen = measure(&trial, &jets, &options.goals, 0.0, SIGHT_S)?;
    if seen.capture_s.is_none() {
        return Err(StudyError::NoHold);
    }
    let subject = unseen.met(seen.disturbance);
    let (proposed, proposal) = propose(&subject, in_hand)?;
    Ok((subject, proposed, proposal))
}

struct Bench<'a> {
    loaded: &'a Loaded,
    subject: &'a Subject,
    options: &'a Options,
}

impl Bench<'_> {
    fn sweep(
        &mut self,
        base: &Settings,
        knobs: &[Knob],
        hear: &impl Listener,
    ) -> Result<Vec<sweep::Point>, StudyError> {
        if self.options.points == 0 {
            return Ok(Vec::new());
        }
        hear.part("sweeping", self.options.points + 1);
        let plan = Plan {
            flight_s: BURSTS_S.0 + 12.0 * BURSTS_S.1 + 60.0,
            from_s: BURSTS_S.0,
            every_s: BURSTS_S.1,
            points: self.options.points,
            seed: self.options.seed,
        };
        let file = self.options.out.join("sweep.csv");
        let step = || hear.step();
        Ok(sweep::sweep(self.loaded, base, self.subject, knobs, &plan, &self.options.goals, &file, &step)?)
    }

    fn candidate(&self, name: &str, settings: &Settings) -> Result<Candidate, StudyError> {
        let jets = self.subject.jets();
        let goals = &self.options.goals;
        let (free, held) = rayon::join(
            || {
                let trial = Trial::undisturbed(self.loaded, settings, self.options.seed, FREE_S);
                measure(&trial, &jets, goals, 0.0, FREE_S)
            },
            || {
                let trial = self.programme(settings);
                let until_s = trial.loaded.scenario.run.duration_s;
                measure(&trial, &jets, goals, 0.0, until_s)
            },
        );
        let (free, held) = (free?, held?);
        let prediction = predict(self.subject, settings, self.loaded.scenario.vehicle.tip_off_rad_s);
        Ok(Candidate {
            name: name.to_owned(),
            settings_hash: format!("{:08x}", digest(&SettingsFile(settings.clone()))),
            compared: compared(&prediction, &free, &held),
            criteria: criteria(&prediction, &free, &held, goals),
            free,
            held,
        })
    }

    /// The scenario's own programme, or bursts of its own if it has none.
    fn programme(&self, settings: &Settings) -> Trial {
        let trial = Trial::new(self.loaded, settings, self.options.seed);
        let photographs = self.loaded.scenario.commands.iter().any(|c| matches!(c.kind, Action::Camera(_)));
        let length_s = self.options.held_s.min(self.loaded.scenario.run.duration_s);
        if photographs {
            trial.with(|scenario| {
                scenario.shorten(length_s);
            })
        } else {
            trial.with_bursts(length_s, BURSTS_S.0, 3.0 * BURSTS_S.1, self.subject.burst_s)
        }
    }

    fn limits(&self, settings: &Settings, hear: &impl Listener) -> Result<Vec<stress::Limit>, StudyError> {
        if self.options.rounds == 0 {
            return Ok(Vec::new());
        }
        hear.part("finding limits", Doubt::ALL.len() as u64);
        let jets = self.subject.jets();
        let bench = stress::Bench { loaded: self.loaded, settings, seed: self.options.seed, jets: &jets };
        Ok(stress::limits(&bench, self.options.rounds, &|| hear.step())?)
    }

    fn captures(&self, settings: &Settings, hear: &impl Listener) -> Result<(Vec<Capture>, Vec<Capture>), StudyError> {
        let (side, seed) = (self.options.map_side, self.options.seed);
        let mut list = if side > 1 { capture::grid(self.loaded, side, CAPTURE_RAD_S) } else { Vec::new() };
        let mapped = list.len();
        list.extend((0..self.options.captures).map(|number| capture::drawn(seed, number, CAPTURE_RAD_S)));
        if list.is_empty() {
            return Ok((Vec::new(), Vec::new()));
        }
        hear.part("capturing", list.len() as u64);
        let step = || hear.step();
        let mut map = capture::fly_all(self.loaded, settings, self.subject, seed, &list, &step)?;
        let random = map.split_off(mapped);
        Ok((map, random))
    }
}

fn facts(subject: &Subject, axis: usize, end: &[AxisPrediction; 3]) -> AxisFacts {
    let of = &subject.axes[axis];
    AxisFacts {
        inertia_kg_m2: of.jets.inertia_kg_m2,
        torque_nm: of.jets.torque_nm,
        lever_m: of.jets.lever_m,
        specific_impulse_s: of.jets.specific_impulse_s,
        least_step_deg_s: (of.jets.acceleration_rad_s2() * of.least_pulse_s).to_degrees(),
        disturbance_mean_nm: of.disturbance_nm.mean_nm,
        disturbance_magnitude_nm: of.disturbance_nm.magnitude_nm,
        disturbance_largest_nm: of.disturbance_nm.largest_nm,
        steady_from_nm: end[axis].steady_from_nm,
        steady: end[axis].steady,
    }
}

/// The sampled relay loop that stands for one axis: the relay's hysteresis is the travel of θ + τω in the least
/// pulse, which makes a plain relay fire just that pulse.
pub fn loop_of(subject: &Subject, settings: &Settings, axis: usize) -> (Linear, Relay) {
    let of = |key: &str| get(settings, &format!("{}.{key}", AXES[axis])).unwrap_or(f64::NAN);
    let linear = Linear {
        acceleration_rad_s2: subject.axes[axis].jets.acceleration_rad_s2(),
        lead_s: of("lead_s"),
        rate_time_s: get(settings, "observer.rate_time_s").unwrap_or(0.0),
        sample_s: subject.law_step_s,
        delay_s: subject.delay_s(axis),
    };
    let on = of("deadband_deg").to_radians();
    let travel = linear.lead_s * linear.acceleration_rad_s2 * of("minimum_pulse_ms") * 1e-3;
    (linear, Relay { level: 1.0, on, off: (on - travel).max(-on) })
}

fn compared(prediction: &[AxisPrediction; 3], free: &Measured, held: &Measured) -> Vec<Compared> {
    const DAY_S: f64 = 86_400.0;
    let mut rows = Vec::new();
    for (axis, name) in AXES.iter().enumerate() {
        let p = &prediction[axis];
        let gas = |flown: &Measured| Some(flown.axes[axis].gas_kg / flown.time_s * DAY_S * 1e3);
        let quiet = |flown: &Measured| Some(flown.axes[axis].quiet_median_s).filter(|s| *s > 0.0);
        let burst = (!held.bursts.is_empty()).then_some(held.axes[axis].rate_rms_deg_s * 1e3);
        let mut row = |what, unit, predicted, measured| rows.push(Compared::new(what, name, unit, predicted, measured));
        row("gas, undisturbed", "g/day", p.free.gas_kg_s * DAY_S * 1e3, gas(free));
        let drifted = p.free.gas_at_drift_kg_s(free.axes[axis].rate_mean_deg_s.to_radians());
        row("gas, undisturbed, at the drift seen", "g/day", drifted * DAY_S * 1e3, gas(free));
        row("time between pulses, undisturbed", "s", p.free.quiet_s, quiet(free));
        row("gas, in the programme", "g/day", p.held.gas_kg_s * DAY_S * 1e3, gas(held));
        row("time between pulses, in the programme", "s", p.held.quiet_s, quiet(held));
        row("rate in exposures, rms", "10⁻³ °/s", p.burst_rate_rad_s.to_degrees() * 1e3, burst);
    }
    let minutes = |s: f64| s / 60.0;
    rows.push(Compared::new(
        "tip-off to fine hold",
        "all",
        "min",
        minutes(prediction[0].capture_s),
        held.capture_s.map(minutes),
    ));
    rows
}

fn at_most(name: String, value: Option<f64>, limit: f64, unit: &str) -> Criterion {
    Criterion { name, value, limit, bound: Bound::AtMost, unit: unit.into() }
}

fn at_least(name: String, value: Option<f64>, limit: f64, unit: &str) -> Criterion {
    Criterion { name, value, limit, bound: Bound::AtLeast, unit: unit.into() }
}

/// What is asked of settings: gas near its minimum, quiet exposures, a true heading.
fn criteria(prediction: &[AxisPrediction; 3], free: &Measured, held: &Measured, goals: &Goals) -> Vec<Criterion> {
    let mut list = Vec::new();
    for (axis, name) in AXES.iter().enumerate().filter(|(axis, _)| prediction[*axis].steady) {
        let flown = &held.axes[axis];
        let ratio = Some(flown.gas_kg / flown.least_kg).filter(|ratio| ratio.is_finite());
        list.push(at_most(format!("Gas about {name} in hold over the momentum minimum"), ratio, 1.15, "1"));
    }
    for (axis, name) in AXES.iter().enumerate() {
        let flown = &free.axes[axis];
        let form_kg_s = prediction[axis].free.gas_at_drift_kg_s(flown.rate_mean_deg_s.to_radians());
        let apart = Some((flown.gas_kg / free.time_s / form_kg_s - 1.0).abs()).filter(|apart| apart.is_finite());
        let name =
            format!("Gas about {name} undisturbed, apart from the closed form of the least pulse at the drift seen");
        list.push(at_most(name, apart, 0.10, "1"));
    }
    let exposed = !held.bursts.is_empty();
    for (axis, name) in AXES.iter().enumerate() {
        let rate = exposed.then_some(held.axes[axis].rate_rms_deg_s);
        let limit = goals.rate_rad_s[axis].to_degrees();
        list.push(at_most(format!("Rate about {name} in exposures, one sigma"), rate, limit, "°/s"));
    }
    let silent = held.bursts.iter().filter(|burst| burst.pulses == 0).count() as f64 / held.bursts.len() as f64;
    list.push(at_least("Share of bursts without a pulse".into(), exposed.then_some(silent), 0.95, "1"));
    let heading = held.yaw_converged_s.is_some();
    list.push(at_most(
        "Error of the yaw estimate in hold, three sigma".into(),
        heading.then_some(held.yaw_error_3sigma_deg),
        0.6,
        "°",
    ));
    let converged = held.yaw_converged_s.map(|s| s / 60.0);
    list.push(at_most("Time until the yaw estimate stays within 0.6°".into(), converged, 45.0, "min"));
    list
}

fn capture_criteria(captures: &[Capture]) -> Vec<Criterion> {
    if captures.is_empty() {
        return Vec::new();
    }
    let share = |good: fn(&Capture) -> bool| {
        Some(captures.iter().filter(|capture| good(capture)).count() as f64 / captures.len() as f64)
    };
    let of = format!("of {} random tip-offs up to 3 °/s", captures.len());
    vec![
        at_least(format!("Share captured {of}"), share(Capture::captured), 1.0, "1"),
        at_least(format!("Share within 1.5 × the least gas {of}"), share(Capture::within_gas), 1.0, "1"),
    ]
}
