//! Camera-on times: passes padded by what their time may be off, those too close to each other joined, and what each
//! costs.

use super::{
    Subject, cut_s,
    uncertainty::Uncertainty,
    windows::{Pass, Unfit},
};
use crate::{
    passes::required::Look,
    scenario::parts::{
        camera::CameraKind,
        command::{Action, Mode},
    },
};

/// Most areas joined in one camera-on. A longer row is cut into such pieces.
const MOST_JOINED: usize = 12;
/// The first speed of a burst stands this long before camera-on in the load, s, and its entries must not be late.
const BEFORE_S: f64 = 6.0;
/// Times are rounded outward to this, s.
const ROUND_S: f64 = 0.1;

/// One camera-on.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Burst {
    /// Passes that it covers, in order of time.
    pub passes: Vec<usize>,
    /// The swath is over an area from then to then, s.
    pub over_s: [f64; 2],
    /// Padding before and after, s.
    pub padding_s: [f64; 2],
    /// Camera-on, s.
    pub on_s: f64,
    /// Camera-off, s.
    pub off_s: f64,
    /// Nothing fires but for the burst's own sake from then to camera-off, s.
    pub quiet_s: f64,
    /// Placements of the attitude before and within.
    pub placings: u32,
    /// Time from frame to frame, s, where stereo asks for another than the camera's own.
    pub interval_s: Option<f64>,
    /// Frames; of a strip, pieces of a frame's length.
    pub frames: u32,
    /// Film, m.
    pub film_m: f64,
    /// Gas, kg, beyond what hold takes anyway.
    pub gas_kg: f64,
    /// Energy, J, beyond what flying takes anyway.
    pub energy_j: f64,
    /// Entries of the load.
    pub entries: usize,
}

impl Burst {
    /// Length, s.
    pub fn duration_s(&self) -> f64 {
        self.off_s - self.on_s
    }
}

/// Padded camera-on and camera-off around a stretch, s.
fn padded(uncertainty: &Uncertainty, [start_s, end_s]: [f64; 2]) -> [f64; 2] {
    let on_s = start_s - uncertainty.padding_s(start_s);
    let off_s = end_s + uncertainty.padding_s(end_s);
    [(on_s / ROUND_S).floor() * ROUND_S, (off_s / ROUND_S).ceil() * ROUND_S]
}

/// Marks passes that cannot be flown whatever the plan: load, cut film, hold, ends of the run, length.
pub fn refuse_unfit(subject: &Subject<'_>, uncertainty: &Uncertainty, loaded_s: Option<f64>, passes: &mut [Pass]) {
    let look = subject.tools.look(subject.scenario);
    let cut_s = cut_s(subject.scenario);
    for index in 0..passes.len() {
        let Some(pass) = passes.get(index).filter(|pass| pass.unfit.is_none()) else { continue };
        let [on_s, off_s] = padded(uncertainty, [pass.start_s, pass.end_s]);
        let film_m = cost(subject, &look, passes, vec![index], [on_s, off_s]).film_m;
        let too_long = off_s - on_s > subject.facts.longest_on_s || film_m > subject.facts.most_film_m;
        let unfit = if on_s - BEFORE_S < 0.0 || off_s > subject.duration_s() {
            Some(Unfit::OutsideRun)
        } else if loaded_s.is_none_or(|loaded_s| on_s - BEFORE_S < loaded_s) {
            Some(Unfit::NotLoaded)
        } else if on_s < subject.facts.ready_s {
            Some(Unfit::NotCaptured)
        } else if off_s >= cut_s {
            Some(Unfit::FilmCut)
        } else if !held(subject, [on_s, off_s]) {
            Some(Unfit::NotHeld)
        } else {
            too_long.then_some(Unfit::TooLong)
        };
        if let Some(pass) = passes.get_mut(index) {
            pass.unfit = unfit;
        }
    }
}

/// Whether the commands that stay leave the vehicle in fine hold for all of a burst.
fn held(subject: &Subject<'_>, [on_s, off_s]: [f64; 2]) -> bool {
    let start = subject.scenario.run.start;
    let mut before = Mode::Fine;
    let mut within = true;
    for command in &subject.scenario.commands {
        let Action::Mode(change) = &command.kind else { continue };
        let at_s = command.start_s(start);
        if at_s <= on_s {
            before = change.mode;
        } else if at_s < off_s {
            within &= change.mode == Mode::Fine;
        }
    }
    within && before == Mode::Fine
}

/// Every camera-on that could be flown: each fit pass alone, and each unbroken row of passes of which neighbours are
/// too close to be flown apart.
pub fn bursts(subject: &Subject<'_>, uncertainty: &Uncertainty, passes: &[Pass]) -> Vec<Burst> {
    let look = subject.tools.look(subject.scenario);
    let gap_s = subject.scenario.planning.least_gap_s;
    let fit: Vec<usize> =
        passes.iter().enumerate().filter(|(_, pass)| pass.unfit.is_none()).map(|(index, _)| index).collect();
    let mut bursts = Vec::new();
    for (first, &index) in fit.iter().enumerate() {
        let Some(pass) = passes.get(index) else { continue };
        let mut row = vec![index];
        let mut over_s = [pass.start_s, pass.end_s];
        bursts.push(burst(subject, uncertainty, &look, passes, row.clone(), over_s));
        for &next in fit.iter().skip(first + 1).take(MOST_JOINED - 1) {
            let Some(joined) = passes.get(next) else { break };
            let apart_s = padded(uncertainty, [joined.start_s, joined.end_s])[0] - padded(uncertainty, over_s)[1];
            if apart_s >= gap_s {
                break;
            }
            row.push(next);
            over_s[1] = over_s[1].max(joined.end_s);
            let long = burst(subject, uncertainty, &look, passes, row.clone(), over_s);
            if long.duration_s() > subject.facts.longest_on_s || long.film_m > subject.facts.most_film_m {
                break;
            }
            bursts.push(long);
        }
    }
    bursts
}

fn burst(
    subject: &Subject<'_>,
    uncertainty: &Uncertainty,
    look: &Look<'_>,
    passes: &[Pass],
    row: Vec<usize>,
    over_s: [f64; 2],
) -> Burst {
    let times_s = padded(uncertainty, over_s);
    let burst = cost(subject, look, passes, row, times_s);
    Burst { over_s, padding_s: [over_s[0] - burst.on_s, burst.off_s - over_s[1]], ..burst }
}

/// What a camera-on costs.
fn cost(subject: &Subject<'_>, look: &Look<'_>, passes: &[Pass], row: Vec<usize>, [on_s, off_s]: [f64; 2]) -> Burst {
    let (facts, scenario) = (&subject.facts, subject.scenario);
    let length_s = off_s - on_s;
    let speeds = speeds(look, [on_s, off_s]);
    let middle_m_s = speeds[2];
    let overlap = row.iter().filter_map(|&pass| passes.get(pass)?.overlap).reduce(f64::max);
    let camera = &scenario.camera;
    // Frames of a fixed length, one more than intervals.
    let framed = |interval_s: f64, frame_m: f64| {
        let frames = (length_s / interval_s).floor() + 1.0;
        (frames as u32, frames * frame_m)
    };
    let interval = |own: f64, length_m: f64, shortest_s: f64| {
        ((1.0 - overlap.unwrap_or(own)) * length_m / middle_m_s).max(shortest_s)
    };
    let (interval_s, (frames, film_m)) = match &camera.kind {
        CameraKind::Strip(_) => {
            // Boole's rule: the speed changes by a hundredth of a per cent a second.
            let [a, b, c, d, e] = speeds;
            let film_m = length_s * (7.0 * a + 32.0 * b + 12.0 * c + 32.0 * d + 7.0 * e) / 90.0;
            let frames = (film_m / camera.frame_length_m).ceil() as u32;
            (0.0, (frames, film_m + facts.film_over_s * middle_m_s))
        }
        CameraKind::Frame(frame) => {
            let interval_s = interval(frame.overlap, camera.frame_length_m, frame.shortest_cycle_s);
            (interval_s, framed(interval_s, camera.frame_length_m + frame.frame_gap_m))
        }
        CameraKind::Sweep(sweep) => {
            let interval_s = interval(sweep.overlap, camera.format_width_m, sweep.shortest_cycle_s);
            (interval_s, framed(interval_s, camera.frame_length_m + sweep.frame_gap_m))
        }
    };
    let placings = 1 + (length_s / facts.quiet_longest_s.max(1.0)).floor() as u32;
    Burst {
        passes: row,
        on_s,
        off_s,
        quiet_s: on_s - facts.quiet_before_s,
        placings,
        // Whole ticks, never longer: overlap is to be had, not nearly had.
        interval_s: overlap.map(|_| (interval_s * 100.0 + 1e-6).floor() / 100.0),
        frames,
        film_m,
        gas_kg: f64::from(placings) * facts.placing_kg,
        energy_j: scenario.power.film_w * (length_s + facts.film_over_s),
        entries: entries(subject, &speeds),
        ..Burst::default()
    }
}

/// Entries that a burst takes: on, off, the V/h expected, and a speed for each step of the drive that it runs through.
fn entries(subject: &Subject<'_>, speeds: &[f64; 5]) -> usize {
    let (low, high) = speeds.iter().fold((f64::INFINITY, 0.0_f64), |(l, h), v| (l.min(*v), h.max(*v)));
    4 + ((high - low) / subject.tools.speeds.step_m_s).ceil() as usize
}

/// Film speed at five even instants, m/s.
fn speeds(look: &Look<'_>, [on_s, off_s]: [f64; 2]) -> [f64; 5] {
    [0.0, 0.25, 0.5, 0.75, 1.0]
        .map(|share| look.motion(on_s + share * (off_s - on_s)).map_or(f64::NAN, |motion| motion.film_speed_m_s))
}
