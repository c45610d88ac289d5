//! The whole run, from a validated scenario to a results folder.

use super::{
    build::Built,
    closed_loop::ClosedLoop,
    frames::{CameraSetup, FrameWatch, JudgedFrame},
    home::{Home, told::Told},
    link::Link,
    page, pictures,
    pilot::{OnDesk, Pilot, PilotGone},
    place::PlaceKnown,
    rows::{RowMaker, attitude_truth},
    summary::{Ended, summarise},
    tally::{HoldTally, Tally},
};
use crate::{
    descent::{self, DescentError},
    imaging::sample::TruthSample,
    plant::{PlantError, faults::FaultSchedule, sensors::intruder::Intruder},
    record::{
        CodeNames, RecordError, Recorder, RunInfo,
        ccsds::MessageHeader,
        columns::{FilmTick, JetEdge},
        digest::Window,
        events::{Event, EventKind},
        summary::{Bound, Criterion, Summary, WayHome},
    },
    report::ReportData,
    scenario::{Loaded, parts::command::Action},
};
use jiff::Timestamp;
use nalgebra::Vector3;
use std::{path::PathBuf, time::Instant};
use stillframe_controller::{
    attitude::mode::Mode,
    health::flags::{Flag, Flags},
    io::{Actuators, Sensors, TICKS_PER_S},
    programme::load::LoadError,
};
use thiserror::Error;

/// How a run is to be flown.
#[derive(Clone, Debug)]
pub struct Options {
    /// Seed of all noise.
    pub seed: u64,
    /// Folder for the results.
    pub out: PathBuf,
    /// Record every attitude step.
    pub full_record: bool,
    /// Time written into the CCSDS messages as that of their making.
    pub created: Timestamp,
}

/// What a flight ended with.
#[derive(Debug)]
pub struct Flown {
    /// Summary.
    pub summary: Summary,
    /// Folder with the results.
    pub folder: PathBuf,
}

/// Why a flight ended early.
#[derive(Debug, Error)]
pub enum FlightError {
    /// The plant could not go on.
    #[error(transparent)]
    Plant(#[from] PlantError),
    /// The record could not be written.
    #[error(transparent)]
    Record(#[from] RecordError),
    /// Whoever flew the vehicle broke off.
    #[error(transparent)]
    Pilot(#[from] PilotGone),
    /// The descent cannot be computed.
    #[error("the return: {0}")]
    Return(#[from] DescentError),
    /// A balance in truth does not close: the program is wrong.
    #[error(
        "the balance of {name} in truth does not close: {relative:.2e} of what went through is missing (limit {limit:.0e})"
    )]
    Unbalanced {
        /// Which one.
        name: String,
        /// Residual over throughput.
        relative: f64,
        /// Limit.
        limit: f64,
    },
}

/// Key of the tables' metadata under which the camera stands, as JSON.
pub const CAMERA_KEY: &str = "stillframe.camera";

/// Ticks between rows of the decimated series (1 Hz), and of the full one (every attitude step).
const ROW_TICKS: u64 = TICKS_PER_S as u64;
const FULL_ROW_TICKS: u64 = 2;

/// Flies a scenario. `progress` is called about once in a simulated minute with the share done.
///
/// # Errors
/// [`FlightError`]; what was written until then stays readable.
pub fn fly(
    loaded: &Loaded,
    built: Built,
    options: &Options,
    progress: &mut dyn FnMut(f64),
) -> Result<Flown, FlightError> {
    fly_with(&mut OnDesk, loaded, built, options, progress)
}

/// Flies a scenario with somebody else's hands on the controls: [`fly`] for boards.
///
/// # Errors
/// [`FlightError`]; what was written until then stays readable.
pub fn fly_with(
    pilot: &mut impl Pilot,
    loaded: &Loaded,
    built: Built,
    options: &Options,
    progress: &mut dyn FnMut(f64),
) -> Result<Flown, FlightError> {
    let clock = Instant::now();
    let mut run = Run::new(loaded, built, options)?;
    run.fly(pilot, progress)?;
    run.finish(clock)
}

/// A run under way.
struct Run<'a> {
    loaded: &'a Loaded,
    built: Built,
    options: &'a Options,
    flight: ClosedLoop,
    recorder: Recorder,
    rows: RowMaker,
    watch: FrameWatch,
    tally: Tally,
    frames: Vec<JudgedFrame>,
    codes: CodeNames,
    mode: Mode,
    flags: Flags,
    camera_on: bool,
    /// What stands in the horizon sensor's scan.
    intruder: Option<Intruder>,
    load_counter: u16,
    loads_refused: u16,
    last_refusal: Option<LoadError>,
    /// Metering roller's count of the tick before.
    roller_counts: u32,
}

impl<'a> Run<'a> {
    fn new(loaded: &'a Loaded, built: Built, options: &'a Options) -> Result<Self, FlightError> {
        let scenario = &loaded.scenario;
        let codes = page::code_names(scenario);
        let recorder = Recorder::create(&options.out, &run_info(loaded, &built, options, &codes))?;
        let link = Link::new(scenario, options.seed, &built.load);
        let faults = FaultSchedule::new(scenario);
        let home = built.home.clone().map(|plan| Home::new(plan, loaded, &built.settings, options.seed));
        let flight = ClosedLoop::new(built.plant.clone(), built.controller.clone(), link, faults).with_home(home);
        let camera = &built.settings.camera;
        let setup = CameraSetup {
            frame_counts: (camera.frame_length_m / built.settings.film.count_m()) as i32,
            speed_step_m_s: f64::from(camera.speed_step_m_s),
            exposures_s: [0, 1, 2, 3].map(|setting| f64::from(camera.shutter_us(setting)) * 1e-6),
            shutter_delays_s: [built.shutter.open_delay_us, built.shutter.close_delay_us]
                .map(|us| f64::from(us) * 1e-6),
            areas: scenario.areas.clone(),
            camera: built.camera.clone(),
        };
        let hold = HoldTally::new(levers_m(&built), scenario.jets.first().map_or(1.0, |jet| jet.specific_impulse_s));
        Ok(Self {
            rows: RowMaker::new(
                scenario.power.clone(),
                PlaceKnown::new(&scenario.planning, &built.prediction),
                scenario.camera.focal_length_m,
            ),
            watch: FrameWatch::new(setup),
            tally: Tally::new(hold),
            frames: Vec::new(),
            mode: flight.controller.mode(),
            flags: Flags::default(),
            camera_on: false,
            intruder: None,
            load_counter: 0,
            loads_refused: 0,
            last_refusal: None,
            roller_counts: 0,
            loaded,
            built,
            options,
            flight,
            recorder,
            codes,
        })
    }

    fn fly(&mut self, pilot: &mut impl Pilot, progress: &mut dyn FnMut(f64)) -> Result<(), FlightError> {
        let ticks = (self.loaded.scenario.run.duration_s * f64::from(TICKS_PER_S)).round() as u64;
        let row_ticks = if self.options.full_record { FULL_ROW_TICKS } else { ROW_TICKS };
        let mut instants_s = Vec::new();
        let mut samples: Vec<TruthSample> = Vec::new();
        self.note(0.0, EventKind::Note, "separated from the carrier")?;
        for stray in self.built.strays() {
            self.note(0.0, EventKind::Note, &format!("settings: {stray}"))?;
        }
        for tick in 0..ticks {
            if tick.is_multiple_of(row_ticks) {
                self.record_row(tick)?;
            }
            if tick.is_multiple_of(60 * ROW_TICKS) {
                progress(tick as f64 / ticks as f64);
            }
            self.watch.before(&self.flight, &mut instants_s);
            samples.clear();
            let sensors = self.flight.sense();
            let commanded = match self.flight.interrupted() {
                Some(instead) => instead,
                None => pilot.step(&mut self.flight.controller, &sensors)?,
            };
            self.film_tick(tick, &sensors, &commanded)?;
            let outcome = self.flight.act(&sensors, commanded, &instants_s, &mut |_, sample| samples.push(sample))?;
            self.watch.after(&self.flight, &outcome.open, &samples);
            self.after_tick(tick)?;
            for event in pilot.events() {
                self.recorder.event(&event)?;
            }
        }
        while let Some(mark) = self.watch.due(ticks, true) {
            let frame = self.watch.judge(&mark, &self.flight);
            self.take_frame(frame)?;
        }
        self.record_row(ticks)?;
        progress(1.0);
        Ok(())
    }

    /// Writes what the film transport's gauges said, if anything of it runs.
    fn film_tick(&mut self, tick: u64, sensors: &Sensors, commanded: &Actuators) -> Result<(), FlightError> {
        let (gauges, drive) = (&sensors.film, &commanded.film);
        let moved = gauges.roller_counts != std::mem::replace(&mut self.roller_counts, gauges.roller_counts);
        if drive.brake && drive.platen_step == 0 && !moved {
            return Ok(());
        }
        let row = FilmTick {
            time_s: tick as f64 * crate::plant::TICK_S,
            tick: sensors.tick,
            roller_counts: gauges.roller_counts,
            supply_counts: gauges.supply_counts,
            take_up_counts: gauges.take_up_counts,
            film_speed_step: u32::from(self.flight.controller.commanded_speed_step()),
            platen_step: u32::from(drive.platen_step),
            exposing: gauges.shutter_open,
        };
        Ok(self.recorder.film_tick(row)?)
    }

    /// Writes what happened in the tick just gone.
    fn after_tick(&mut self, tick: u64) -> Result<(), FlightError> {
        let start_s = tick as f64 * crate::plant::TICK_S;
        for edge in &self.flight.plant.flow_edges {
            self.recorder.jet_edge(JetEdge { time_s: start_s + edge.at_s, jet: edge.jet as u8, open: edge.on })?;
        }
        self.tally.tick(&self.flight.plant);
        self.rows.tick(&self.flight);
        if let Some(mark) = self.flight.controller.frame() {
            self.watch.mark(mark, tick);
        }
        if let Some(mark) = self.watch.due(tick, false) {
            let frame = self.watch.judge(&mark, &self.flight);
            self.take_frame(frame)?;
        }
        for change in std::mem::take(&mut self.flight.changes) {
            let kind = if change.began { EventKind::FaultStart } else { EventKind::FaultStop };
            self.note(start_s, kind, change.name)?;
        }
        let notes = self.flight.home.as_mut().map(|home| std::mem::take(&mut home.notes)).unwrap_or_default();
        for (time_s, text) in notes {
            self.note(time_s, EventKind::Ordnance, &text)?;
        }
        if self.flight.controller.mode() != self.mode {
            self.mode = self.flight.controller.mode();
            let name = format!("attitude: {}", self.codes.mode(i64::from(self.mode.code())));
            self.note(start_s, EventKind::Mode, &name)?;
        }
        if tick.is_multiple_of(ROW_TICKS) {
            self.second(start_s)?;
        }
        Ok(())
    }

    /// What is looked at once a second: telemetry's flags, camera, loads, contacts.
    fn second(&mut self, time_s: f64) -> Result<(), FlightError> {
        let telemetry = *self.flight.controller.telemetry();
        for &flag in Flag::ALL {
            let (was, is) = (self.flags.has(flag), telemetry.flags.has(flag));
            if was != is {
                let text = if is { flag.text().to_owned() } else { format!("No longer: {}", flag.text()) };
                self.note(time_s, EventKind::Health, &text)?;
            }
        }
        self.flags = telemetry.flags;
        self.note_intruder(time_s)?;
        if telemetry.camera_commanded != self.camera_on {
            self.camera_on = telemetry.camera_commanded;
            self.note(time_s, EventKind::Camera, if self.camera_on { "camera on" } else { "camera off" })?;
        }
        if telemetry.load_counter != self.load_counter {
            self.load_counter = telemetry.load_counter;
            self.note(time_s, EventKind::LoadAccepted, &format!("load {} in force", self.load_counter))?;
        }
        if telemetry.loads_refused != self.loads_refused {
            self.loads_refused = telemetry.loads_refused;
            // Noise is refused every second: one line for each stretch of it.
            let again =
                telemetry.last_refusal == self.last_refusal && telemetry.last_refusal.is_some_and(no_telecommand);
            if !again {
                let why = telemetry.last_refusal.map_or_else(String::new, |why| format!("{why:?}"));
                self.note(time_s, EventKind::LoadRefused, &format!("load refused: {why}"))?;
            }
            self.last_refusal = telemetry.last_refusal;
        }
        for note in std::mem::take(&mut self.flight.link.ground.notes) {
            self.note(time_s, EventKind::Uplink, &note)?;
        }
        self.tally.on_board(&telemetry.momentum_residual_nms, &telemetry.momentum_through_nms);
        for change in std::mem::take(&mut self.flight.link.changes) {
            let name = self.codes.stations.get(change.station).cloned().unwrap_or_default();
            let kind = if change.acquired { EventKind::SignalAcquired } else { EventKind::SignalLost };
            if change.acquired {
                *self.tally.contacts.by_station.entry(change.station).or_insert(0) += 1;
            }
            self.note(time_s, kind, &name)?;
        }
        Ok(())
    }

    /// Notes when the Sun or the Moon begins or ends to spoil an edge of the horizon sensor.
    fn note_intruder(&mut self, time_s: f64) -> Result<(), FlightError> {
        let now = self.flight.plant.horizon().intruder();
        let before = std::mem::replace(&mut self.intruder, now);
        if before == now {
            return Ok(());
        }
        if let Some(gone) = before {
            self.note(time_s, EventKind::Note, &format!("{} has left the horizon sensor's scan", gone.name()))?;
        }
        if let Some(come) = now {
            self.note(time_s, EventKind::Note, &format!("{} stands in the horizon sensor's scan", come.name()))?;
        }
        Ok(())
    }

    fn take_frame(&mut self, frame: JudgedFrame) -> Result<(), FlightError> {
        self.recorder.frame(&frame.row)?;
        for point in &frame.points {
            self.recorder.point(point.clone())?;
        }
        for (middle, (steering_rad, steering_rate_rad_s)) in &frame.middles {
            let truth = self.flight.plant.truth_of(middle);
            self.tally.exposures.take(&attitude_truth(&truth, *steering_rad, *steering_rate_rad_s));
        }
        self.frames.push(frame);
        Ok(())
    }

    fn record_row(&mut self, tick: u64) -> Result<(), FlightError> {
        let (row, attitude) = self.rows.row(&mut self.flight);
        self.recorder.row(&row)?;
        if tick.is_multiple_of(ROW_TICKS) {
            let step_s = if tick == 0 { 0.0 } else { 1.0 };
            self.tally.row(&row, &attitude, self.mode, &self.flight.plant, step_s);
        }
        Ok(())
    }

    fn note(&mut self, time_s: f64, kind: EventKind, text: &str) -> Result<(), FlightError> {
        Ok(self.recorder.event(&Event::new(time_s, kind, text))?)
    }

    fn told_home(&self) -> Result<Option<Told>, FlightError> {
        let end_s = self.loaded.scenario.run.duration_s;
        let home = self.flight.home.as_ref();
        Ok(home.map(|home| home.told(self.loaded, self.options.seed, end_s)).transpose()?)
    }

    fn finish(mut self, clock: Instant) -> Result<Flown, FlightError> {
        let events = self.recorder.digest().event_counts.iter();
        let ended = Ended {
            events: events.map(|(kind, count)| (kind.name().to_owned(), *count)).collect(),
            loaded: self.loaded,
            built: &self.built,
            seed: self.options.seed,
            duration_s: self.loaded.scenario.run.duration_s,
            wall_s: clock.elapsed().as_secs_f64(),
            rows: self.recorder.rows(),
        };
        let mut summary = summarise(&mut self.flight, &self.tally, &self.frames, &ended);
        let home = self.told_home()?;
        if let Some(told) = &home {
            summary.criteria.extend(home_criteria(&told.summary));
            summary.way_home = Some(told.summary.clone());
            if let Some(study) = &told.study {
                let folder = self.options.out.join("return");
                std::fs::create_dir(&folder).map_err(RecordError::io(&folder))?;
                descent::write_folder(&folder, study)?;
            }
        }
        let digest = self.recorder.finish(&summary)?;
        let data = ReportData {
            summary: summary.clone(),
            digest,
            sheet: pictures::contact_sheet(&self.built.camera, self.options.seed, &self.frames),
            format: pictures::over_the_format(&self.built.camera, &self.frames),
            home: home.map(|told| told.fragment),
            frames: self.frames.into_iter().map(|frame| frame.line).collect(),
            context: page::context(self.loaded, &self.built, self.codes),
        };
        crate::report::write(&self.options.out.join("report.html"), &data)?;
        if let Some(broken) = summary.balances.truth.iter().find(|balance| balance.closes() == Some(false)) {
            return Err(FlightError::Unbalanced {
                name: broken.name.clone(),
                relative: broken.relative.unwrap_or(f64::NAN),
                limit: broken.limit.unwrap_or(f64::NAN),
            });
        }
        Ok(Flown { summary, folder: self.options.out.clone() })
    }
}

/// What was refused was not even a telecommand to this vehicle in its turn.
fn no_telecommand(why: LoadError) -> bool {
    matches!(why, LoadError::Length | LoadError::Packet | LoadError::Sequence)
}

/// What is asked of a return.
fn home_criteria(home: &WayHome) -> [Criterion; 1] {
    let zone = home.touchdown.as_ref().map_or(0.0, |touchdown| f64::from(u8::from(touchdown.in_zone)));
    [Criterion {
        name: "Capsules down in the recovery zone".into(),
        value: Some(zone),
        limit: 1.0,
        bound: Bound::AtLeast,
        unit: String::new(),
    }]
}

/// Torque over summed thrust of the jets that turn the vehicle about each axis, m, with the bank used first.
fn levers_m(built: &Built) -> Vector3<f64> {
    use stillframe_controller::attitude::jet_table::JetTable;
    let jets = &built.settings.jets;
    let usable = jets.iter().enumerate().filter(|(_, jet)| jet.bank == 0).fold(0, |mask, (index, _)| mask | 1 << index);
    let table = JetTable::build(jets, usable);
    Vector3::from([0, 1, 2].map(|axis| {
        let selection = table.select(axis, true);
        selection.map_or(1.0, |selection| {
            let thrust: f32 = jets
                .iter()
                .enumerate()
                .filter(|(index, _)| selection.jets & (1 << index) != 0)
                .map(|(_, jet)| jet.thrust_n)
                .sum();
            f64::from(selection.axis_torque_nm / thrust)
        })
    }))
}

fn run_info(loaded: &Loaded, built: &Built, options: &Options, codes: &CodeNames) -> RunInfo {
    let scenario = &loaded.scenario;
    RunInfo {
        header: MessageHeader {
            created: options.created,
            epoch: scenario.run.start.0,
            object_name: scenario.run.vehicle.clone(),
            comments: vec![format!("Scenario {}, seed {}", scenario.run.name, options.seed)],
        },
        codes: codes.clone(),
        metadata: vec![
            ("stillframe.scenario".into(), scenario.run.name.clone()),
            ("stillframe.seed".into(), options.seed.to_string()),
            (CAMERA_KEY.into(), serde_json::to_string(&built.camera).unwrap_or_default()),
            ("stillframe.settings_hash".into(), format!("{:08x}", built.settings_digest)),
            ("stillframe.film_count_m".into(), built.settings.film.count_m().to_string()),
            ("stillframe.speed_step_m_s".into(), built.settings.camera.speed_step_m_s.to_string()),
        ],
        close_ups: close_ups(loaded),
        orbit_every_s: 60.0,
        attitude_every_s: 10.0,
        attitude_in_pass_every_s: 1.0,
    }
}

/// The capture, and the first pass with its surroundings.
fn close_ups(loaded: &Loaded) -> Vec<Window> {
    let start = loaded.scenario.run.start;
    let mut windows = vec![Window { title: "Capture".into(), start_s: 0.0, end_s: 400.0 }];
    let first = loaded.scenario.commands.iter().find_map(|command| match &command.kind {
        Action::Camera(camera) => Some((command.start_s(start), camera.for_s)),
        _ => None,
    });
    if let Some((at_s, for_s)) = first {
        windows.push(Window {
            title: "First pass".into(),
            start_s: (at_s - 60.0).max(0.0),
            end_s: at_s + for_s + 60.0,
        });
    }
    windows
}
