//! Runs of the simulated drive all over the mission, and what each did against what was required.

use super::{
    Mission, Options,
    cycle::{self, Cycle},
    drive::{Run, RunPlan, RunTick, run},
    points,
    samples::Sample,
    study::FilmRatesError,
    table::{Table, Tables},
};
use crate::{
    imaging::exposure::{Scene, choose_exposure},
    passes::required::Required,
    plant::TICK_S,
    scenario::parts::camera::CameraKind,
};
use rayon::prelude::*;
use std::sync::atomic::{AtomicUsize, Ordering};
use stillframe_controller::exposure::{ANY_SLIT, Phase};

/// One run with what was required in it.
pub(super) struct Made {
    pub run: Run,
    pub samples: Vec<Sample>,
    pub cycle: Option<Cycle>,
    pub on_s: f64,
}

impl Mission<'_> {
    pub(super) fn scenario_is_strip(&self) -> bool {
        matches!(self.scenario.camera.kind, CameraKind::Strip(_))
    }
}

/// Runs spread over the mission, in order of time.
pub(super) fn runs(
    mission: &Mission<'_>,
    tables: &Tables,
    options: &Options,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Vec<Made>, FilmRatesError> {
    let plans = plans(mission, tables, options);
    let done = AtomicUsize::new(0);
    let made = plans.par_iter().map(|plan| {
        let made = make(mission, plan, options);
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
        (0..options.runs_per_revolution)
            .map(move |k| f64::from(revolution) * period_s + (f64::from(k) + shift) * spacing_s)
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
        let setting = choice.map_or(ANY_SLIT, |choice| choice.index as u8);
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
        CameraKind::Sweep(sweep) => (sweep.shortest_cycle_s / TICK_S).floor() as u16,
    }
}

fn make(mission: &Mission<'_>, plan: &RunPlan<'_>, options: &Options) -> Result<Made, FilmRatesError> {
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
        let of = |f: fn(&Required) -> f64| through(f(&first), f(&middle), f(&last));
        (of(|r| r.speed_m_s()), of(|r| r.place.latitude_rad), of(|r| r.place.height_m), of(|r| r.crab_rad()))
    };
    let judge = Judge { mission, table: plan.table, options, place: &place, truly_s: &truly_s };
    let samples = if mission.scenario_is_strip() { judge.strip(&run, plan) } else { judge.frames(&run) };
    let cycle = match &mission.scenario.camera.kind {
        CameraKind::Strip(_) | CameraKind::Sweep(_) => None,
        CameraKind::Frame(frame) => {
            let asked_s = f64::from(plan.interval_ticks) * TICK_S;
            cycle::cycle(&run, middle.speed_m_s(), asked_s, frame.overlap, mission.camera.format_length_m)
        }
    };
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

/// Ticks from one sample of a strip to the next: 50 ms, three to a ripple of the roller's drive (6.5 Hz).
const SAMPLE_TICKS: usize = 5;
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

    /// Every fifth tick under the open shutter.
    fn strip(&self, run: &Run, plan: &RunPlan<'_>) -> Vec<Sample> {
        let slit_m = match self.mission.camera.slit_widths_m.get(usize::from(plan.setting)) {
            Some(width_m) => *width_m,
            None => {
                points::wanted_exposure_s(self.mission)
                    * f64::from(plan.table.step_at(plan.on_s))
                    * self.mission.grid.step_m_s
            }
        };
        let count_m = f64::from(self.mission.settings.film.count_m());
        // Only film that runs under the open shutter is counted.
        let open_at = |k: usize| run.ticks.get(k).filter(|tick| tick.phase == Phase::Exposing);
        let counts = |k: usize| open_at(k).map(|tick| tick.roller_counts);
        let open = run.ticks.iter().enumerate().filter(|(_, tick)| tick.phase == Phase::Exposing && tick.open_us > 0);
        open.step_by(SAMPLE_TICKS)
            .map(|(k, tick)| {
                // Counts are read at a tick's start, film speed at its end.
                let window = k.checked_sub(METER_TICKS - 1).and_then(counts).zip(counts(k + METER_TICKS + 1));
                let metered = window.map(|(from, to)| {
                    f64::from(to.wrapping_sub(from).cast_signed()) * count_m / (2.0 * METER_TICKS as f64 * TICK_S)
                });
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
