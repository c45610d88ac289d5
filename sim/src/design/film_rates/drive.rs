//! One camera-on with the flight code's own programme, sequencer and film transport on the simulated drive.
//!
//! The glue between them is the flight code's (`Controller::photograph`), with attitude and health taken as
//! good: here film is looked at, not the vehicle. A flight judged by its record ([`super::from_record`]) has
//! all of it.

use super::{Mission, table::Table};
use crate::{
    flight::build::film as film_parameters,
    plant::{
        TICK_S,
        film::{
            FilmPlant,
            shutter::{Shutter, ShutterParameters},
        },
    },
};
use stillframe_controller::{
    exposure::{EXPOSURE_SETTINGS, FrameMark, Input, Phase, Sequencer},
    film::{FilmSettings, State, Transport},
    io::{Edges, FilmDrive},
    programme::{
        Programme,
        check::Against,
        load::{Command, Entry, Load, LoadError},
    },
};

/// Ticks before the sequencer's own lead at which a run begins.
const EARLY_TICKS: u32 = 50;
/// Longest wait for film to come to rest, ticks.
const REST_TICKS: u32 = 1500;

/// A camera-on to be run.
#[derive(Clone, Copy, Debug)]
pub struct RunPlan<'a> {
    /// Camera on, s by the on-board clock.
    pub on_s: f64,
    /// For so long, s.
    pub for_s: f64,
    /// The load in force.
    pub table: &'a Table,
    /// Slit or shutter setting.
    pub setting: u8,
    /// Ticks between frames (framing).
    pub interval_ticks: u16,
    /// Film already on the take-up reel, m.
    pub wound_m: f64,
}

/// One tick of a run, at its end.
#[derive(Clone, Copy, Debug)]
pub struct RunTick {
    /// Time by the on-board clock, s.
    pub on_board_s: f64,
    /// Speed commanded, steps.
    pub step: u16,
    /// Film speed at the exposure line, m/s.
    pub film_m_s: f64,
    /// Counter of the metering roller at the tick's start.
    pub roller_counts: u32,
    /// What the sequencer was doing.
    pub phase: Phase,
    /// The transport runs at the speed asked.
    pub steady: bool,
    /// Time that the shutter was open in the tick, µs.
    pub open_us: u32,
}

/// A run that was made.
#[derive(Clone, Debug)]
pub struct Run {
    /// Every tick.
    pub ticks: Vec<RunTick>,
    /// Frames that ended.
    pub frames: Vec<FrameMark>,
    /// Time from the first demand for film to valid film, s; none if it never was.
    pub start_up_s: Option<f64>,
    /// Time from camera-off to film at rest under its brakes, s; none if it did not come to rest.
    pub run_down_s: Option<f64>,
    /// Film used before the first and after the last exposure, m.
    pub waste_m: f64,
    /// Lowest and highest tension, N.
    pub tension_n: (f64, f64),
    /// Pictures that came later than their pace (framing).
    pub late: u16,
    /// Film at the start of the run on the take-up reel, m.
    pub wound_m: f64,
}

/// Makes a run.
///
/// # Errors
/// If the flight code refuses the load.
pub fn run(mission: &Mission<'_>, plan: &RunPlan<'_>) -> Result<Run, LoadError> {
    let mut rig = Rig::new(mission, plan)?;
    let camera = &mission.settings.camera;
    let first = rig.on_tick.saturating_sub(camera.lead_ticks + EARLY_TICKS);
    let last = rig.off_tick + REST_TICKS;
    for tick in first..last {
        rig.step(tick);
        if tick > rig.off_tick && rig.run.run_down_s.is_some() {
            break;
        }
    }
    rig.run.late = rig.sequencer.status().late;
    rig.run.waste_m = rig.wasted_m();
    Ok(rig.run)
}

/// The load's speeds in force from camera-on to camera-off, as a load of its own.
fn load(plan: &RunPlan<'_>, lead_ticks: u32) -> Load {
    let tick = |at_s: f64| (at_s * 100.0).round() as u32;
    let (on, off) = (tick(plan.on_s), tick(plan.on_s + plan.for_s));
    let mut entries = heapless::Vec::new();
    let first = Entry {
        tick: on.saturating_sub(lead_ticks + EARLY_TICKS / 2).max(1),
        command: Command::Speed(plan.table.step_at(plan.on_s)),
    };
    // A run holds a handful of changes: its length is checked by the caller's options.
    let _ = entries.push(first);
    let _ = entries.push(Entry {
        tick: on,
        command: Command::CameraOn { slit: plan.setting, interval_ticks: plan.interval_ticks },
    });
    let inside = plan.table.changes.iter().filter(|change| (on + 1..off).contains(&tick(change.at_s)));
    for change in inside {
        let _ = entries.push(Entry { tick: tick(change.at_s), command: Command::Speed(change.step) });
    }
    let _ = entries.push(Entry { tick: off, command: Command::CameraOff });
    Load { counter: 1, ephemeris: plan.table.on_board, entries }
}

struct Rig {
    programme: Programme,
    sequencer: Sequencer,
    transport: Transport,
    plant: FilmPlant,
    shutter: Shutter,
    drive: FilmDrive,
    edges: Edges,
    lead_ticks: u32,
    on_tick: u32,
    off_tick: u32,
    asked_tick: Option<u32>,
    gate_m: (f64, Option<f64>, f64),
    run: Run,
}

impl Rig {
    fn new(mission: &Mission<'_>, plan: &RunPlan<'_>) -> Result<Self, LoadError> {
        let camera = &mission.settings.camera;
        let lead_ticks = camera.lead_ticks;
        let on_tick = (plan.on_s * 100.0).round() as u32;
        let mut programme = Programme::default();
        // Through the bytes, as on its way up.
        let load = Load::decode(&load(plan, lead_ticks).encode())?;
        programme.adopt(
            load,
            &Against {
                longest_camera_s: camera.on_limit_ticks as f32 * 0.01,
                slits: EXPOSURE_SETTINGS,
                most_speed: mission.grid.most,
                ..Against::alone(on_tick.saturating_sub(lead_ticks + EARLY_TICKS + 1))
            },
        )?;
        let mut film = film_parameters(mission.scenario);
        film.wound_m = plan.wound_m;
        let film_settings = FilmSettings { wound_length_m: plan.wound_m as f32, ..mission.settings.film };
        Ok(Self {
            programme,
            sequencer: Sequencer::new(camera, &film_settings),
            transport: Transport::new(&film_settings),
            plant: FilmPlant::new(&film),
            shutter: Shutter::new(&ShutterParameters::default()),
            drive: FilmDrive::REST,
            edges: Edges::CLOSE,
            lead_ticks,
            on_tick,
            off_tick: ((plan.on_s + plan.for_s) * 100.0).round() as u32,
            asked_tick: None,
            gate_m: (0.0, None, 0.0),
            run: Run {
                ticks: Vec::new(),
                frames: Vec::new(),
                start_up_s: None,
                run_down_s: None,
                waste_m: 0.0,
                tension_n: (f64::INFINITY, 0.0),
                late: 0,
                wound_m: plan.wound_m,
            },
        })
    }

    fn step(&mut self, tick: u32) {
        self.programme.step(tick);
        let burst = self.programme.burst();
        let soon = burst.is_some_and(|b| tick.saturating_add(self.lead_ticks) >= b.on_tick && tick < b.off_tick);
        let commanded = if soon { self.programme.coming() } else { self.programme.commanded() };
        let sample = self.plant.sample(self.shutter.is_open());
        let film = *self.transport.status();
        let output = self.sequencer.step(&Input {
            tick,
            camera_commanded_on: soon || commanded.camera_on,
            not_before: burst.map_or(tick, |b| b.on_tick),
            cycle_ticks: u32::from(commanded.interval_ticks),
            speed_step: commanded.speed_step,
            slit: commanded.slit,
            allowed: true,
            shutter_open: sample.shutter_open,
            sweep_rad: sample.sweep_rad,
            film: &film,
        });
        self.run.frames.extend(output.frame_event);
        let mut next = self.transport.step(&sample, output.demand);
        next.clamp |= output.clamp;
        next.platen_step = output.platen_step;
        let drive = std::mem::replace(&mut self.drive, next);
        let edges = std::mem::replace(&mut self.edges, output.shutter);
        self.plant.advance(TICK_S, &drive, 0.0);
        let open = self.shutter.advance(&edges);
        self.note(tick, commanded.speed_step, sample.roller_counts, open.total_us());
    }

    fn note(&mut self, tick: u32, step: u16, roller_counts: u32, open_us: u32) {
        let status = self.transport.status();
        let phase = self.sequencer.status().phase;
        if phase != Phase::Off && self.asked_tick.is_none() {
            self.asked_tick = Some(tick);
        }
        if let (Some(asked), None, true) = (self.asked_tick, self.run.start_up_s, status.valid) {
            self.run.start_up_s = Some(f64::from(tick - asked) * TICK_S);
        }
        if tick > self.off_tick && self.run.run_down_s.is_none() && status.state == State::Braked {
            self.run.run_down_s = Some(f64::from(tick - self.off_tick) * TICK_S);
        }
        if phase == Phase::Exposing {
            self.gate_m.1.get_or_insert(self.plant.gate_m());
            self.gate_m.2 = self.plant.gate_m();
        }
        if status.state != State::Braked {
            for tension_n in self.plant.tension_n() {
                self.run.tension_n.0 = self.run.tension_n.0.min(tension_n);
                self.run.tension_n.1 = self.run.tension_n.1.max(tension_n);
            }
        }
        self.run.ticks.push(RunTick {
            on_board_s: f64::from(tick + 1) * TICK_S,
            step,
            film_m_s: self.plant.speed_m_s(),
            roller_counts,
            phase,
            steady: status.state == State::Steady,
            open_us,
        });
    }

    fn wasted_m(&self) -> f64 {
        let (start_m, first_m, last_m) = self.gate_m;
        first_m.map_or(0.0, |first_m| (first_m - start_m) + (self.plant.gate_m() - last_m))
    }
}

/// Wow and flutter of the steady stretches of a run, 3σ each, as shares of the speed asked.
///
/// Wow is what a mean over 17 ticks (first null at 5.9 Hz) leaves of the deviation, flutter the rest: the
/// common division at 6 Hz (from memory; tape and film practice). `None` without a steady stretch of 2 s.
pub fn wow_and_flutter(run: &Run, step_m_s: f64) -> Option<[f64; 3]> {
    const HALF: usize = 8;
    const SETTLE: usize = 30;
    let (mut wow2, mut flutter2, mut both2, mut count) = (0.0, 0.0, 0.0, 0_usize);
    let stretches = run.ticks.chunk_by(|a, b| steady(a) && steady(b) && a.step == b.step);
    for stretch in stretches.filter(|stretch| stretch.len() > 2 * HALF + 2 * SETTLE && steady(&stretch[0])) {
        // A change of speed is no flutter.
        let stretch = &stretch[SETTLE..];
        let off: Vec<f64> = stretch.iter().map(|t| t.film_m_s / (f64::from(t.step) * step_m_s) - 1.0).collect();
        for (window, here) in off.windows(2 * HALF + 1).zip(&off[HALF..]) {
            let slow = window.iter().sum::<f64>() / window.len() as f64;
            wow2 += slow * slow;
            flutter2 += (here - slow).powi(2);
            both2 += here * here;
            count += 1;
        }
    }
    (count >= 200).then(|| [wow2, flutter2, both2].map(|sum| 3.0 * (sum / count as f64).sqrt()))
}

fn steady(tick: &RunTick) -> bool {
    tick.steady && tick.phase == Phase::Exposing
}
