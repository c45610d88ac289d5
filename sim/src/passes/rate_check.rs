//! The ground's cross-check of a load before it is sent: do its film speeds follow V/h?
//!
//! What is checked is the load itself, entry by entry, not the table that it was made from; and the ruler is
//! another one than the planner's: the turning of the line from camera to ground point, by differences, where
//! the planner has the image's velocity in closed form.

use std::fmt;

use super::{rate_fit::Grid, required::Look};
use crate::{
    scenario::{Scenario, parts::fault::FaultKind},
    world::{Vec3, ellipsoid, frames::OrbitalFrame},
};
use stillframe_controller::programme::load::{Command, Load};

/// Speeds further off than this many steps are warned of. Rounding to the nearest step is off by half a step at
/// most; a table that is off by one, by more than half a step wherever that is not harmless.
const MOST_STEPS: f64 = 0.75;
/// Spacing of the looks while the camera is on, s.
const LOOK_S: f64 = 1.0;
/// Half of the interval over which the line of sight is differenced, s.
const HALF_S: f64 = 0.05;

/// A pass whose film speeds do not follow V/h.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RateWarning {
    /// Camera-on of the pass, s.
    pub on_s: f64,
    /// Where the speed is furthest off, s.
    pub at_s: f64,
    /// Speed in the load there, steps.
    pub steps: u16,
    /// Speed that V/h asks for, steps.
    pub wanted_steps: f64,
}

impl fmt::Display for RateWarning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let percent = 100.0 * (f64::from(self.steps) / self.wanted_steps - 1.0);
        write!(
            f,
            "film rate cross-check: the load has {} speed steps {:.0} s after the start where V/h asks for {:.1} ({percent:+.2} %): look at the load before the pass at {:.2} h",
            self.steps,
            self.at_s,
            self.wanted_steps,
            self.on_s / 3600.0,
        )
    }
}

/// Checks every pass of a load; one warning for each that is off, where it is furthest off.
pub fn check(load: &Load, look: &Look<'_>, grid: &Grid) -> Vec<RateWarning> {
    let mut warnings = Vec::new();
    let (mut steps, mut on_s) = (0, None);
    let mut worst: Option<RateWarning> = None;
    let mut from_s = 0.0;
    for entry in &load.entries {
        let to_s = f64::from(entry.tick) * 0.01;
        if let Some(on_s) = on_s {
            stretch(look, grid, (from_s, to_s, on_s), steps, &mut worst);
        }
        from_s = to_s;
        match entry.command {
            Command::Speed(speed) => steps = speed,
            Command::CameraOn { .. } => on_s = Some(to_s),
            Command::CameraOff => {
                on_s = None;
                warnings.extend(worst.take());
            }
            Command::Hold(_) => {}
        }
    }
    warnings
}

/// Looks at a stretch at one speed, and keeps what is further off than before.
fn stretch(
    look: &Look<'_>,
    grid: &Grid,
    (from_s, to_s, on_s): (f64, f64, f64),
    steps: u16,
    worst: &mut Option<RateWarning>,
) {
    let looks = ((to_s - from_s) / LOOK_S).ceil().max(1.0) as u32;
    for k in 0..=looks {
        let at_s = from_s + (to_s - from_s) * f64::from(k) / f64::from(looks);
        let Some(wanted_m_s) = line_speed_m_s(look, at_s) else { continue };
        let wanted_steps = wanted_m_s / grid.step_m_s;
        let off = |wanted: f64, steps: u16| (f64::from(steps) - wanted).abs();
        let before = worst.map_or(MOST_STEPS, |w| off(w.wanted_steps, w.steps));
        if off(wanted_steps, steps) > before {
            *worst = Some(RateWarning { on_s, at_s, steps, wanted_steps });
        }
    }
}

/// Film speed from the turning of the line of sight to the ground point straight ahead, seen from the local
/// orbital frame, m/s.
fn line_speed_m_s(look: &Look<'_>, at_s: f64) -> Option<f64> {
    let place = |time_s: f64| {
        let (r, v) = look.path.position_velocity(time_s);
        (look.earth.to_fixed(time_s, &r), OrbitalFrame::from_state(&r, &v), r)
    };
    let (camera, frame, _) = place(at_s);
    let height_m = look.at(at_s)?.ground_height_m;
    let down = look.earth.to_fixed(at_s, &frame.z);
    let ground = ellipsoid::ray_to_height(&camera, &down, height_m)?;
    let line = |time_s: f64| -> Vec3 {
        let (_, frame, r) = place(time_s);
        let to_ground = look.earth.to_inertial(time_s, &ground) - r;
        frame.from_inertial() * to_ground.normalize()
    };
    let turned = line(at_s + HALF_S) - line(at_s - HALF_S);
    Some(look.camera.focal_length_m * turned.norm() / (2.0 * HALF_S))
}

/// What the scenario's faults do to a load's film speeds.
pub fn spoil(load: &mut Load, scenario: &Scenario) {
    let start = scenario.run.start;
    for fault in &scenario.faults {
        let FaultKind::RateTableOff(off) = &fault.kind else { continue };
        let (from_s, to_s) = (fault.start_s(start), fault.end_s(start));
        for entry in &mut load.entries {
            let inside = (from_s..to_s).contains(&(f64::from(entry.tick) * 0.01));
            if let (Command::Speed(steps), true) = (&mut entry.command, inside) {
                *steps = (f64::from(*steps) + off.steps).clamp(0.0, f64::from(u16::MAX)) as u16;
            }
        }
    }
}
