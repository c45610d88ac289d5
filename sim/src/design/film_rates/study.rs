//! The whole study, and what it comes to.

use super::{
    Blunder, Mission, Options, blunders,
    points::{self, Point},
    runs::runs,
    samples::{Bin, Sample, bins, spread},
    summary::{BinSummary, DriveSummary, FORMAT, FilmRates, Range, Statistics},
    sums,
    table::tables,
    worst::worst,
};
use crate::{
    flight::build::BuildError,
    passes::rate_fit::FitError,
    scenario::{Loaded, parts::camera::CameraKind},
    world::orbit::OrbitError,
};
use std::time::Instant;
use stillframe_controller::programme::load::LoadError;
use thiserror::Error;

/// Why a study cannot be made.
#[derive(Debug, Error)]
pub enum FilmRatesError {
    /// Settings or orbit were refused.
    #[error(transparent)]
    Build(#[from] BuildError),
    /// A predicted orbit comes down.
    #[error("a predicted orbit ends within its load: {0}")]
    Orbit(#[from] OrbitError),
    /// The camera looks past the Earth.
    #[error("the camera would not see the Earth {at_s:.0} s after the start: tilt it less")]
    EarthMissed {
        /// When.
        at_s: f64,
    },
    /// No programme can follow the speed.
    #[error("no film rate programme: {0}")]
    Fit(#[from] FitError),
    /// The flight code refused a load.
    #[error("the flight code refused the load of a run {at_s:.0} s after the start: {why:?}")]
    Load {
        /// When.
        at_s: f64,
        /// Why.
        why: LoadError,
    },
    /// Nothing was exposed.
    #[error("no film ran under an open shutter: {0}")]
    NothingRan(String),
    /// A record could not be read.
    #[error("{0}")]
    Record(String),
}

/// A study that was made.
#[derive(Debug)]
pub struct Study {
    /// What it came to.
    pub summary: FilmRates,
    /// Every point; empty for a record.
    pub points: Vec<Point>,
    /// Samples of film under an open shutter.
    pub samples: Vec<Sample>,
}

/// Makes the study. `progress` is told the share done, from any thread.
///
/// # Errors
/// [`FilmRatesError`].
pub fn study(loaded: &Loaded, options: &Options, progress: &(dyn Fn(f64) + Sync)) -> Result<Study, FilmRatesError> {
    let clock = Instant::now();
    let mission = Mission::new(loaded, options.duration_s, options.tilt_rad)?;
    progress(0.05);
    let tables = tables(&mission, options)?;
    progress(0.2);
    let points = points::points(&mission, &tables, options);
    progress(0.3);
    let made = runs(&mission, &tables, options, &|share| progress(0.3 + 0.65 * share))?;
    let samples: Vec<Sample> = made.iter().flat_map(|made| made.samples.iter().copied()).collect();
    if samples.is_empty() {
        let why = "the flight code never had valid film, or nothing was lit";
        return Err(FilmRatesError::NothingRan(why.into()));
    }
    let mut summary = FilmRates {
        required: sums::required(&mission, &points),
        programme: Some(sums::programme(&mission, &tables, &points, options)),
        exposure: sums::exposure(&points, options),
        cycle: made.iter().filter_map(|made| made.cycle.map(|c| sums::cycle_summary(&c, made.on_s))).collect(),
        worst: worst(&mission, &tables, &samples, options),
        relief: Some(blunders::relief(&mission, &points, options.relief_m)),
        tilts: sums::lowest(&points).map_or_else(Vec::new, |point| blunders::tilts(&mission, point.time_s)),
        blunders: blunders::blunders(&points, points::wanted_exposure_s(&mission)),
        days: mission.end_s / 86_400.0,
        down_after_days: mission.down_s.map(|down_s| down_s / 86_400.0),
        source: "simulated drive".into(),
        ..judged(loaded, &samples, options)
    };
    sums::thin(&mut summary.cycle);
    sums::drive_of_runs(&mut summary.drive, &mission, &made);
    summary.criteria = sums::criteria(&summary, options);
    summary.wall_s = clock.elapsed().as_secs_f64();
    progress(1.0);
    Ok(Study { summary, points, samples })
}

/// What samples alone tell, whoever made them.
pub(super) fn judged(loaded: &Loaded, samples: &[Sample], options: &Options) -> FilmRates {
    let scenario = &loaded.scenario;
    let day = |bin: &Bin| format!("day {}", bin.from as i64 + 1);
    let latitude = |bin: &Bin| format!("{} to {}°", bin.from, bin.to);
    let height = |bin: &Bin| format!("{} to {} km", bin.from, bin.to);
    let binned = |width: f64, key: fn(&Sample) -> f64, name: &dyn Fn(&Bin) -> String| {
        let bins = bins(samples, width, key);
        bins.iter().map(|bin| bin_summary(name(bin), &bin.samples, options)).collect::<Vec<_>>()
    };
    FilmRates {
        format: FORMAT,
        scenario: scenario.run.name.clone(),
        camera: if matches!(scenario.camera.kind, CameraKind::Strip(_)) { "strip" } else { "frame" }.into(),
        blunder: options.blunder.map(|blunder| {
            match blunder {
                Blunder::OrbitalRate => "orbital rate left out",
                Blunder::Crab => "crab not corrected",
                Blunder::Direction => "film reversed",
            }
            .into()
        }),
        drive: drive_of_samples(samples),
        by_day: binned(1.0, |s| s.time_s / 86_400.0, &day),
        by_latitude: binned(20.0, |s| s.latitude_deg, &latitude),
        by_height: binned(5.0, |s| s.height_m * 1e-3, &height),
        ..FilmRates::default()
    }
}

/// One stretch.
pub(super) fn bin_summary(name: String, samples: &[Sample], options: &Options) -> BinSummary {
    let error = spread(samples.iter().map(Sample::error));
    let percent = |value: f64| 100.0 * value;
    let metered = spread(samples.iter().map(|s| s.metered_m_s / s.required_m_s - 1.0));
    let smear = spread(samples.iter().map(|s| s.smear_m()[0]).filter(|m| m.is_finite()));
    BinSummary {
        name,
        samples: samples.len(),
        required_mm_s: Range::of(samples.iter().map(|s| s.required_m_s * 1e3)).unwrap_or_default(),
        commanded_three_sigma_percent: percent(spread(samples.iter().map(Sample::commanded_error)).three_sigma),
        mean_percent: percent(error.mean),
        three_sigma_percent: percent(error.three_sigma),
        worst_percent: percent(error.worst),
        metered_three_sigma_percent: percent(metered.three_sigma),
        smear_three_sigma_um: smear.three_sigma * 1e6,
        met: error.three_sigma <= options.budget.rate,
    }
}

fn drive_of_samples(samples: &[Sample]) -> DriveSummary {
    let percent = |of: &dyn Fn(&Sample) -> f64| Statistics::scaled(&spread(samples.iter().map(of)), 100.0);
    let um = |k: usize| Statistics::scaled(&spread(samples.iter().map(|s| s.smear_m()[k])), 1e6);
    DriveSummary {
        error_percent: percent(&Sample::error),
        metered_percent: percent(&|s| s.metered_m_s / s.required_m_s - 1.0),
        commanded_percent: percent(&Sample::commanded_error),
        smear_along_um: um(0),
        smear_across_um: um(1),
        ..DriveSummary::default()
    }
}
