//! Exposures gathered while they happen, and frames judged when they end.
//!
//! A strip camera's frame is judged at three instants, at a sixth, a half and five sixths of its length on
//! film; each is the dwell of one line beneath the slit. A framing camera's frame is one exposure. A sweep is judged
//! at five lines, evenly spread over its angle, each while the slit passes over it. Truth is
//! sampled at five nodes inside each exposure, from the plant's own motion between valve edges.

use super::closed_loop::ClosedLoop;
use crate::{
    imaging::{
        Earth,
        camera::{Camera, CameraKind},
        exposure::Scene,
        frame::{FrameInfo, FrameJudgement, judge, judge_point},
        row::FrameRow,
        sample::{Exposure, NODES, Opening, TruthSample, node_times_s, slit_dwell_s},
        smear::{GroundHeight, PointSmear, smear_at},
    },
    passes::areas,
    plant::{TICK_S, film::shutter::OpenIntervals},
    record::columns::FramePoint,
    report::FrameLine,
    scenario::parts::ground::Area,
    world::track::ground_point,
};
use nalgebra::Vector2;
use std::collections::VecDeque;
use stillframe_controller::{
    exposure::{FrameMark, Outcome, Phase},
    io::Actuators,
};

/// Instants judged in a frame of strip.
const STRIP_INSTANTS: i32 = 3;
/// Lines judged in a sweep.
const SWEEP_INSTANTS: i32 = 5;
/// Longest dwell beneath the slit that is sampled, s: only film that hardly moves takes longer. A frame's last exposure
/// is over before [`SETTLE_TICKS`] are.
const LONGEST_DWELL_S: f64 = 0.2;
/// Distance beyond an area's edge within which its ground height counts, m; as the planner takes it.
const HEIGHT_REACH_M: f64 = 100e3;

/// What is needed to know of the camera as it is set up.
#[derive(Clone, Debug)]
pub struct CameraSetup {
    /// Camera.
    pub camera: Camera,
    /// Film counts of one frame of strip.
    pub frame_counts: i32,
    /// Speed of one step of the motion-compensation programme, m/s.
    pub speed_step_m_s: f64,
    /// Shutter times of the camera's settings (framing), s.
    pub exposures_s: [f64; 4],
    /// Delays of the shutter's opening and closing, s.
    pub shutter_delays_s: [f64; 2],
    /// Areas to be photographed.
    pub areas: Vec<Area>,
}

/// An exposure whose nodes are still being taken.
#[derive(Clone, Debug)]
struct Open {
    /// Which frame of this burst it belongs to, and its times.
    frame: i32,
    window_s: (f64, f64),
    opening: Opening,
    programme_m_s: f64,
    steering: Steering,
    samples: Vec<TruthSample>,
    lit: bool,
    jet_fired: bool,
    sweep_angle_rad: f64,
}

/// Yaw steering in force at an exposure: angle, rad, and rate, rad/s.
pub type Steering = (f64, f64);

/// An exposure whose nodes are all taken.
#[derive(Clone, Debug)]
struct Done {
    frame: i32,
    exposure: Exposure,
    steering: Steering,
    /// The shutter was open all the while.
    lit: bool,
}

/// A frame and what became of it.
#[derive(Clone, Debug)]
pub struct JudgedFrame {
    /// Row of the frames' table.
    pub row: FrameRow,
    /// Line of the report.
    pub line: FrameLine,
    /// Its exposures' middles, for the statistics.
    pub middles: Vec<(TruthSample, Steering)>,
    /// What the image did over its format.
    pub points: Vec<FramePoint>,
}

/// Watches for exposures.
#[derive(Clone, Debug)]
pub struct FrameWatch {
    setup: CameraSetup,
    /// Counts at which the shutter opened, in a burst of strip.
    strip_from: Option<i32>,
    next_instant: i32,
    frames_ended: i32,
    open: VecDeque<Open>,
    /// Which of the open exposures each instant of the present tick belongs to.
    owners: Vec<usize>,
    done: Vec<Done>,
    /// Frames that the controller has marked, with the tick of the mark.
    marks: VecDeque<(FrameMark, u64)>,
}

/// Ticks from a mark to its judgement: a framing camera marks a frame when it gives the shutter's command,
/// which acts one tick later and may last longer than a tick.
const SETTLE_TICKS: u64 = 60;

impl FrameWatch {
    /// A watch before the first burst.
    pub fn new(setup: CameraSetup) -> Self {
        Self {
            setup,
            strip_from: None,
            next_instant: 0,
            frames_ended: 0,
            open: VecDeque::new(),
            owners: Vec::new(),
            done: Vec::new(),
            marks: VecDeque::new(),
        }
    }

    /// Before a tick: starts an exposure if one begins in it, and lists the instants to be sampled, in order of time.
    pub fn before(&mut self, flight: &ClosedLoop, instants_s: &mut Vec<f64>) {
        let start_s = flight.time_s();
        let pending = flight.pending();
        match self.setup.camera.kind {
            CameraKind::Strip => self.look_at_strip(flight, pending, start_s),
            CameraKind::Framing => self.look_at_shutter(flight, pending, start_s),
            CameraKind::Sweep => self.look_at_sweep(flight, pending, start_s),
        }
        let end_s = start_s + TICK_S;
        let due = |(owner, open): (usize, &Open)| {
            let nodes = node_times_s(open.window_s.0, open.window_s.1);
            nodes.into_iter().skip(open.samples.len()).filter(move |at_s| *at_s < end_s).map(move |at_s| (at_s, owner))
        };
        let mut instants: Vec<(f64, usize)> = self.open.iter().enumerate().flat_map(due).collect();
        // Exposures longer than a tick may overlap.
        instants.sort_by(|a, b| a.0.total_cmp(&b.0));
        instants_s.clear();
        instants_s.extend(instants.iter().map(|(at_s, _)| *at_s));
        self.owners.clear();
        self.owners.extend(instants.iter().map(|(_, owner)| *owner));
    }

    fn look_at_strip(&mut self, flight: &ClosedLoop, pending: &Actuators, start_s: f64) {
        if flight.controller.exposure().phase != Phase::Exposing {
            self.strip_from = None;
            return;
        }
        let counts = flight.controller.film().metered_counts;
        let from = *self.strip_from.get_or_insert_with(|| {
            self.next_instant = 0;
            self.frames_ended = 0;
            counts
        });
        let length = i64::from(self.setup.frame_counts);
        let due = length * i64::from(2 * self.next_instant + 1) / i64::from(2 * STRIP_INSTANTS);
        if i64::from(counts.wrapping_sub(from)) < due {
            return;
        }
        let slits = &self.setup.camera.slit_widths_m;
        let Some(&width_m) = slits.get(usize::from(pending.slit)).or(slits.last()) else { return };
        let dwell_s = slit_dwell_s(width_m, flight.plant.film().speed_m_s(), LONGEST_DWELL_S);
        let frame = self.next_instant / STRIP_INSTANTS;
        self.next_instant += 1;
        self.begin(flight, frame, (start_s, start_s + dwell_s), Opening::Slit { width_m });
    }

    fn look_at_shutter(&mut self, flight: &ClosedLoop, pending: &Actuators, start_s: f64) {
        let Some(us) = pending.shutter.open_us else { return };
        let [opening_s, closing_s] = self.setup.shutter_delays_s;
        let told_s = start_s + f64::from(us) * 1e-6;
        let exposure_s = self.setup.exposures_s[usize::from(pending.slit.min(3))];
        let window_s = (told_s + opening_s, told_s + exposure_s + closing_s);
        self.frames_ended = 0;
        self.begin(flight, 0, window_s, Opening::Shutter);
    }

    /// Each judged line of a sweep is exposed while the slit passes over it, at the rate that the sweep then has.
    fn look_at_sweep(&mut self, flight: &ClosedLoop, pending: &Actuators, start_s: f64) {
        if pending.shutter.open_us.is_some() {
            (self.next_instant, self.frames_ended) = (0, 0);
        }
        let exposing = pending.shutter.open_us.is_some() || flight.plant.shutter().is_open();
        let slits = &self.setup.camera.slit_widths_m;
        let (Some(sweep), Some(geometry), Some(&width_m), true) = (
            flight.plant.sweep(),
            self.setup.camera.sweep,
            slits.get(usize::from(pending.slit)).or(slits.last()),
            exposing && self.next_instant < SWEEP_INSTANTS,
        ) else {
            return;
        };
        let share = f64::from(2 * self.next_instant + 1) / f64::from(SWEEP_INSTANTS) - 1.0;
        let line_rad = share * geometry.half_angle_rad;
        let dwell_s = width_m / (self.setup.camera.focal_length_m * sweep.rate_rad_s().abs());
        let from_s = (line_rad - sweep.angle_rad()) / sweep.rate_rad_s() - 0.5 * dwell_s;
        if from_s < TICK_S {
            self.next_instant += 1;
            let window_s = (start_s + from_s, start_s + from_s + dwell_s);
            self.begin(flight, 0, window_s, Opening::SweptSlit { width_m });
            if let Some(open) = self.open.back_mut() {
                open.sweep_angle_rad = line_rad;
                open.programme_m_s = f64::from(pending.film.platen_step) * self.setup.speed_step_m_s;
            }
        }
    }

    fn begin(&mut self, flight: &ClosedLoop, frame: i32, window_s: (f64, f64), opening: Opening) {
        let step = flight.controller.commanded_speed_step();
        let status = flight.controller.attitude();
        self.open.push_back(Open {
            frame,
            window_s,
            opening,
            programme_m_s: f64::from(step) * self.setup.speed_step_m_s,
            steering: (f64::from(status.steering_rad), f64::from(status.steering_rate_rad_s)),
            samples: Vec::with_capacity(NODES),
            lit: true,
            jet_fired: false,
            sweep_angle_rad: 0.0,
        });
    }

    /// After a tick: `samples` are the truths at the instants listed before it.
    pub fn after(&mut self, flight: &ClosedLoop, open: &OpenIntervals, samples: &[TruthSample]) {
        let end_s = flight.time_s();
        let start_s = end_s - TICK_S;
        let firing = flight.plant.flowing() != 0 || !flight.plant.flow_edges.is_empty();
        for (sample, owner) in samples.iter().zip(&self.owners) {
            if let Some(exposure) = self.open.get_mut(*owner) {
                exposure.samples.push(*sample);
            }
        }
        for exposure in &mut self.open {
            exposure.jet_fired |= firing;
            exposure.lit &= is_open(open, exposure.window_s.0 - start_s, exposure.window_s.1 - start_s);
        }
        while self.open.front().is_some_and(|exposure| exposure.samples.len() == NODES) {
            if let Some(exposure) = self.open.pop_front() {
                self.keep(exposure);
            }
        }
    }

    fn keep(&mut self, open: Open) {
        let Ok(samples) = <[TruthSample; NODES]>::try_from(open.samples) else { return };
        let exposure = Exposure {
            samples,
            start_s: open.window_s.0,
            end_s: open.window_s.1,
            opening: open.opening,
            programme_film_speed_m_s: Some(open.programme_m_s),
            jet_fired: open.jet_fired,
            sweep_angle_rad: open.sweep_angle_rad,
        };
        self.done.push(Done { frame: open.frame, exposure, steering: open.steering, lit: open.lit });
    }

    /// Takes note of a frame that the controller has marked as ended.
    pub fn mark(&mut self, mark: FrameMark, tick: u64) {
        self.marks.push_back((mark, tick));
    }

    /// A marked frame whose exposures are all in; at the end of a run every one is, for no more will come.
    pub fn due(&mut self, tick: u64, ended: bool) -> Option<FrameMark> {
        let (_, at) = self.marks.front()?;
        if tick < at + SETTLE_TICKS && !ended {
            return None;
        }
        self.marks.pop_front().map(|(mark, _)| mark)
    }

    /// Judges a frame whose exposures are all in.
    pub fn judge(&mut self, mark: &FrameMark, flight: &ClosedLoop) -> JudgedFrame {
        let frame = self.frames_ended;
        self.frames_ended += 1;
        let (done, later): (Vec<Done>, Vec<Done>) = std::mem::take(&mut self.done)
            .into_iter()
            .filter(|done| done.frame >= frame)
            .partition(|done| done.frame == frame);
        self.done = later;
        let lit = done.iter().all(|done| done.lit);
        let middles = done.iter().map(|done| (*done.exposure.middle(), done.steering)).collect();
        let mine: Vec<Exposure> = done.into_iter().map(|done| done.exposure).collect();
        let wanted = match self.setup.camera.kind {
            CameraKind::Strip => STRIP_INSTANTS as usize,
            CameraKind::Framing => 1,
            CameraKind::Sweep => SWEEP_INSTANTS as usize,
        };
        let whole = lit && mine.len() == wanted && mark.outcome != Outcome::CutShort;
        let area = self.area_below(&mine, flight);
        let height_m = area.map_or(0.0, |area| area.ground_height_m);
        let info = FrameInfo {
            number: mark.number,
            height: GroundHeight { true_m: height_m, programme_m: Some(height_m) },
            sun_direction: flight.plant.sun().direction,
            scene: Scene::default(),
            whole,
        };
        let judged = judge(&Earth::WGS84, &self.setup.camera, &mine, &info);
        let points = points_of(mark.number, &self.setup.camera, &mine, &info.height);
        let row = match &judged {
            Ok(judgement) => FrameRow::from(judgement),
            Err(error) => FrameRow::unjudged(mark.number, f64::from(mark.began_tick) * TICK_S, error),
        };
        let name = area.map_or_else(|| "–".into(), |area| area.name.clone());
        let line = line(mark, &row, judged.as_ref().ok(), name);
        JudgedFrame { row, line, middles, points }
    }

    fn area_below(&self, exposures: &[Exposure], flight: &ClosedLoop) -> Option<&Area> {
        let middle = exposures.get(exposures.len() / 2)?.middle();
        let place = ground_point(&middle.position_m, flight.plant.earth(), middle.time_s);
        areas::nearest(&self.setup.areas, place.latitude_rad, place.longitude_rad, HEIGHT_REACH_M)
    }
}

/// The image's path, smear and resolution over the format of every exposure; none where the Earth was missed.
fn points_of(frame: u32, camera: &Camera, exposures: &[Exposure], height: &GroundHeight) -> Vec<FramePoint> {
    let grid = camera.grid();
    let each = exposures.iter().enumerate().filter_map(|(index, exposure)| {
        let smears = smear_at(&Earth::WGS84, camera, exposure, height, &grid).ok()?;
        Some(smears.into_iter().map(move |smear| point_row(frame, index, camera, exposure, &smear)))
    });
    each.flatten().collect()
}

fn point_row(frame: u32, index: usize, camera: &Camera, exposure: &Exposure, smear: &PointSmear) -> FramePoint {
    let judged = judge_point(camera, smear);
    let both = |v: &Vector2<f64>| [v.x as f32, v.y as f32];
    FramePoint {
        time_s: exposure.middle().time_s,
        frame,
        exposure: index as u8,
        sweep_angle_rad: exposure.sweep_angle_rad as f32,
        at_m: [smear.point.x_m as f32, smear.point.y_m as f32],
        exposure_s: exposure.duration_s() as f32,
        ground_per_image: both(&smear.ground_per_image),
        smear_m: both(&smear.extent_m),
        resolution_lp_mm: both(&judged.resolution_lp_mm),
        grd_m: both(&judged.grd_m),
        path_along_m: smear.path_m.map(|at| at.x as f32),
        path_across_m: smear.path_m.map(|at| at.y as f32),
    }
}

/// Whether the shutter was open over the part of a window that lies inside the tick.
fn is_open(open: &OpenIntervals, from_s: f64, to_s: f64) -> bool {
    let (from_us, to_us) = (from_s.max(0.0) * 1e6, to_s.min(TICK_S) * 1e6);
    if to_us <= from_us {
        return true;
    }
    // One microsecond of slack: edges are whole microseconds, windows are not.
    open.iter().any(|interval| f64::from(interval.from_us) <= from_us + 1.0 && f64::from(interval.to_us) + 1.0 >= to_us)
}

fn line(mark: &FrameMark, row: &FrameRow, judged: Option<&FrameJudgement>, area: String) -> FrameLine {
    let or_nan = |value: Option<f64>| value.unwrap_or(f64::NAN);
    let contributions = [
        ("film drive", row.film_drive_um),
        ("film programme", row.film_programme_um),
        ("relief", row.relief_um),
        ("pitch rate", row.pitch_rate_um),
        ("roll rate", row.roll_rate_um),
        ("yaw error", row.yaw_error_um),
        ("yaw rate", row.yaw_rate_worst_um),
        ("field", row.field_worst_um),
    ];
    FrameLine {
        number: row.frame,
        start_s: f64::from(mark.began_tick) * TICK_S,
        duration_s: f64::from(mark.ended_tick.saturating_sub(mark.began_tick)) * TICK_S,
        area,
        latitude_deg: or_nan(row.latitude_deg),
        longitude_deg: or_nan(row.longitude_deg),
        height_m: or_nan(row.height_km) * 1e3,
        sun_elevation_deg: or_nan(row.sun_elevation_deg),
        film_speed_mm_s: or_nan(row.film_speed_mm_s),
        image_speed_mm_s: or_nan(row.required_film_speed_mm_s),
        smear_along_um: or_nan(row.smear_along_centre_um),
        smear_across_um: or_nan(row.smear_across_centre_um),
        budget_um: [or_nan(row.budget_along_um), or_nan(row.budget_across_um)],
        grd_m: judged.map_or(f64::NAN, |judged| judged.grd_m.x.max(judged.grd_m.y)),
        met: row.met,
        cause: if row.met { row.dominant.clone() } else { row.cause.clone() },
        contributions_um: contributions.iter().filter_map(|(name, um)| um.map(|um| ((*name).into(), um))).collect(),
    }
}
