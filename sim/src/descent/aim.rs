//! When to fire: the passes of a window whose landing place can be laid into the zone, and the instant for each.
//!
//! Along the track the instant decides; across the track only the choice of the pass does, as the capsule has no
//! means to steer. So the miss across is told for each pass, and the least one is taken.

use rayon::prelude::*;

use super::dispersions::Off;
use super::fall::{End, What};
use super::ground::{Along, azimuth_rad, below};
use super::integrate::Closeness;
use super::model::{AtRetro, Model};
use super::recovery::Timers;
use crate::world::ellipsoid::Geodetic;
use crate::world::ephemeris::Ephemeris;
use crate::world::roots;

/// Spacing of the first look, s: a twelfth of a revolution.
const LOOK_S: f64 = 400.0;
/// Commands are timed to the tick of 10 ms on board.
const TICK_S: f64 = 0.01;

/// A pass that can be used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pass {
    /// The capsule at ignition.
    pub at: AtRetro,
    /// Where it comes down.
    pub touchdown: Geodetic,
    /// When, s.
    pub touchdown_s: f64,
    /// How far the zone's centre lies ahead of it along the track, m: what is left of the search and the tick.
    pub along_m: f64,
    /// How far the zone's centre lies to the right of it, m.
    pub across_m: f64,
    /// Direction of the track there, rad.
    pub azimuth_rad: f64,
}

/// Where a descent from `time_s` comes down, against the zone; `None` if it does not.
fn landing(model: &Model, path: &Ephemeris, time_s: f64) -> Option<Pass> {
    let (position, velocity) = path.position_velocity(time_s);
    let at = model.at_retro(time_s, position, velocity);
    landing_from(model, &at, &Timers::by_height(&model.plan))
}

fn landing_from(model: &Model, at: &AtRetro, timers: &Timers) -> Option<Pass> {
    let fall = model.fall(at, &Off::default(), timers, Closeness::COUNTED, false);
    if fall.end != End::Down {
        return None;
    }
    let touchdown = below(&fall.last.at.position_m(), fall.last.at.t_s, &model.earth);
    let fast = fall.most_g.at.at;
    let azimuth = azimuth_rad(&fast.position_m(), &fast.velocity_m_s(), fast.t_s, &model.earth);
    let zone = &model.plan.zone;
    let centre = Geodetic { latitude_rad: zone.centre_rad[0], longitude_rad: zone.centre_rad[1], height_m: 0.0 };
    let [along_m, across_m] = Along { origin: touchdown, azimuth_rad: azimuth }.offset_m(&centre);
    fall.at(What::Touchdown).map(|end| Pass {
        at: *at,
        touchdown,
        touchdown_s: end.at.t_s,
        along_m,
        across_m,
        azimuth_rad: azimuth,
    })
}

/// Every pass of the window that comes near enough to the zone, in order of time, each aimed along its track.
pub fn passes(model: &Model, path: &Ephemeris) -> Vec<Pass> {
    let (from_s, to_s) = (model.plan.earliest_s, model.plan.latest_s);
    let count = ((to_s - from_s) / LOOK_S).ceil().max(1.0) as usize;
    let time = |k: usize| (from_s + k as f64 * LOOK_S).min(to_s);
    let looks: Vec<Option<Pass>> = (0..=count).into_par_iter().map(|k| landing(model, path, time(k))).collect();
    let brackets: Vec<(f64, f64)> = looks
        .windows(2)
        .filter_map(|pair| {
            let (a, b) = (pair[0]?, pair[1]?);
            // The centre ahead, then behind; not on the far side of the Earth, where ahead turns to behind as well.
            let near = a.along_m.abs().max(b.along_m.abs()) < 6e6;
            let passed = a.along_m >= 0.0 && b.along_m < 0.0;
            let across_m = a.across_m.abs().min(b.across_m.abs());
            (near && passed && across_m < model.plan.most_across_m + 3e6).then_some((a.at.time_s, b.at.time_s))
        })
        .collect();
    let aimed: Vec<Option<Pass>> = brackets.into_par_iter().map(|(a, b)| aim(model, path, a, b)).collect();
    aimed.into_iter().flatten().filter(|pass| pass.across_m.abs() <= model.plan.most_across_m).collect()
}

/// The instant between `a` and `b` that lays the landing place on the zone's centre along the track.
fn aim(model: &Model, path: &Ephemeris, a: f64, b: f64) -> Option<Pass> {
    let along = |t: f64| landing(model, path, t).map_or(f64::NAN, |pass| pass.along_m);
    let found_s = roots::crossing(along, a, b, 0.1 * TICK_S);
    landing(model, path, (found_s / TICK_S).round() * TICK_S)
}

/// The pass to use: the least miss across the track.
pub fn best(passes: &[Pass]) -> Option<usize> {
    let least = passes.iter().enumerate().min_by(|a, b| a.1.across_m.abs().total_cmp(&b.1.across_m.abs()));
    least.map(|(place, _)| place)
}
