//! The whole study, and what it comes to.

use super::{
    Blunder, Cover, LOWEST_SUN_RAD, Mission, Options,
    blunders,
    cycle::{self, Cycle, PHASES},
    drive::{self, Run, RunPlan, RunTick, TICK_S, run},
    points::{self, Point},
    samples::{Bin, Sample, bins, spread},
    summary::{
        BinSummary, CycleSummary, DriveSummary, ExposureSummary, FORMAT, FilmRates, ProgrammeSummary, Range,
        RequiredSummary, Statistics, TradeSummary, Worst,
    },
    table::{Table, Tables, tables},
};
use crate::{
    flight::build::BuildError,
    imaging::exposure::{Scene, choose_exposure},
    passes::rate_fit::FitError,
    record::summary::{Bound, Criterion},
    scenario::{Loaded, parts::camera::CameraKind},
    world::orbit::OrbitError,
};
use rayon::prelude::*;
use std::{
    sync::atomic::{AtomicUsize, Ordering},
    time::Instant,
};
use stillframe_controller::{exposure::Phase, programme::load::LoadError};
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

/// One run with what was required in it.
struct Made {
    run: Run,
    samples: Vec<Sample>,
    cycle: Option<Cycle>,
    on_s: f64,
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
        required: required(&mission, &points),
        programme: Some(programme(&mission, &tables, &points, options)),
        exposure: exposure(&points, options),
        cycle: made.iter().filter_map(|made| made.cycle.map(|c| cycle_summary(&c, made.on_s))).collect(),
        worst: worst(&mission, &tables, &samples, options),
        relief: Some(blunders::relief(&mission, &points, options.relief_m)),
        tilts: lowest(&points).map_or_else(Vec::new, |point| blunders::tilts(&mission, point.time_s)),
        blunders: blunders::blunders(&points, points::wanted_exposure_s(&mission)),
        days: mission.end_s / 86_400.0,
        down_after_days: mission.down_s.map(|down_s| down_s / 86_400.0),
        source: "simulated drive".into(),
        ..judged(loaded, &samples, options)
    };
    thin(&mut summary.cycle);
    drive_of_runs(&mut summary.drive, &mission, &made);
    summary.criteria = criteria(&summary, options);
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

fn drive_of_runs(drive: &mut DriveSummary, mission: &Mission<'_>, made: &[Made]) {
    let runs = || made.iter().map(|made| &made.run);
    drive.runs = made.len();
    drive.start_up_s = Range::of(runs().filter_map(|run| run.start_up_s));
    drive.run_down_s = Range::of(runs().filter_map(|run| run.run_down_s));
    drive.waste_m = Range::of(runs().map(|run| run.waste_m));
    drive.tension_n = Range::of(runs().flat_map(|run| [run.tension_n.0, run.tension_n.1]));
    drive.never_valid = runs().filter(|run| run.start_up_s.is_none()).count();
    if mission.scenario_is_strip() {
        let step_m_s = mission.grid.step_m_s;
        let found: Vec<[f64; 3]> = runs().filter_map(|run| drive::wow_and_flutter(run, step_m_s)).collect();
        let most = |k: usize| found.iter().map(|f| 100.0 * f[k]).fold(None, |m: Option<f64>, v| Some(m.map_or(v, |m| m.max(v))));
        (drive.wow_percent, drive.flutter_percent, drive.wow_and_flutter_percent) = (most(0), most(1), most(2));
    }
}

/// What was asked of the rates.
pub(super) fn criteria(summary: &FilmRates, options: &Options) -> Vec<Criterion> {
    let budget = &options.budget;
    let at_most = |name: &str, value: Option<f64>, limit: f64, unit: &str| Criterion {
        name: name.into(),
        value,
        limit,
        bound: Bound::AtMost,
        unit: unit.into(),
    };
    let drive = &summary.drive;
    let rate = Some(drive.error_percent.three_sigma);
    let mut criteria = vec![at_most("Total film rate error, 3σ", rate, 100.0 * budget.rate, "%")];
    if let Some(programme) = &summary.programme {
        let step = Some(programme.step_percent.max(programme.largest_jump_percent));
        criteria.push(at_most("Film speed steps, drive's and programme's", step, 100.0 * budget.step, "%"));
        let yaw = Some(programme.crab_error_deg.three_sigma);
        criteria.push(at_most("Yaw steering off the crab angle, 3σ", yaw, YAW_DEG, "°"));
    }
    if summary.camera == "strip" && drive.wow_and_flutter_percent.is_some() {
        criteria.push(at_most("Wow and flutter, 3σ, worst run", drive.wow_and_flutter_percent, 100.0 * budget.wow, "%"));
    }
    if let Some(start_up) = &drive.start_up_s {
        let value = (drive.never_valid == 0).then_some(start_up.high);
        criteria.push(at_most("Time to valid film, longest", value, budget.start_up_s, "s"));
    }
    if let Some(cycle) = summary.cycle.iter().min_by(|a, b| a.overlap_percent.low.total_cmp(&b.overlap_percent.low)) {
        criteria.push(Criterion {
            name: "Forward overlap reached, least".into(),
            value: Some(cycle.overlap_percent.low),
            // A pace is a whole number of ticks: it may fall one short.
            limit: cycle.wanted_percent - 0.5,
            bound: Bound::AtLeast,
            unit: "%".into(),
        });
    }
    criteria
}

/// Yaw error that gives 1.7 µm in the demonstration's 4 ms: 0.7°, as the design numbers have it.
const YAW_DEG: f64 = 0.7;

impl Mission<'_> {
    fn scenario_is_strip(&self) -> bool {
        matches!(self.scenario.camera.kind, CameraKind::Strip(_))
    }
}

/// Runs spread over the mission, in order of time.
fn runs(
    mission: &Mission<'_>,
    tables: &Tables,
    options: &Options,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Vec<Made>, FilmRatesError> {
    let plans = plans(mission, tables, options);
    let done = AtomicUsize::new(0);
    let made = plans.par_iter().map(|plan| {
        let made = make(mission, tables, plan, options);
        let count = done.fetch_add(1, Ordering::Relaxed) + 1;
        progress(count as f64 / plans.len() as f64);
        made
    });
    made.collect()
}

/// Golden ratio's fraction: runs of successive revolutions fall between each other's places.
const GOLDEN: f64 = 0.618_033_988_749_895;
/// Time kept between a run and its load's ends, s: lead before, run-down after.
const CLEAR_S: f64 = 20.0;

fn plans<'a>(mission: &Mission<'_>, tables: &'a Tables, options: &Options) -> Vec<RunPlan<'a>> {
    let period_s = mission.period_s();
    let spacing_s = period_s / f64::from(options.runs_per_revolution.max(1));
    let revolutions = (mission.end_s / period_s).ceil() as u32;
    let starts = (0..revolutions).flat_map(|revolution| {
        let shift = (f64::from(revolution) * GOLDEN).fract();
        (0..options.runs_per_revolution).map(move |k| f64::from(revolution) * period_s + (f64::from(k) + shift) * spacing_s)
    });
    let film = &mission.scenario.film;
    let usable_m = film.load_m
        - film.wound_m
        - f64::from(mission.settings.film.reserve_length_m)
        - f64::from(mission.settings.film.threaded_length_m)
        - 2.0;
    let plan = |on_s: f64| {
        let table = tables.at(on_s)?;
        let clear = on_s >= table.from_s + CLEAR_S && on_s + options.run_s + CLEAR_S <= table.to_s;
        let lit = table.covers(on_s) && table.covers(on_s + options.run_s);
        let wound_m = film.wound_m + (usable_m * on_s / mission.end_s).max(0.0);
        let look = mission.look().at(on_s)?;
        let choice = choose_exposure(&mission.camera, &Scene::default(), look.sun_elevation_rad, look.speed_m_s());
        let setting = choice.map_or(stillframe_controller::exposure::ANY_SLIT, |choice| choice.index as u8);
        let interval_ticks = interval_ticks(mission, look.speed_m_s());
        (clear && lit).then_some(RunPlan { on_s, for_s: options.run_s, table, setting, interval_ticks, wound_m })
    };
    starts.filter_map(plan).collect()
}

/// Pace that gives the overlap wanted, whole ticks, never too long.
fn interval_ticks(mission: &Mission<'_>, required_m_s: f64) -> u16 {
    match &mission.scenario.camera.kind {
        CameraKind::Strip(_) => 0,
        CameraKind::Frame(frame) => {
            let wanted_s = (1.0 - frame.overlap) * mission.camera.format_length_m / required_m_s;
            (wanted_s.max(frame.shortest_cycle_s) / TICK_S).floor() as u16
        }
    }
}

fn make(mission: &Mission<'_>, tables: &Tables, plan: &RunPlan<'_>, options: &Options) -> Result<Made, FilmRatesError> {
    let run = run(mission, plan).map_err(|why| FilmRatesError::Load { at_s: plan.on_s, why })?;
    let look = mission.look();
    let truly_s = |on_board_s: f64| on_board_s - (on_board_s - plan.table.from_s) * options.clock_s_per_day / 86_400.0;
    let (from_s, to_s) = (truly_s(plan.on_s), truly_s(plan.on_s + plan.for_s));
    let ends = [look.at(from_s), look.at(0.5 * (from_s + to_s)), look.at(to_s)];
    let [Some(first), Some(middle), Some(last)] = ends else {
        return Err(FilmRatesError::EarthMissed { at_s: plan.on_s });
    };
    // A parabola through three points: over a run of seconds the next term is below 1e-7.
    let place = |time_s: f64| {
        let x = 2.0 * (time_s - from_s) / (to_s - from_s) - 1.0;
        let through = |a: f64, b: f64, c: f64| b + x * (0.5 * (c - a) + x * (0.5 * (a + c) - b));
        let of = |f: fn(&crate::passes::required::Required) -> f64| through(f(&first), f(&middle), f(&last));
        (of(|r| r.speed_m_s()), of(|r| r.place.latitude_rad), of(|r| r.place.height_m), of(|r| r.crab_rad()))
    };
    let judge = Judge { mission, table: plan.table, options, place: &place, truly_s: &truly_s };
    let samples = if mission.scenario_is_strip() { judge.strip(&run, plan) } else { judge.frames(&run) };
    let cycle = match &mission.scenario.camera.kind {
        CameraKind::Strip(_) => None,
        CameraKind::Frame(frame) => {
            let asked_s = f64::from(plan.interval_ticks) * TICK_S;
            cycle::cycle(&run, middle.speed_m_s(), asked_s, frame.overlap, mission.camera.format_length_m)
        }
    };
    let _ = tables;
    Ok(Made { run, samples, cycle, on_s: plan.on_s })
}

type Place<'a> = &'a dyn Fn(f64) -> (f64, f64, f64, f64);

/// Turns a run's ticks into samples.
struct Judge<'a> {
    mission: &'a Mission<'a>,
    table: &'a Table,
    options: &'a Options,
    place: Place<'a>,
    truly_s: &'a dyn Fn(f64) -> f64,
}

/// Ticks from one sample of a strip to the next: 30 ms, several to a ripple of the roller's drive.
const SAMPLE_TICKS: usize = 3;
/// Half of the window in which the metering roller's counts are turned into speed, ticks.
const METER_TICKS: usize = 8;

impl Judge<'_> {
    fn sample(&self, tick: &RunTick, film_m_s: f64, metered_m_s: f64, exposure_s: f64) -> Sample {
        let time_s = (self.truly_s)(tick.on_board_s);
        let (required_m_s, latitude_rad, height_m, crab_rad) = (self.place)(time_s);
        let steering_rad = points::steering_rad(self.table, tick.on_board_s, self.options);
        Sample {
            time_s,
            latitude_deg: latitude_rad.to_degrees(),
            height_m,
            required_m_s,
            commanded_m_s: points::signed(f64::from(tick.step) * self.mission.grid.step_m_s, self.options),
            achieved_m_s: points::signed(film_m_s, self.options),
            metered_m_s: points::signed(metered_m_s, self.options),
            yaw_off_rad: steering_rad - crab_rad,
            exposure_s,
        }
    }

    /// Every third tick under the open shutter.
    fn strip(&self, run: &Run, plan: &RunPlan<'_>) -> Vec<Sample> {
        let slit_m = match self.mission.camera.slit_widths_m.get(usize::from(plan.setting)) {
            Some(width_m) => *width_m,
            None => points::wanted_exposure_s(self.mission) * f64::from(plan.table.step_at(plan.on_s)) * self.mission.grid.step_m_s,
        };
        let count_m = f64::from(self.mission.settings.film.count_m());
        let counts = |k: usize| run.ticks.get(k).map(|tick| tick.roller_counts);
        let open = run.ticks.iter().enumerate().filter(|(_, tick)| tick.phase == Phase::Exposing && tick.open_us > 0);
        open.step_by(SAMPLE_TICKS)
            .map(|(k, tick)| {
                // Counts are read at a tick's start, film speed at its end.
                let window = k.checked_sub(METER_TICKS - 1).and_then(counts).zip(counts(k + METER_TICKS + 1));
                let metered = window.map(|(from, to)| f64::from(to.wrapping_sub(from).cast_signed()) * count_m / (2.0 * METER_TICKS as f64 * TICK_S));
                self.sample(tick, tick.film_m_s, metered.unwrap_or(f64::NAN), slit_m / tick.film_m_s.abs().max(1e-6))
            })
            .collect()
    }

    /// One sample for each exposure: platen speed weighted by the time open.
    fn frames(&self, run: &Run) -> Vec<Sample> {
        let open = run.ticks.windows(2).enumerate().filter(|(_, pair)| pair[1].open_us > 0);
        let open: Vec<(usize, f64, f64)> = open
            .map(|(k, pair)| (k + 1, 0.5 * (pair[0].film_m_s + pair[1].film_m_s), f64::from(pair[1].open_us) * 1e-6))
            .collect();
        let exposures = open.chunk_by(|a, b| b.0 == a.0 + 1);
        exposures
            .filter_map(|ticks| {
                let exposure_s: f64 = ticks.iter().map(|(_, _, open_s)| open_s).sum();
                let travel_m: f64 = ticks.iter().map(|(_, speed_m_s, open_s)| speed_m_s * open_s).sum();
                let tick = run.ticks.get(ticks.first()?.0)?;
                Some(self.sample(tick, travel_m / exposure_s, f64::NAN, exposure_s))
            })
            .collect()
    }
}

fn required(mission: &Mission<'_>, points: &[Point]) -> Option<RequiredSummary> {
    let range = |of: &dyn Fn(&Point) -> f64| Range::of(points.iter().map(of)).unwrap_or_default();
    let most = |of: &dyn Fn(&Point) -> f64| points.iter().map(of).fold(0.0, f64::max);
    let period_s = mission.period_s();
    let mean_height_km = |from_s: f64| {
        let near: Vec<f64> = points.iter().filter(|p| (from_s..from_s + period_s).contains(&p.time_s)).map(|p| p.height_m * 1e-3).collect();
        near.iter().sum::<f64>() / near.len().max(1) as f64
    };
    (!points.is_empty()).then(|| RequiredSummary {
        points: points.len(),
        height_km: range(&|p| p.height_m * 1e-3),
        first_height_km: mean_height_km(0.0),
        last_height_km: mean_height_km((mission.end_s - period_s).max(0.0)),
        speed_mm_s: range(&|p| p.required_m_s * 1e3),
        v_over_h_mrad_s: range(&|p| p.v_over_h_rad_s * 1e3),
        v_over_h_inertial_mrad_s: range(&|p| p.v_over_h_inertial_rad_s * 1e3),
        crab_deg: range(&|p| p.crab_rad.to_degrees()),
        speed_change_percent_s: most(&|p| 100.0 * f64::from(p.required_m_s2).abs() / p.required_m_s),
        v_over_h_change_mrad_s2: most(&|p| 1e3 * f64::from(p.v_over_h_rad_s2).abs()),
        crab_change_deg_min: most(&|p| 60.0 * f64::from(p.crab_rad_s).to_degrees().abs()),
        format_along_percent: most(&|p| 100.0 * f64::from(p.format_left_m_s[0]) / p.required_m_s),
        format_across_percent: most(&|p| 100.0 * f64::from(p.format_left_m_s[1]) / p.required_m_s),
    })
}

fn programme(mission: &Mission<'_>, tables: &Tables, points: &[Point], options: &Options) -> ProgrammeSummary {
    let all = &tables.tables;
    let most = |of: &dyn Fn(&Table) -> f64| all.iter().map(of).fold(0.0, f64::max);
    let statistics = |factor: f64, of: &dyn Fn(&Point) -> f64| {
        Statistics::scaled(&spread(points.iter().filter(|p| p.commanded_step > 0).map(of)), factor)
    };
    let slowest_m_s = points.iter().map(|p| p.required_m_s).fold(f64::INFINITY, f64::min);
    let rms2 = all.iter().map(|table| table.rms * table.rms).sum::<f64>() / all.len().max(1) as f64;
    ProgrammeSummary {
        load_every_h: options.load_every_s / 3600.0,
        loads: all.len(),
        entries_free: all.iter().map(|table| table.free).min().unwrap_or(0),
        entries_used: all.iter().map(|table| table.changes.len()).max().unwrap_or(0),
        fit_worst_percent: 100.0 * most(&|table| table.worst),
        fit_rms_percent: 100.0 * rms2.sqrt(),
        time_band_s: most(&|table| table.time_band_s),
        step_percent: 100.0 * mission.grid.step_m_s / slowest_m_s,
        largest_jump_percent: 100.0 * most(&Table::largest_jump),
        error_percent: statistics(100.0, &|p| p.rate_error),
        place_percent: statistics(100.0, &|p| f64::from(p.place_error)),
        crab_error_deg: statistics(1.0, &|p| f64::from(p.crab_error_rad).to_degrees()),
        smear_along_um: statistics(1e6, &|p| f64::from(p.smear_m[0])),
        smear_across_um: statistics(1e6, &|p| f64::from(p.smear_m[1])),
        trade: tables
            .trade
            .iter()
            .map(|trade| TradeSummary {
                load_every_h: trade.load_every_s / 3600.0,
                entries: trade.entries,
                worst_percent: 100.0 * trade.worst,
                largest_jump_percent: 100.0 * trade.largest_jump,
            })
            .collect(),
    }
}

fn exposure(points: &[Point], options: &Options) -> ExposureSummary {
    let lit: Vec<&Point> = points.iter().filter(|p| p.setting >= 0 && p.stops_off.is_finite()).collect();
    let within = |p: &&&Point| f64::from(p.stops_off.abs()) <= options.budget.stops;
    let worst_sun = lit.iter().filter(|p| !within(p)).map(|p| f64::from(p.sun_elevation_deg)).fold(f64::NEG_INFINITY, f64::max);
    let high = |p: &&&Point| p.sun_elevation_deg >= 15.0;
    let slow_fast = Range::of(points.iter().map(|p| p.required_m_s));
    ExposureSummary {
        lit: lit.len(),
        within_percent: 100.0 * lit.iter().filter(within).count() as f64 / lit.len().max(1) as f64,
        from_sun_deg: worst_sun.is_finite().then_some(worst_sun),
        exposure_ms: Range::of(lit.iter().map(|p| f64::from(p.exposure_s) * 1e3)),
        stops_off: Statistics::scaled(&spread(lit.iter().filter(high).map(|p| f64::from(p.stops_off))), 1.0),
        speed_stops: slow_fast.map_or(0.0, |range| (range.high / range.low).log2()),
    }
}

fn cycle_summary(cycle: &Cycle, on_s: f64) -> CycleSummary {
    let percent = |(low, high): (f64, f64)| Range { low: 100.0 * low, high: 100.0 * high };
    CycleSummary {
        day: on_s / 86_400.0,
        required_mm_s: cycle.required_m_s * 1e3,
        phases_s: PHASES.iter().zip(cycle.phases_s).map(|(name, s)| ((*name).to_owned(), s)).collect(),
        asked_s: cycle.asked_s,
        reached_s: Range { low: cycle.reached_s.0, high: cycle.reached_s.1 },
        wanted_percent: 100.0 * cycle.wanted,
        overlap_percent: percent(cycle.overlap),
        most_percent: 100.0 * cycle.most,
        late: cycle.late,
    }
}

/// Keeps the cycle of least overlap of every day.
fn thin(cycles: &mut Vec<CycleSummary>) {
    let mut kept: Vec<CycleSummary> = Vec::new();
    for cycle in cycles.drain(..) {
        match kept.last_mut() {
            Some(last) if last.day.floor() == cycle.day.floor() => {
                if cycle.overlap_percent.low < last.overlap_percent.low {
                    *last = cycle;
                }
            }
            _ => kept.push(cycle),
        }
    }
    *cycles = kept;
}

fn lowest(points: &[Point]) -> Option<&Point> {
    points.iter().min_by(|a, b| a.height_m.total_cmp(&b.height_m))
}

fn worst(mission: &Mission<'_>, tables: &Tables, samples: &[Sample], options: &Options) -> Option<Worst> {
    let sample = samples.iter().max_by(|a, b| a.error().abs().total_cmp(&b.error().abs()))?;
    let table = tables.at(sample.time_s)?;
    let on_board_s = points::on_board_s(sample.time_s, table.from_s, options);
    let followed_m_s = table.predicted_at(on_board_s);
    let parts = [
        100.0 * (sample.commanded_m_s.abs() / followed_m_s - 1.0),
        100.0 * (followed_m_s / sample.required_m_s - 1.0),
        100.0 * (sample.achieved_m_s - sample.commanded_m_s) / sample.required_m_s,
    ];
    let changes = mission.look().changes(sample.time_s)?;
    let change_percent_s = 100.0 * changes.speed_m_s2 / sample.required_m_s;
    let why = why(&parts, sample, table, mission, change_percent_s, options);
    Some(Worst {
        time_h: sample.time_s / 3600.0,
        latitude_deg: sample.latitude_deg,
        height_km: sample.height_m * 1e-3,
        error_percent: 100.0 * sample.error(),
        table_percent: parts[0],
        place_percent: parts[1],
        drive_percent: parts[2],
        change_percent_s,
        smear_um: sample.smear_m()[0] * 1e6,
        why,
    })
}

fn why(
    parts: &[f64; 3],
    sample: &Sample,
    table: &Table,
    mission: &Mission<'_>,
    change_percent_s: f64,
    options: &Options,
) -> String {
    let step_percent = 100.0 * mission.grid.step_m_s / sample.required_m_s;
    if let Some(Blunder::Direction) = options.blunder {
        return "film runs against the image".into();
    }
    if let Some(Blunder::OrbitalRate) = options.blunder {
        return "the programme followed inertial speed over height: the orbital rate was left out".into();
    }
    let size = |k: usize| parts[k].abs();
    let table_text = if size(0) > 0.55 * step_percent {
        format!(
            "the store's {} free entries for {:.0} h: an entry must last while the required speed changes by {:+.3} % a second",
            table.free, (table.to_s - table.from_s) / 3600.0, change_percent_s
        )
    } else {
        format!("half a speed step of the drive ({:.2} %) at this slow a film", 0.5 * step_percent)
    };
    let changed = table.changes.iter().any(|c| (0.0..0.4).contains(&(sample.time_s - c.at_s)));
    let drive_text = if changed { "the drive settling after a change of speed" } else { "the drive's own wow and flutter" };
    if size(0) >= size(1).max(size(2)) {
        format!("mostly {table_text}; then {drive_text}")
    } else if size(2) >= size(1) {
        format!("mostly {drive_text}; then {table_text}")
    } else {
        format!("mostly clock and predicted place, {:.2} s at the load's end; then {table_text}", table.time_band_s)
    }
}

/// The part of the orbit that rates are stored for, for people.
pub(super) fn cover_text(options: &Options) -> String {
    match options.cover {
        Cover::All => "all round the orbit".into(),
        Cover::Lit => format!("where the Sun stands {:.0}° or higher", LOWEST_SUN_RAD.to_degrees()),
    }
}
