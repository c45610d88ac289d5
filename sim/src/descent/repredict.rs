//! What came late: a retro heard or not heard, a drift of the orbit. Where the capsule came down is then told anew, as
//! a region with the weight of each of its parts, never as a point.
//!
//! Three things may have happened: the retro burnt as it should, it burnt in part, it never burnt. Their chances from
//! before (`[return.belief]`) are changed by the news after Bayes: a burn is heard with some chance, no burn never.

use rayon::prelude::*;

use super::dispersions::{Axis, Off, Quantity};
use super::fall::End;
use super::footprint::{Ellipse, Landing, Many, landings};
use super::ground::{Along, below};
use super::integrate::Closeness;
use super::model::{AtRetro, Faults, Model};
use super::recovery::Timers;
use crate::scenario::parts::descent::Belief;
use crate::world::ellipsoid::Geodetic;

/// What is known of the retro.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum News {
    /// Nothing yet.
    #[default]
    None,
    /// A burn was heard, beginning at this time, s, give or take one sigma.
    Heard {
        /// Time from the start of the run, s.
        time_s: f64,
        /// One sigma of it, s.
        sigma_s: f64,
    },
    /// A station listened through the time of the burn and heard none.
    NotHeard,
}

/// What came late.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LateFacts {
    /// Of the retro.
    pub news: News,
    /// How far ahead of its prediction the vehicle was found, m, give or take one sigma.
    pub drift_m: Option<(f64, f64)>,
}

/// Chances after the news: burnt as it should, in part, never.
pub fn chances(belief: &Belief, news: News) -> [f64; 3] {
    let before = [belief.good, belief.partial, 1.0 - belief.good - belief.partial];
    let told = match news {
        News::None => [1.0; 3],
        News::Heard { .. } => [belief.heard, belief.heard, 0.0],
        News::NotHeard => [1.0 - belief.heard, 1.0 - belief.heard, 1.0],
    };
    let joint: Vec<f64> = before.iter().zip(told).map(|(b, t)| b.max(0.0) * t).collect();
    let total: f64 = joint.iter().sum();
    // News that cannot be, given what was believed, changes nothing.
    if total > 0.0 { [0, 1, 2].map(|k| joint[k] / total) } else { before }
}

/// The form of a part of the region.
#[derive(Clone, Debug, PartialEq)]
pub enum Form {
    /// Inside an ellipse: its outline.
    Ellipse(Vec<Geodetic>),
    /// Along a line on the ground, within this distance to either side, m.
    Strip(Vec<Geodetic>, f64),
    /// Anywhere between these latitudes, rad, south and north, once the air ends the orbit.
    UnderOrbit(f64),
}

/// A part of the region.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Chance that it came down here.
    pub chance: f64,
    /// Why it would have.
    pub why: &'static str,
    /// Where.
    pub form: Form,
}

/// Where the capsule may be.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Region {
    /// Parts, likeliest first; their chances add up to one.
    pub parts: Vec<Part>,
    /// Landings of the good burn, behind its ellipse or strip.
    pub landings: Vec<Landing>,
}

/// Shares of the impulse tried for a burn in part.
const SHARES: u32 = 96;
/// Sigmas across the track to either side of a strip.
const ACROSS_SIGMAS: f64 = 3.0;
/// Least distance to either side of a strip where no ellipse tells how far landings lie from the track, m.
const LEAST_ACROSS_M: f64 = 20_000.0;
/// Groups of landings, even in time, whose middles are the corners of a strip.
const CORNERS: f64 = 48.0;
/// Shortest time of a group, s: times of fall scatter by less, and places a thousand kilometres apart give the way.
const SHORTEST_GROUP_S: f64 = 120.0;

/// What a re-prediction is made from.
pub struct Before<'a> {
    /// Capsule and plan, with the faults that are known.
    pub model: &'a Model,
    /// Ignition as planned, or as heard.
    pub at: &'a AtRetro,
    /// Timers.
    pub timers: &'a Timers,
    /// What may be off.
    pub axes: &'a [Axis],
    /// Where offsets are counted from.
    pub along: &'a Along,
    /// Runs of the good burn.
    pub runs: u32,
    /// Seed.
    pub seed: u64,
}

/// The region after `facts`.
pub fn region(before: &Before<'_>, facts: &LateFacts, progress: &(dyn Fn(f64) + Sync)) -> Region {
    let plan = &before.model.plan;
    let [good, partial, none] = chances(&plan.belief, facts.news);
    let axes = known(before.axes, facts);
    let drift_m = facts.drift_m.map_or(0.0, |(drift_m, _)| drift_m);
    let at = before.at.shifted(drift_m);
    let many = Many {
        model: before.model,
        at: &at,
        timers: before.timers,
        axes: &axes,
        along: before.along,
        seed: before.seed,
        runs: before.runs,
    };
    let landings = landings(&many, progress);
    let offsets: Vec<[f64; 2]> = landings.iter().filter(|l| l.down).map(|l| l.offset_m).collect();
    let ellipse = Ellipse::of(&offsets, plan.confidence);
    let mut region = Region { parts: Vec::new(), landings };
    let good_down = good * offsets.len() as f64 / f64::from(before.runs.max(1));
    let across_m = ellipse.map_or(LEAST_ACROSS_M, |e| ACROSS_SIGMAS * e.sigma_m[1]);
    if good_down > 0.0 {
        let form = match ellipse {
            Some(ellipse) => {
                Form::Ellipse(ellipse.outline(72).into_iter().map(|offset| before.along.place(offset)).collect())
            }
            None => through(&region.landings),
        };
        region.parts.push(Part { chance: good_down, why: "the retro burnt as it should", form });
    }
    let (line, down) = strip(before, &at);
    if partial * down > 0.0 {
        let why = "the retro burnt in part: any share of its impulse";
        region.parts.push(Part { chance: partial * down, why, form: Form::Strip(line, across_m) });
    }
    let up = none + partial * (1.0 - down) + (good - good_down);
    if up > 0.0 {
        let latitude = highest_latitude_rad(&at);
        let why = "it stayed in orbit: no burn, or none that brings it down";
        region.parts.push(Part { chance: up, why, form: Form::UnderOrbit(latitude) });
    }
    region.parts.sort_by(|a, b| b.chance.total_cmp(&a.chance));
    region
}

/// The axes with what the facts say in place of what was expected.
fn known(axes: &[Axis], facts: &LateFacts) -> Vec<Axis> {
    let heard_s = match facts.news {
        News::Heard { sigma_s, .. } => Some(sigma_s),
        _ => None,
    };
    let mut known: Vec<Axis> = axes.to_vec();
    let mut set = |quantity: Quantity, sigma: Option<f64>| {
        let Some(sigma) = sigma else { return };
        match known.iter_mut().find(|axis| axis.quantity == quantity) {
            Some(axis) => axis.sigma = sigma,
            None => known.push(Axis { quantity, sigma, even: false }),
        }
    };
    set(Quantity::RetroTime, heard_s);
    set(Quantity::OrbitAlong, facts.drift_m.map(|(_, sigma_m)| sigma_m));
    known
}

/// A strip through landings that no ellipse fits: its corners are the middles of groups that came down one after the
/// other, for the order of times is that along the track.
fn through(landings: &[Landing]) -> Form {
    let mut down: Vec<&Landing> = landings.iter().filter(|landing| landing.down).collect();
    down.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
    let ends_s = [down.first(), down.last()].map(|end| end.map_or(0.0, |landing| landing.time_s));
    let group_s = ((ends_s[1] - ends_s[0]) / CORNERS).max(SHORTEST_GROUP_S);
    let group_of = |landing: &Landing| ((landing.time_s - ends_s[0]) / group_s) as u32;
    let groups: Vec<&[&Landing]> = down.chunk_by(|a, b| group_of(a) == group_of(b)).collect();
    let north = |origin: Geodetic| Along { origin, azimuth_rad: 0.0 };
    let middle = |group: &&[&Landing]| {
        let about = north(group[group.len() / 2].place);
        let sum = group.iter().map(|l| about.offset_m(&l.place)).fold([0.0; 2], |s, o| [s[0] + o[0], s[1] + o[1]]);
        about.place(sum.map(|m| m / group.len() as f64))
    };
    let line: Vec<Geodetic> = groups.iter().map(middle).collect();
    // Scatter across the line, at each corner across the way from the corner before to the one after; all round a
    // corner that stands alone.
    let alone = line.len() == 1;
    let squares = groups.iter().zip(&line).enumerate().flat_map(|(k, (group, corner))| {
        let ends =
            [line[k.saturating_sub(1)], line[(k + 1).min(line.len() - 1)]].map(|end| north(*corner).offset_m(&end));
        let azimuth_rad = (ends[1][1] - ends[0][1]).atan2(ends[1][0] - ends[0][0]);
        let along = Along { origin: *corner, azimuth_rad };
        group.iter().map(move |landing| {
            let [ahead_m, across_m] = along.offset_m(&landing.place);
            if alone { ahead_m.powi(2) + across_m.powi(2) } else { across_m.powi(2) }
        })
    });
    let sigma_m = (squares.sum::<f64>() / down.len().max(1) as f64).sqrt();
    Form::Strip(line, (ACROSS_SIGMAS * sigma_m).max(LEAST_ACROSS_M))
}

/// Where burns in part come down, least shortfall first, and the share of them that comes down at all.
fn strip(before: &Before<'_>, at: &AtRetro) -> (Vec<Geodetic>, f64) {
    let places: Vec<Option<Geodetic>> = (0..SHARES)
        .into_par_iter()
        .map(|k| {
            let missing = (f64::from(k) + 0.5) / f64::from(SHARES);
            let faults = Faults { impulse_missing: missing, ..before.model.faults.clone() };
            let model = Model { faults, ..before.model.clone() };
            let fall = model.fall(at, &Off::default(), before.timers, Closeness::COUNTED, false);
            let last = &fall.last.at;
            (fall.end == End::Down).then(|| below(&last.position_m(), last.t_s, &model.earth))
        })
        .collect();
    let line: Vec<Geodetic> = places.into_iter().flatten().collect();
    let down = line.len() as f64 / f64::from(SHARES);
    (line, down)
}

/// Latitude that the orbit reaches, rad.
fn highest_latitude_rad(at: &AtRetro) -> f64 {
    let normal = at.position_m.cross(&at.velocity_m_s);
    (normal.x.hypot(normal.y) / normal.norm()).clamp(0.0, 1.0).asin()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 97 % good, 1 % partial, 2 % none; heard four times in five. Not heard: 0.194 + 0.002 + 0.02 = 0.216.
    #[test]
    fn news_changes_chances_after_bayes() {
        let belief = Belief { good: 0.97, partial: 0.01, heard: 0.8 };
        let close =
            |a: [f64; 3], b: [f64; 3]| assert!(a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-12), "{a:?} {b:?}");
        close(chances(&belief, News::None), [0.97, 0.01, 0.02]);
        close(chances(&belief, News::NotHeard), [0.194 / 0.216, 0.002 / 0.216, 0.02 / 0.216]);
        close(chances(&belief, News::Heard { time_s: 0.0, sigma_s: 1.0 }), [97.0 / 98.0, 1.0 / 98.0, 0.0]);
        let deaf = Belief { heard: 0.0, ..belief };
        close(chances(&deaf, News::NotHeard), [0.97, 0.01, 0.02]);
    }
}
