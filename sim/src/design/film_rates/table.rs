//! The stored rate programme of each load: fitted to what the ground predicts, under the store's limits.

use super::{Blunder, Cover, LOWEST_SUN_RAD, Mission, Options, study::FilmRatesError};
use crate::{
    passes::{
        prediction::on_board,
        rate_fit::{self, Change, Fit, Node},
        required::Look,
    },
    scenario::parts::command::Action,
    world::ephemeris::Ephemeris,
};
use rayon::prelude::*;
use stillframe_controller::{attitude::orbit::Ephemeris as OnBoard, programme::load::MAX_ENTRIES};

/// Spacing of the nodes that are fitted, s. Image speed changes by at most 2e-4 of itself in a second.
const NODE_S: f64 = 1.0;

/// The rate programme of one load.
#[derive(Clone, Debug)]
pub struct Table {
    /// In force from here, s of the mission, by the on-board clock.
    pub from_s: f64,
    /// To here, s.
    pub to_s: f64,
    /// Entries in order of time.
    pub changes: Vec<Change>,
    /// Largest relative error against the prediction and its band.
    pub worst: f64,
    /// Root mean square of it.
    pub rms: f64,
    /// Entries of the store that were free for rates.
    pub free: usize,
    /// What clock and prediction may be off by at the end, s: the fit allows for it, growing from nothing.
    pub time_band_s: f64,
    /// Orbit constants of the load, for the crab steering.
    pub on_board: OnBoard,
    predicted_m_s: Vec<f64>,
    covered: Vec<bool>,
}

impl Table {
    /// Speed step in force at an instant of the on-board clock; the first before the first.
    pub fn step_at(&self, on_board_s: f64) -> u16 {
        let after = self.changes.partition_point(|change| change.at_s <= on_board_s);
        self.changes.get(after.saturating_sub(1)).map_or(0, |change| change.step)
    }

    /// Speed that the ground predicted for an instant, m/s.
    pub fn predicted_at(&self, time_s: f64) -> f64 {
        let place = ((time_s - self.from_s) / NODE_S).clamp(0.0, self.predicted_m_s.len().saturating_sub(1) as f64);
        let (index, share) = (place.floor() as usize, place.fract());
        let at = |k: usize| self.predicted_m_s.get(k).or(self.predicted_m_s.last()).copied().unwrap_or(f64::NAN);
        at(index) + share * (at(index + 1) - at(index))
    }

    /// Whether the programme is meant to hold at an instant.
    pub fn covers(&self, time_s: f64) -> bool {
        let index = ((time_s - self.from_s) / NODE_S).floor();
        index >= 0.0 && self.covered.get(index as usize).copied().unwrap_or(false)
    }

    /// Largest change of speed from one entry to the next inside a stretch, as a share.
    pub fn largest_jump(&self) -> f64 {
        let jumps = self.changes.windows(2).filter(|pair| self.covers(pair[1].at_s - 1.5 * NODE_S));
        jumps.map(|pair| (f64::from(pair[1].step) / f64::from(pair[0].step) - 1.0).abs()).fold(0.0, f64::max)
    }
}

/// What one more or less frequent load would do.
#[derive(Clone, Copy, Debug)]
pub struct Trade {
    /// Time from load to load, s.
    pub load_every_s: f64,
    /// Largest relative error.
    pub worst: f64,
    /// Largest change of speed between entries.
    pub largest_jump: f64,
    /// Entries used.
    pub entries: usize,
}

/// All loads of the mission.
#[derive(Clone, Debug)]
pub struct Tables {
    /// In order of time.
    pub tables: Vec<Table>,
    /// What other intervals between loads would give, on the mission's last day.
    pub trade: Vec<Trade>,
}

impl Tables {
    /// The load in force at an instant.
    pub fn at(&self, time_s: f64) -> Option<&Table> {
        let after = self.tables.partition_point(|table| table.from_s <= time_s);
        self.tables.get(after.saturating_sub(1))
    }
}

/// Fits the rate programme of every load.
///
/// # Errors
/// If a prediction comes down, the camera looks past the Earth, or the drive cannot follow.
pub fn tables(mission: &Mission<'_>, options: &Options) -> Result<Tables, FilmRatesError> {
    let count = (mission.end_s / options.load_every_s).ceil().max(1.0) as usize;
    let spans = (0..count).map(|k| {
        let from_s = k as f64 * options.load_every_s;
        (from_s, (from_s + options.load_every_s).min(mission.end_s))
    });
    let spans: Vec<_> = spans.collect();
    let tables = spans.par_iter().map(|&(from_s, to_s)| table(mission, options, from_s, to_s));
    let tables = tables.collect::<Result<Vec<_>, _>>()?;
    Ok(Tables { tables, trade: trade(mission, options)? })
}

/// Entries that a load of this length needs for other commands: the scenario's own, in proportion.
fn other_entries(mission: &Mission<'_>, length_s: f64) -> usize {
    let entries: usize = mission.scenario.commands.iter().map(|c| if on_off(&c.kind) { 3 } else { 1 }).sum();
    let share = length_s / mission.scenario.run.duration_s;
    ((entries as f64 * share).ceil() as usize).clamp(2, MAX_ENTRIES / 2)
}

/// Whether a command takes camera-on, camera-off and the V/h expected, not one entry.
fn on_off(action: &Action) -> bool {
    matches!(action, Action::Camera(_))
}

/// Nodes of one load.
struct Looked {
    speeds_m_s: Vec<f64>,
    covered: Vec<bool>,
    nodes: Vec<Node>,
    time_band_s: f64,
    path: Ephemeris,
}

fn look(mission: &Mission<'_>, options: &Options, from_s: f64, to_s: f64) -> Result<Looked, FilmRatesError> {
    let path = mission.predicted(from_s, to_s, 1.0)?;
    let other = mission.predicted(from_s, to_s, 1.0 + options.density_error)?;
    let length_s = to_s - from_s;
    let (here, velocity) = path.position_velocity(length_s);
    let place_s = ((other.position(length_s) - here).dot(&velocity) / velocity.norm_squared()).abs();
    let clock_s = options.clock_s_per_day * length_s / 86_400.0;
    let look = mission.look_along(&path, from_s);
    let count = (length_s / NODE_S).ceil() as usize + 1;
    let looked = (0..count).into_par_iter().map(|k| wanted(&look, options, k as f64 * NODE_S, from_s));
    let looked = looked.collect::<Result<Vec<_>, _>>()?;
    let (speeds_m_s, covered): (Vec<f64>, Vec<bool>) = looked.into_iter().unzip();
    let mut nodes = Vec::with_capacity(count);
    let mut before = false;
    for (k, (&speed, &covered)) in speeds_m_s.iter().zip(&covered).enumerate() {
        let share = k as f64 / count as f64;
        // The clock gains evenly; place is lost with the square of time.
        let off_s = clock_s * share + place_s * share * share;
        if covered {
            let slope_m_s2 = slope(&speeds_m_s, k);
            let band_m_s = slope_m_s2.abs() * off_s;
            nodes.push(Node {
                at_s: from_s + k as f64 * NODE_S,
                low_m_s: speed - band_m_s,
                high_m_s: speed + band_m_s,
                begins: !before,
            });
        }
        before = covered;
    }
    Ok(Looked { speeds_m_s, covered, nodes, time_band_s: clock_s + place_s, path })
}

fn wanted(look: &Look<'_>, options: &Options, at_s: f64, from_s: f64) -> Result<(f64, bool), FilmRatesError> {
    let required = look.at(at_s).ok_or(FilmRatesError::EarthMissed { at_s: from_s + at_s })?;
    let speed_m_s = match options.blunder {
        Some(Blunder::OrbitalRate) => required.motion.v_over_h_inertial_rad_s * look.camera.focal_length_m,
        _ => required.speed_m_s(),
    };
    let covered = options.cover == Cover::All || required.sun_elevation_rad >= LOWEST_SUN_RAD;
    Ok((speed_m_s, covered))
}

/// Change of speed in a second about a node, m/s².
fn slope(speeds_m_s: &[f64], k: usize) -> f64 {
    let at = |k: usize| speeds_m_s.get(k).copied();
    match (k.checked_sub(1).and_then(at), at(k), at(k + 1)) {
        (Some(before), _, Some(after)) => (after - before) / (2.0 * NODE_S),
        (Some(before), Some(here), None) => (here - before) / NODE_S,
        (None, Some(here), Some(after)) => (after - here) / NODE_S,
        _ => 0.0,
    }
}

fn table(mission: &Mission<'_>, options: &Options, from_s: f64, to_s: f64) -> Result<Table, FilmRatesError> {
    let looked = look(mission, options, from_s, to_s)?;
    let free = MAX_ENTRIES - other_entries(mission, to_s - from_s);
    let Fit { changes, worst, rms } = if looked.nodes.is_empty() {
        Fit { changes: Vec::new(), worst: 0.0, rms: 0.0 }
    } else {
        rate_fit::fit(&looked.nodes, &mission.grid, free)?
    };
    let on_board = OnBoard { epoch_tick: (from_s * 100.0).round() as u32, ..on_board(&looked.path) };
    Ok(Table {
        from_s,
        to_s,
        changes,
        worst,
        rms,
        free,
        time_band_s: looked.time_band_s,
        on_board,
        predicted_m_s: looked.speeds_m_s,
        covered: looked.covered,
    })
}

/// The last day with loads as often as this, h. Only the first load of each is fitted: they are alike.
const TRADE_H: [f64; 6] = [24.0, 16.0, 12.0, 8.0, 6.0, 4.0];

fn trade(mission: &Mission<'_>, options: &Options) -> Result<Vec<Trade>, FilmRatesError> {
    let from_s = (mission.end_s - 86_400.0).max(0.0);
    let spans = TRADE_H.par_iter().filter(|hours| from_s + *hours * 3600.0 <= mission.end_s + 1.0);
    spans
        .map(|hours| {
            let table = table(mission, options, from_s, from_s + hours * 3600.0)?;
            Ok(Trade {
                load_every_s: hours * 3600.0,
                worst: table.worst,
                largest_jump: table.largest_jump(),
                entries: table.changes.len(),
            })
        })
        .collect()
}
