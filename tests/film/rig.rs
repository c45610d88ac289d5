//! Film plant and flight code joined as the real loop joins them: what the flight code puts out at one
//! tick acts from the next.

use stillframe::plant::film::shutter::{OpenIntervals, Shutter, ShutterParameters};
use stillframe::plant::film::{FilmParameters, FilmPlant};
use stillframe_controller::exposure::{CameraSettings, FrameMark, Input, Phase, Sequencer};
use stillframe_controller::film::{Demand, FilmSettings, State, Transport};
use stillframe_controller::io::{Edges, FilmDrive};

pub const TICK_S: f64 = 0.01;
/// The demo's film speed, m/s.
pub const SPEED_M_S: f32 = 0.0341;

/// Transport and plant only.
pub struct Rig {
    pub plant: FilmPlant,
    pub transport: Transport,
    pub drive: FilmDrive,
    pub ticks: u32,
    /// Lowest and highest true tension of either loop since `watch_tension`, N.
    pub tension_n: (f64, f64),
    /// Largest true arm displacement, m.
    pub arm_m: f64,
    /// Sum of all reactions, N·m·s.
    pub reaction_nms: f64,
}

impl Rig {
    pub fn new(film: &FilmParameters, settings: &FilmSettings, wound_m: f64) -> Self {
        let film = FilmParameters { wound_m, ..film.clone() };
        film.check().expect("the demo's film");
        let settings = FilmSettings { wound_length_m: wound_m as f32, ..*settings };
        Self {
            plant: FilmPlant::new(&film),
            transport: Transport::new(&settings),
            drive: FilmDrive::REST,
            ticks: 0,
            tension_n: (f64::INFINITY, 0.0),
            arm_m: 0.0,
            reaction_nms: 0.0,
        }
    }

    pub fn strip(wound_m: f64) -> Self {
        Self::new(&FilmParameters::default(), &FilmSettings::default(), wound_m)
    }

    pub fn step(&mut self, demand: Demand) {
        let next = self.transport.step(&self.plant.sample(false), demand);
        let drive = std::mem::replace(&mut self.drive, next);
        self.reaction_nms += self.plant.advance(TICK_S, &drive, 0.0).momentum_change_nms;
        for tension_n in self.plant.tension_n() {
            self.tension_n.0 = self.tension_n.0.min(tension_n);
            self.tension_n.1 = self.tension_n.1.max(tension_n);
        }
        for (at_m, _) in self.plant.arms() {
            self.arm_m = self.arm_m.max(at_m.abs());
        }
        self.ticks += 1;
    }

    pub fn run(&mut self, ticks: u32, demand: Demand) {
        for _ in 0..ticks {
            self.step(demand);
        }
    }

    pub fn state(&self) -> State {
        self.transport.status().state
    }

    /// Runs until `done`, at most `limit` ticks; gives the ticks it took.
    #[track_caller]
    pub fn until(&mut self, limit: u32, demand: Demand, done: impl Fn(&Self) -> bool) -> u32 {
        for tick in 0..limit {
            if done(self) {
                return tick;
            }
            self.step(demand);
        }
        panic!("not within {limit} ticks: {:?}", self.transport.status());
    }

    pub fn forget_extremes(&mut self) {
        self.tension_n = (f64::INFINITY, 0.0);
        self.arm_m = 0.0;
    }
}

/// Everything: sequencer, transport, plant and shutter.
pub struct Camera {
    pub rig: Rig,
    pub sequencer: Sequencer,
    pub shutter: Shutter,
    pub edges: Edges,
    pub marks: Vec<FrameMark>,
    /// Open intervals of the last tick.
    pub open: OpenIntervals,
    pub allowed: bool,
    pub cycle_ticks: u32,
}

impl Camera {
    pub fn new(film: &FilmParameters, settings: &FilmSettings, camera: &CameraSettings, wound_m: f64) -> Self {
        Self {
            rig: Rig::new(film, settings, wound_m),
            sequencer: Sequencer::new(camera, settings),
            shutter: Shutter::new(&ShutterParameters::default()),
            edges: Edges::CLOSE,
            marks: Vec::new(),
            open: OpenIntervals::default(),
            allowed: true,
            cycle_ticks: 0,
        }
    }

    pub fn strip(wound_m: f64) -> Self {
        Self::new(&FilmParameters::default(), &FilmSettings::default(), &CameraSettings::default(), wound_m)
    }

    pub fn framing(wound_m: f64) -> Self {
        Self::new(&FilmParameters::framing(), &FilmSettings::framing(), &CameraSettings::framing(), wound_m)
    }

    pub fn step(&mut self, on: bool, speed_step: u16) {
        let sample = self.rig.plant.sample(self.shutter.is_open());
        let film = *self.rig.transport.status();
        let output = self.sequencer.step(&Input {
            tick: self.rig.ticks,
            slit: stillframe_controller::exposure::ANY_SLIT,
            not_before: 0,
            camera_commanded_on: on,
            cycle_ticks: self.cycle_ticks,
            speed_step,
            allowed: self.allowed,
            shutter_open: sample.shutter_open,
            sweep_rad: 0.0,
            film: &film,
        });
        let mut next = self.rig.transport.step(&sample, output.demand);
        next.clamp |= output.clamp;
        next.platen_step = output.platen_step;
        let drive = std::mem::replace(&mut self.rig.drive, next);
        let edges = std::mem::replace(&mut self.edges, output.shutter);
        self.marks.extend(output.frame_event);
        self.rig.reaction_nms += self.rig.plant.advance(TICK_S, &drive, 0.0).momentum_change_nms;
        self.open = self.shutter.advance(&edges);
        for tension_n in self.rig.plant.tension_n() {
            self.rig.tension_n.0 = self.rig.tension_n.0.min(tension_n);
            self.rig.tension_n.1 = self.rig.tension_n.1.max(tension_n);
        }
        for (at_m, _) in self.rig.plant.arms() {
            self.rig.arm_m = self.rig.arm_m.max(at_m.abs());
        }
        self.rig.ticks += 1;
    }

    pub fn run(&mut self, ticks: u32, on: bool, speed_step: u16) {
        for _ in 0..ticks {
            self.step(on, speed_step);
        }
    }

    pub fn phase(&self) -> Phase {
        self.sequencer.status().phase
    }
}
