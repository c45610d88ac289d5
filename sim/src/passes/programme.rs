//! The command load that a scenario's programme becomes.
//!
//! For every camera command: the slit for the Sun's elevation, the image speeds of the motion-compensation
//! programme in the drive's steps, camera-on and camera-off. Speeds come from the exact image motion over the
//! ellipsoid along the predicted orbit, and change by one step whenever rounding says so.

use super::{areas, prediction::Prediction, v_over_h};
use crate::{
    imaging::{
        Earth,
        camera::Camera,
        exposure::{Scene, choose_exposure},
        motion::{View, required_motion},
        sample::TruthSample,
    },
    scenario::{
        Scenario,
        parts::command::{Action, CameraOn, Mode, Slit},
    },
    world::{
        frames::{OrbitalFrame, Topocentric},
        sun::Sun,
        time::Utc,
        track::ground_point,
    },
};
use nalgebra::Vector3;
use stillframe_controller::{
    attitude::mode::Hold,
    programme::load::{Command, Entry, Load, MAX_ENTRIES},
};
use thiserror::Error;

/// Distance beyond an area's edge within which its ground height still counts, m.
const HEIGHT_REACH_M: f64 = 100e3;
/// Interval at which image speed is looked at, s.
const LOOK_S: f64 = 0.5;
/// Time before camera-on at which the first speed is set, s.
const FIRST_SPEED_LEAD_S: f64 = 5.0;

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
    #[error(
        "the programme needs {needed} entries; the vehicle's store holds {MAX_ENTRIES}: split it, or use coarser speed steps"
    )]
    TooLong {
        /// Entries wanted.
        needed: usize,
    },
}

/// What the planner works with besides the scenario.
#[derive(Clone, Copy, Debug)]
pub struct Tools<'a> {
    /// Predicted orbit.
    pub prediction: &'a Prediction,
    /// Camera.
    pub camera: &'a Camera,
    /// Speed of one step of the motion-compensation programme, m/s.
    pub speed_step_m_s: f64,
    /// Start of the run.
    pub start: Utc,
}

/// Makes the load.
///
/// # Errors
/// [`ProgrammeError`].
pub fn load(scenario: &Scenario, tools: &Tools<'_>) -> Result<Load, ProgrammeError> {
    let mut entries = Vec::new();
    for command in &scenario.commands {
        let at_s = command.start_s(scenario.run.start);
        match &command.kind {
            Action::Mode(change) => entries.push(Entry { tick: tick(at_s), command: Command::Hold(hold(change.mode)) }),
            Action::CutAndSeal(_) => entries.push(Entry { tick: tick(at_s), command: Command::Secure }),
            Action::Camera(camera) => add_pass(scenario, tools, at_s, camera, &mut entries)?,
        }
    }
    entries.sort_by_key(|entry| entry.tick);
    let needed = entries.len();
    let entries = entries.into_iter().collect::<Vec<_>>();
    if needed > MAX_ENTRIES {
        return Err(ProgrammeError::TooLong { needed });
    }
    Ok(Load { counter: 1, ephemeris: tools.prediction.on_board(), entries: entries.into_iter().collect() })
}

fn add_pass(
    scenario: &Scenario,
    tools: &Tools<'_>,
    at_s: f64,
    camera: &CameraOn,
    entries: &mut Vec<Entry>,
) -> Result<(), ProgrammeError> {
    let end_s = at_s + camera.for_s;
    let wanted = |time_s| needed_speed(scenario, tools, time_s);
    let mut speed = (wanted(at_s)? / tools.speed_step_m_s).round();
    let middle_m_s = wanted(0.5 * (at_s + end_s))?;
    entries.push(Entry { tick: tick(at_s - FIRST_SPEED_LEAD_S).max(1), command: Command::Speed(speed as u16) });
    let expected_rad_s = v_over_h::seen_rad_s(tools.prediction, &scenario.areas, HEIGHT_REACH_M, at_s);
    let beside = tick(at_s - FIRST_SPEED_LEAD_S).max(1);
    entries.push(Entry { tick: beside, command: Command::Expect(v_over_h::units(expected_rad_s)) });
    let slit = match camera.slit {
        Slit::Index(index) => index,
        Slit::Auto => setting_for(tools, 0.5 * (at_s + end_s), middle_m_s),
    };
    let interval_ticks = camera.interval_s.map_or(0, |interval_s| tick(interval_s) as u16);
    entries.push(Entry { tick: tick(at_s), command: Command::CameraOn { slit, interval_ticks } });
    let looks = ((end_s - at_s) / LOOK_S) as usize;
    for look in 1..looks {
        let time_s = at_s + look as f64 * LOOK_S;
        let exact = wanted(time_s)? / tools.speed_step_m_s;
        // Changes lie where the exact speed is half way between two steps.
        if (exact - speed).abs() > 0.5 {
            speed = exact.round();
            entries.push(Entry { tick: tick(time_s), command: Command::Speed(speed as u16) });
        }
    }
    entries.push(Entry { tick: tick(end_s), command: Command::CameraOff });
    Ok(())
}

/// Image speed at the middle of the format over the ground expected there, m/s.
fn needed_speed(scenario: &Scenario, tools: &Tools<'_>, time_s: f64) -> Result<f64, ProgrammeError> {
    let sample = looking_down(tools.prediction, time_s);
    let place = ground_point(&sample.position_m, &tools.prediction.earth, time_s);
    let height_m = areas::ground_height_m(&scenario.areas, place.latitude_rad, place.longitude_rad, HEIGHT_REACH_M);
    let view = View::new(&Earth::WGS84, &sample);
    let motion = required_motion(&view, tools.camera.focal_length_m, height_m);
    motion.map(|motion| motion.film_speed_m_s).ok_or(ProgrammeError::EarthMissed { at_s: time_s })
}

/// The vehicle as it should be: square to the local orbital frame.
pub fn looking_down(prediction: &Prediction, time_s: f64) -> TruthSample {
    let (position_m, velocity_m_s) = prediction.path.position_velocity(time_s);
    let frame = OrbitalFrame::from_state(&position_m, &velocity_m_s);
    TruthSample {
        time_s,
        attitude: frame.quaternion(),
        rate_rad_s: Vector3::zeros(),
        earth_angle_rad: prediction.earth.angle_rad(time_s),
        film_speed_m_s: 0.0,
        position_m,
        velocity_m_s,
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
    }
}

fn tick(time_s: f64) -> u32 {
    (time_s * 100.0).round().max(0.0) as u32
}
