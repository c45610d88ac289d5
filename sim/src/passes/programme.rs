//! The command load that a scenario's programme becomes.
//!
//! For every camera command: the slit for the Sun's elevation, the image speeds of the motion-compensation
//! programme in the drive's steps, camera-on and camera-off. Speeds follow the exact image motion over the
//! ellipsoid along the predicted orbit, as well as the load's free entries allow ([`rate_fit`]).

use super::{
    prediction::Prediction,
    rate_fit::{self, Fit, FitError, Grid, Node},
    required::{HEIGHT_REACH_M, Look},
    v_over_h,
};
use crate::{
    imaging::{
        camera::Camera,
        exposure::{Scene, choose_exposure},
    },
    scenario::{
        Scenario,
        parts::{
            camera::CameraKind,
            command::{Action, CameraOn, Mode, Slit},
        },
    },
    world::{frames::Topocentric, sun::Sun, time::Utc, track::ground_point},
};
use stillframe_controller::{
    attitude::mode::Hold,
    programme::load::{Command, Entry, Load, MAX_ENTRIES},
};
use thiserror::Error;

/// Interval at which image speed is looked at, s: it changes by less than a part in 10⁵ in that time.
const LOOK_S: f64 = 0.1;
/// Time before camera-on at which the first speed is set, s.
const FIRST_SPEED_LEAD_S: f64 = 5.0;
/// Largest rate error that a full load may cause: half of the one per cent that all of it together may come to
/// (common practice).
const MOST_RATE_ERROR: f64 = 0.005;

/// Why no load can be made.
#[derive(Debug, Error)]
pub enum ProgrammeError {
    /// The camera looks past the Earth along the predicted orbit.
    #[error("the camera would not see the Earth {at_s:.0} s after the start")]
    EarthMissed {
        /// When.
        at_s: f64,
    },
    /// The load store is too small.
    #[error("the programme needs {needed} entries; the vehicle's store holds {MAX_ENTRIES}: split it")]
    TooLong {
        /// Entries wanted.
        needed: usize,
    },
    /// The speeds cannot be followed closely enough with the entries that are free.
    #[error(
        "the store's {MAX_ENTRIES} entries leave a film rate error of {percent:.2} %: split the programme, or use coarser speed steps"
    )]
    TooCoarse {
        /// Largest rate error, per cent.
        percent: f64,
    },
    /// The speeds cannot be followed at all.
    #[error("no film rate programme: {0}")]
    Rates(#[from] FitError),
}

/// What the planner works with besides the scenario.
#[derive(Clone, Copy, Debug)]
pub struct Tools<'a> {
    /// Predicted orbit.
    pub prediction: &'a Prediction,
    /// Camera.
    pub camera: &'a Camera,
    /// Speeds that the film drive (strip) or platen (framing) can be asked for.
    pub speeds: Grid,
    /// Start of the run.
    pub start: Utc,
}

impl<'a> Tools<'a> {
    /// The camera as it should be, along the predicted orbit.
    pub fn look(&self, scenario: &'a Scenario) -> Look<'a> {
        Look {
            path: &self.prediction.path,
            earth: self.prediction.earth,
            start: self.start,
            camera: self.camera,
            areas: &scenario.areas,
            tilt_rad: [0.0; 2],
            relief_m: 0.0,
        }
    }
}

/// One camera command with its speeds wanted.
struct Pass<'a> {
    at_s: f64,
    end_s: f64,
    camera: &'a CameraOn,
    middle_m_s: f64,
    nodes: Vec<Node>,
}

/// Makes the load.
///
/// # Errors
/// [`ProgrammeError`].
pub fn load(scenario: &Scenario, tools: &Tools<'_>) -> Result<Load, ProgrammeError> {
    let mut entries = Vec::new();
    let mut passes = Vec::new();
    for command in &scenario.commands {
        let at_s = command.start_s(scenario.run.start);
        match &command.kind {
            Action::Mode(change) => entries.push(Entry { tick: tick(at_s), command: Command::Hold(hold(change.mode)) }),
            Action::CutAndSeal(_) => entries.push(Entry { tick: tick(at_s), command: Command::Secure }),
            Action::Receiver(receiver) => {
                entries.push(Entry { tick: tick(at_s), command: Command::Receiver(receiver.on) });
            }
            Action::Silence(silence) => {
                let timers = [(silence.opens_after_s, Command::OpenAfter as fn(u16) -> Command)];
                let timers = timers.into_iter().chain([(silence.safe_after_s, Command::SafeAfter as _)]);
                entries.extend(timers.filter_map(|(after_s, command)| {
                    let minutes = (after_s? / 60.0).round().clamp(0.0, f64::from(u16::MAX)) as u16;
                    Some(Entry { tick: tick(at_s), command: command(minutes) })
                }));
            }
            Action::Camera(camera) => passes.push(pass(scenario, tools, at_s, camera)?),
        }
    }
    // On, off and the V/h expected for each pass; at least one speed each.
    let needed = entries.len() + 4 * passes.len();
    if needed > MAX_ENTRIES {
        return Err(ProgrammeError::TooLong { needed });
    }
    let free = MAX_ENTRIES - entries.len() - 3 * passes.len();
    if !passes.is_empty() {
        let rates = rates(&passes, tools, free)?;
        let mut left: &[rate_fit::Change] = &rates.changes;
        let mut first_node = 0;
        let mut before_s = 0.0;
        for pass in &passes {
            let end_node = first_node + pass.nodes.len();
            let (mine, rest) = left.split_at(left.partition_point(|change| change.node < end_node));
            left = rest;
            first_node = end_node;
            add_pass(scenario, tools, pass, mine, before_s, &mut entries);
            before_s = pass.end_s;
        }
    }
    entries.sort_by_key(|entry| entry.tick);
    Ok(Load { counter: 1, ephemeris: tools.prediction.on_board(), entries: entries.into_iter().collect() })
}

fn pass<'a>(
    scenario: &Scenario,
    tools: &Tools<'_>,
    at_s: f64,
    camera: &'a CameraOn,
) -> Result<Pass<'a>, ProgrammeError> {
    let look = tools.look(scenario);
    let wanted = |time_s: f64| {
        let motion = look.motion(time_s).ok_or(ProgrammeError::EarthMissed { at_s: time_s });
        motion.map(|motion| motion.film_speed_m_s)
    };
    let looks = (camera.for_s / LOOK_S).ceil() as usize;
    let nodes = (0..looks.max(1)).map(|k| {
        let time_s = at_s + k as f64 * LOOK_S;
        Ok(Node::exact(time_s, wanted(time_s)?, k == 0))
    });
    let nodes = nodes.collect::<Result<Vec<_>, ProgrammeError>>()?;
    let end_s = at_s + camera.for_s;
    Ok(Pass { at_s, end_s, camera, middle_m_s: wanted(0.5 * (at_s + end_s))?, nodes })
}

fn rates(passes: &[Pass<'_>], tools: &Tools<'_>, free: usize) -> Result<Fit, ProgrammeError> {
    let nodes: Vec<Node> = passes.iter().flat_map(|pass| pass.nodes.iter().copied()).collect();
    let rates = rate_fit::fit(&nodes, &tools.speeds, free)?;
    // A coarse drive is the camera's own affair; a full store is not.
    if rates.changes.len() >= free && rates.worst > MOST_RATE_ERROR {
        return Err(ProgrammeError::TooCoarse { percent: 100.0 * rates.worst });
    }
    Ok(rates)
}

fn add_pass(
    scenario: &Scenario,
    tools: &Tools<'_>,
    pass: &Pass<'_>,
    changes: &[rate_fit::Change],
    before_s: f64,
    entries: &mut Vec<Entry>,
) {
    let slit = match pass.camera.slit {
        Slit::Index(index) => index,
        Slit::Auto => setting_for(tools, 0.5 * (pass.at_s + pass.end_s), pass.middle_m_s),
    };
    let interval_ticks = interval_ticks(scenario, pass);
    for (k, change) in changes.iter().enumerate() {
        // The first speed stands before camera-on, so that film can start ahead of it.
        let at_s = if k == 0 { (pass.at_s - FIRST_SPEED_LEAD_S).max(before_s) } else { change.at_s };
        entries.push(Entry { tick: tick(at_s).max(1), command: Command::Speed(change.step) });
        if k == 0 {
            let expected_rad_s = v_over_h::seen_rad_s(tools.prediction, &scenario.areas, HEIGHT_REACH_M, pass.at_s);
            entries.push(Entry { tick: tick(at_s).max(1), command: Command::Expect(v_over_h::units(expected_rad_s)) });
            entries.push(Entry { tick: tick(pass.at_s), command: Command::CameraOn { slit, interval_ticks } });
        }
    }
    entries.push(Entry { tick: tick(pass.end_s), command: Command::CameraOff });
}

/// Pace of a framing camera or a sweep: as commanded, or what its overlap asks for at the pass's image speed.
fn interval_ticks(scenario: &Scenario, pass: &Pass<'_>) -> u16 {
    match &scenario.camera.kind {
        CameraKind::Strip(_) => 0,
        CameraKind::Frame(frame) => {
            let from_overlap_s = (1.0 - frame.overlap) * scenario.camera.frame_length_m / pass.middle_m_s;
            let interval_s = pass.camera.interval_s.unwrap_or(from_overlap_s.max(frame.shortest_cycle_s));
            tick(interval_s).min(u32::from(u16::MAX)) as u16
        }
        CameraKind::Sweep(sweep) => {
            // Film lies across the track: the next picture is due when the slit's length has gone by.
            let from_overlap_s = (1.0 - sweep.overlap) * scenario.camera.format_width_m / pass.middle_m_s;
            let interval_s = pass.camera.interval_s.unwrap_or(from_overlap_s.max(sweep.shortest_cycle_s));
            tick(interval_s).min(u32::from(u16::MAX)) as u16
        }
    }
}

fn setting_for(tools: &Tools<'_>, time_s: f64, film_speed_m_s: f64) -> u8 {
    let position_m = tools.prediction.path.position(time_s);
    let place = ground_point(&position_m, &tools.prediction.earth, time_s);
    let sun = Sun::at(tools.start.plus_seconds(time_s));
    let elevation_rad = sun.elevation_rad(&Topocentric::at(place), &tools.prediction.earth, time_s);
    let choice = choose_exposure(tools.camera, &Scene::default(), elevation_rad, film_speed_m_s);
    choice.map_or(0, |choice| choice.index as u8)
}

fn hold(mode: Mode) -> Hold {
    match mode {
        Mode::Fine => Hold::Fine,
        Mode::Coarse => Hold::Coarse,
        Mode::Drift => Hold::Drift,
        Mode::Turned => Hold::Turned,
    }
}

fn tick(time_s: f64) -> u32 {
    (time_s * 100.0).round().max(0.0) as u32
}
