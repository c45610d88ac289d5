//! Every pass over every area.

use super::{
    Subject,
    cells::Cells,
    sight::{Seen, Sight, half_field},
};
use crate::{
    passes::required::Look,
    scenario::parts::{
        camera::CameraKind,
        ground::{Area, Cover},
    },
    world::{Vec3, ellipsoid, frames::Topocentric, sun::Sun, track::ground_point},
};
use nalgebra::Vector3;

/// Spacing of the first look, s.
const SCAN_S: f64 = 10.0;
/// Ground between two looks, m, and a little more.
const SCAN_M: f64 = 80e3;
/// Time that the first look is widened by on either side, s.
const WIDER_S: f64 = 30.0;
/// Overlap of neighbouring frames by which every place is on two of them, with a tenth to spare (common practice: 55 to 60 %).
pub const STEREO_OVERLAP: f64 = 0.55;

/// The swath over one area, once.
#[derive(Clone, Debug, PartialEq)]
pub struct Pass {
    /// The area, by its place in the scenario.
    pub area: usize,
    /// The swath covers some of the area from then, s.
    pub start_s: f64,
    /// Until then, s.
    pub end_s: f64,
    /// Revolution, counted from 1 at the start; the next begins at the ascending node.
    pub revolution: u32,
    /// Cells of the area that are seen.
    pub cells: Vec<usize>,
    /// Share of the area, 0…1.
    pub share: f64,
    /// How many times each cell must be seen to count.
    pub need: u32,
    /// Frame interval wanted for stereo, as overlap; `None` where the camera's own will do.
    pub overlap: Option<f64>,
    /// Lowest and highest elevation of the Sun under the vehicle, rad.
    pub sun_rad: [f64; 2],
    /// Distance of the area's middle from the middle of the swath, m, positive to the right of the track.
    pub aside_m: f64,
    /// Height of the vehicle above the ellipsoid in the middle, m.
    pub height_m: f64,
    /// Crab yaw at beginning, middle and end, rad.
    pub crab_rad: [f64; 3],
    /// Why it is of no use, if so.
    pub unfit: Option<Unfit>,
    /// The plan takes it.
    pub flown: bool,
}

impl Pass {
    /// Its middle, s.
    pub fn middle_s(&self) -> f64 {
        0.5 * (self.start_s + self.end_s)
    }
}

/// Why a pass is of no use; what lies in the place and its light first, what settings or times can change behind it.
#[derive(Clone, Copy, Debug, Eq, Ord, PartialEq, PartialOrd)]
pub enum Unfit {
    /// A strip sees each place once.
    NoStereo,
    /// Hardly any of the area is seen.
    Grazed,
    /// The Sun is lower than wanted.
    Dark,
    /// The Sun is higher than wanted.
    TooBright,
    /// No load can be on board by then.
    NotLoaded,
    /// Capture is not over by then.
    NotCaptured,
    /// The film is cut by then.
    FilmCut,
    /// The programme has the vehicle out of fine hold.
    NotHeld,
    /// The padded camera-on lies outside the run.
    OutsideRun,
    /// The padded camera-on is longer than the flight code obeys, or takes more film than it lets through.
    TooLong,
}

impl Unfit {
    /// As people read it.
    pub fn text(self) -> &'static str {
        match self {
            Self::Dark => "Sun too low",
            Self::TooBright => "Sun too high",
            Self::Grazed => "swath only grazes the area",
            Self::NoStereo => "stereo wanted; a strip camera sees each place once, straight down",
            Self::NotLoaded => "before the load can be on board",
            Self::NotCaptured => "capture is not over by then",
            Self::FilmCut => "after the film is cut",
            Self::NotHeld => "programme has the vehicle out of fine hold",
            Self::OutsideRun => "padded camera-on lies outside the run",
            Self::TooLong => {
                "padded camera-on is longer, or takes more film, than the settings allow (camera.on_limit_ticks, camera.footage_limit_m)"
            }
        }
    }
}

/// A point of the ground track.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrackPoint {
    /// When, s.
    pub time_s: f64,
    /// [Latitude, longitude], rad.
    pub place_rad: [f64; 2],
    /// Revolution, counted from 1.
    pub revolution: u32,
    /// The vehicle is in the Earth's shadow.
    pub shadow: bool,
    /// Elevation of the Sun on the ground below, rad.
    pub sun_rad: f64,
}

/// The ground track of the run, every ten seconds.
pub fn track(subject: &Subject<'_>) -> Vec<TrackPoint> {
    let prediction = subject.tools.prediction;
    let count = (subject.duration_s() / SCAN_S).floor() as usize;
    let mut revolution = 1;
    let mut south = false;
    (0..=count)
        .map(|k| {
            let time_s = k as f64 * SCAN_S;
            let position_m = prediction.path.position(time_s);
            if south && position_m.z >= 0.0 {
                revolution += 1;
            }
            south = position_m.z < 0.0;
            let place = ground_point(&position_m, &prediction.earth, time_s);
            let sun = Sun::at(subject.tools.start.plus_seconds(time_s));
            TrackPoint {
                time_s,
                place_rad: [place.latitude_rad, place.longitude_rad],
                revolution,
                shadow: sun.in_cylinder(&position_m),
                sun_rad: sun.elevation_below_rad(&position_m),
            }
        })
        .collect()
}

/// Every pass over every area, in order of time, fit or not by Sun, share and kind of cover.
pub fn passes(subject: &Subject<'_>, cells: &[Cells]) -> Vec<Pass> {
    let track = track(subject);
    let look = subject.tools.look(subject.scenario);
    let mut passes: Vec<Pass> = Vec::new();
    for (area, (wanted, cells)) in subject.scenario.areas.iter().zip(cells).enumerate() {
        for [from_s, to_s] in near(subject, &track, cells) {
            let revolution = track.iter().rev().find(|point| point.time_s <= 0.5 * (from_s + to_s));
            let revolution = revolution.map_or(1, |point| point.revolution);
            passes.extend(pass(subject, &look, (area, wanted, cells), revolution, [from_s, to_s]));
        }
    }
    passes.sort_by(|a, b| a.start_s.total_cmp(&b.start_s).then(a.area.cmp(&b.area)));
    passes
}

/// Stretches in which the swath may touch the area.
fn near(subject: &Subject<'_>, track: &[TrackPoint], cells: &Cells) -> Vec<[f64; 2]> {
    // Twice the mean height bounds the height of any point of a low orbit that can take pictures at all.
    let highest_m = 2.0 * (subject.tools.prediction.start_radius_m() - ellipsoid::B_M);
    let limit_m = cells.reach_m + half_field(subject.scenario) * highest_m + SCAN_M;
    let limit = (limit_m / ellipsoid::B_M).min(std::f64::consts::PI).cos();
    let middle = unit(cells.middle_rad);
    let mut stretches: Vec<[f64; 2]> = Vec::new();
    let mut open = false;
    for point in track {
        let inside = unit(point.place_rad).dot(&middle) > limit;
        match (inside, open, stretches.last_mut()) {
            (true, true, Some(last)) => last[1] = point.time_s,
            (true, _, _) => stretches.push([point.time_s, point.time_s]),
            (false, _, _) => {}
        }
        open = inside;
    }
    let end_s = subject.duration_s();
    stretches.iter().map(|[from, to]| [(from - WIDER_S).max(0.0), (to + WIDER_S).min(end_s)]).collect()
}

fn unit([latitude, longitude]: [f64; 2]) -> Vec3 {
    let (sine, cosine) = latitude.sin_cos();
    Vector3::new(cosine * longitude.cos(), cosine * longitude.sin(), sine)
}

fn pass(
    subject: &Subject<'_>,
    look: &Look<'_>,
    (area, wanted, cells): (usize, &Area, &Cells),
    revolution: u32,
    [from_s, to_s]: [f64; 2],
) -> Option<Pass> {
    let half = half_field(subject.scenario);
    let sight = Sight::over(look, subject.tools.prediction, from_s, to_s);
    let inside = |seen: &Seen| seen.across.abs() <= half;
    let in_swath = |at: &[f64; 2]| sight.seen(*at, wanted.ground_height_m).filter(inside);
    let seen: Vec<(usize, Seen)> =
        cells.places_rad.iter().enumerate().filter_map(|(k, at)| Some((k, in_swath(at)?))).collect();
    let edge = cells.outline_rad.iter().filter_map(in_swath).map(|seen| seen.time_s);
    let times = seen.iter().map(|(_, seen)| seen.time_s).chain(edge);
    let (start_s, end_s) = times.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), t| (l.min(t), h.max(t)));
    if !start_s.is_finite() {
        return None;
    }
    let middle_s = 0.5 * (start_s + end_s);
    let position_m = subject.tools.prediction.path.position(middle_s);
    let height_m = ellipsoid::height_m(&position_m);
    let aside = sight.seen(cells.middle_rad, wanted.ground_height_m).map_or(f64::NAN, |seen| seen.across);
    let share = seen.len() as f64 / cells.places_rad.len().max(1) as f64;
    let sun_rad = sun_range(subject, [start_s, middle_s, end_s]);
    let (need, overlap) = cover(subject, look, wanted, middle_s);
    let lowest = wanted.lowest_sun_rad.unwrap_or(subject.scenario.planning.lowest_sun_rad);
    let strip = matches!(subject.scenario.camera.kind, CameraKind::Strip(_));
    let unfit = match wanted.cover {
        Cover::Stereo if strip => Some(Unfit::NoStereo),
        _ if share < subject.scenario.planning.least_share || seen.is_empty() => Some(Unfit::Grazed),
        _ if sun_rad[0] < lowest => Some(Unfit::Dark),
        _ if sun_rad[1] > wanted.highest_sun_rad.unwrap_or(f64::INFINITY) => Some(Unfit::TooBright),
        _ => None,
    };
    Some(Pass {
        area,
        start_s,
        end_s,
        revolution,
        cells: seen.into_iter().map(|(cell, _)| cell).collect(),
        share,
        need,
        overlap,
        sun_rad,
        aside_m: aside * height_m,
        height_m,
        crab_rad: [start_s, middle_s, end_s].map(|t| sight.yaw_rad(t)),
        unfit,
        flown: false,
    })
}

/// Lowest and highest Sun on the ground below at some instants, rad.
fn sun_range(subject: &Subject<'_>, times_s: [f64; 3]) -> [f64; 2] {
    let prediction = subject.tools.prediction;
    let sun = times_s.map(|t| {
        let place = ground_point(&prediction.path.position(t), &prediction.earth, t);
        Sun::at(subject.tools.start.plus_seconds(t)).elevation_rad(&Topocentric::at(place), &prediction.earth, t)
    });
    [sun.iter().copied().fold(f64::INFINITY, f64::min), sun.iter().copied().fold(f64::NEG_INFINITY, f64::max)]
}

/// How many passes each cell needs, and the overlap to be commanded. Frames that overlap by more than half show every
/// place twice in one pass; a camera too slow for that needs two passes.
fn cover(subject: &Subject<'_>, look: &Look<'_>, wanted: &Area, middle_s: f64) -> (u32, Option<f64>) {
    let camera = &subject.scenario.camera;
    let (overlap, along_m, cycle_s) = match &camera.kind {
        CameraKind::Strip(_) => return (1, None),
        CameraKind::Frame(frame) => (frame.overlap, camera.frame_length_m, frame.shortest_cycle_s),
        // Film lies across the track: the slit's length counts.
        CameraKind::Sweep(sweep) => (sweep.overlap, camera.format_width_m, sweep.shortest_cycle_s),
    };
    if wanted.cover == Cover::Single || overlap >= STEREO_OVERLAP {
        return (1, None);
    }
    let speed_m_s = look.motion(middle_s).map_or(f64::NAN, |motion| motion.film_speed_m_s);
    let fast_enough = (1.0 - STEREO_OVERLAP) * along_m / speed_m_s >= cycle_s;
    if fast_enough { (1, Some(STEREO_OVERLAP)) } else { (2, None) }
}
