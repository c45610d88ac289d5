//! Sweeps: settings spread evenly over ranges, each set flown, and the front of those that nothing beats.
//!
//! Points are a Halton set (J. H. Halton, Numer. Math. 2 (1960)): any first so many of them fill the ranges evenly,
//! so that a sweep cut short is still one. Rows are written to a file as they come; a sweep that was interrupted
//! goes on from that file.

use super::{
    keys::{expanded, field, get, set_near},
    limit_cycle::AxisJets,
    measure::{Goals, Measured, measure},
    propose::three_figures,
    subject::Subject,
    trial::{Trial, TrialError},
};
use crate::scenario::Loaded;
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::{
    collections::BTreeMap,
    fs::{File, OpenOptions},
    io::{self, Write},
    path::Path,
    sync::Mutex,
};
use stillframe_controller::settings::Settings;
use thiserror::Error;

const PRIMES: [u64; 8] = [2, 3, 5, 7, 11, 13, 17, 19];
/// Most settings varied at once: beyond, the Halton set's first points lie on a line.
pub const MOST_KNOBS: usize = PRIMES.len();

/// A setting that is varied.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
pub struct Knob {
    /// Group and key; `*.` for all three axes.
    pub key: String,
    /// Smallest value.
    pub low: f64,
    /// Largest value.
    pub high: f64,
}

/// A point of the sweep, flown.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
pub struct Point {
    /// Number; 0 is the settings the sweep is drawn around.
    pub number: u64,
    /// Values of the knobs, in their order.
    pub values: Vec<f64>,
    /// Gas, kg a day.
    pub gas_kg_day: f64,
    /// Rate in exposures, root mean square, over its limit: the worst axis.
    pub rate_share: f64,
    /// Smear by rates in the longest exposure: root sum square of roll and pitch, and yaw at the field's edge, µm.
    pub smear_um: f64,
    /// Share of bursts that were quiet.
    pub quiet_share: f64,
    /// Pulses an hour.
    pub pulses_per_hour: f64,
    /// Whether fine hold was kept.
    pub held: bool,
}

/// How a sweep is flown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plan {
    /// Flight of each point, s.
    pub flight_s: f64,
    /// Measured from, s.
    pub from_s: f64,
    /// Interval of bursts, s.
    pub every_s: f64,
    /// Points besides the starting one.
    pub points: u64,
    /// Seed.
    pub seed: u64,
}

/// Why a sweep cannot be flown.
#[derive(Debug, Error)]
pub enum SweepError {
    /// A knob is no setting, or its range is empty or outside the setting's.
    #[error("{0}")]
    Knob(String),
    /// A trial cannot be flown.
    #[error(transparent)]
    Trial(#[from] TrialError),
    /// The file of rows cannot be used.
    #[error("{0}")]
    File(#[from] io::Error),
    /// The file holds rows of another sweep.
    #[error("{0} holds another sweep (scenario, settings, knobs, seed or length differ): choose another folder")]
    Other(String),
}

/// Point `number` of the Halton set in the unit cube.
pub fn halton(number: u64, dimension: usize) -> f64 {
    let base = PRIMES[dimension % PRIMES.len()];
    let (mut left, mut share, mut sum) = (number, 1.0, 0.0);
    while left > 0 {
        share /= base as f64;
        sum += share * (left % base) as f64;
        left /= base;
    }
    sum
}

/// Knobs usually turned: deadbands downward from the proposal, which is as wide as the picture allows; the rest from
/// half to double; all inside their ranges.
pub fn usual_knobs(settings: &Settings) -> Vec<Knob> {
    let deadbands = super::keys::AXES.map(|axis| format!("{axis}.deadband_deg"));
    let rest = ["*.fill", "*.lead_s", "observer.rate_time_s", "observer.disturbance_time_s"];
    let narrowed = deadbands.iter().filter_map(|key| around(settings, key, (0.4, 1.0)));
    narrowed.chain(rest.iter().filter_map(|key| around(settings, key, (0.5, 2.0)))).collect()
}

fn around(settings: &Settings, key: &str, (least, most): (f64, f64)) -> Option<Knob> {
    let field = field(settings, key)?;
    let values = expanded(key).into_iter().filter_map(|key| get(settings, &key)).collect::<Vec<_>>();
    let middle = values.iter().sum::<f64>() / values.len() as f64;
    let (low, high) = (three_figures(least * middle), three_figures(most * middle));
    Some(Knob { key: key.to_owned(), low: low.max(field.min), high: high.min(field.max) })
}

/// Refuses knobs that are no settings or leave their range.
///
/// # Errors
/// [`SweepError::Knob`] with what to do.
pub fn check_knobs(settings: &Settings, knobs: &[Knob]) -> Result<(), SweepError> {
    if knobs.len() > MOST_KNOBS {
        return Err(SweepError::Knob(format!("{} settings to vary; at most {MOST_KNOBS}", knobs.len())));
    }
    for knob in knobs {
        let Some(field) = field(settings, &knob.key) else {
            let text = format!("{} is no setting; `stillframe settings` lists them (GROUP.KEY)", knob.key);
            return Err(SweepError::Knob(text));
        };
        let sound = knob.low < knob.high && knob.low >= field.min && knob.high <= field.max;
        if !sound {
            let (min, max, unit) = (field.min as f32, field.max as f32, field.unit);
            let text = format!(
                "{}: from {} to {}; allowed: {min} to {max} {unit}, smaller first",
                knob.key, knob.low, knob.high
            );
            return Err(SweepError::Knob(text));
        }
    }
    Ok(())
}

/// Settings of point `number`; 0 is `base` itself.
pub fn settings_at(base: &Settings, knobs: &[Knob], number: u64) -> Settings {
    let mut settings = base.clone();
    if number > 0 {
        for (dimension, knob) in knobs.iter().enumerate() {
            let share = halton(number, dimension);
            // Even in the logarithm: half and double lie equally far.
            let value = if knob.low > 0.0 {
                knob.low * (knob.high / knob.low).powf(share)
            } else {
                knob.low + share * (knob.high - knob.low)
            };
            let _ = set_near(&mut settings, &knob.key, three_figures(value));
        }
    }
    settings
}

/// Flies all points of a plan that `file` does not hold yet, on all cores, and gives back all. `step` is called
/// with the number of points that are there.
///
/// # Errors
/// [`SweepError`].
#[allow(clippy::too_many_arguments)]
pub fn sweep(
    loaded: &Loaded,
    base: &Settings,
    subject: &Subject,
    knobs: &[Knob],
    plan: &Plan,
    goals: &Goals,
    file: &Path,
    step: &(impl Fn() + Sync),
) -> Result<Vec<Point>, SweepError> {
    check_knobs(base, knobs)?;
    let head = header(loaded, base, knobs, plan);
    let (mut done, out) = open_rows(file, &head)?;
    let todo: Vec<u64> = (0..=plan.points).filter(|number| !done.contains_key(number)).collect();
    (0..done.len()).for_each(|_| step());
    let out = Mutex::new(out);
    let jets = [0, 1, 2].map(|axis| subject.axes[axis].jets);
    let flown: Vec<Point> = todo
        .par_iter()
        .map(|&number| {
            let point = fly(loaded, &settings_at(base, knobs, number), subject, &jets, knobs, plan, goals, number)?;
            let mut line = row(&point);
            line.push('\n');
            // One write for each row, so that an interruption leaves whole rows.
            let mut out = out.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
            out.write_all(line.as_bytes())?;
            out.flush()?;
            step();
            Ok(point)
        })
        .collect::<Result<_, SweepError>>()?;
    done.extend(flown.into_iter().map(|point| (point.number, point)));
    Ok(done.into_values().filter(|point| point.number <= plan.points).collect())
}

#[allow(clippy::too_many_arguments)]
fn fly(
    loaded: &Loaded,
    settings: &Settings,
    subject: &Subject,
    jets: &[AxisJets; 3],
    knobs: &[Knob],
    plan: &Plan,
    goals: &Goals,
    number: u64,
) -> Result<Point, TrialError> {
    let trial =
        Trial::new(loaded, settings, plan.seed).with_bursts(plan.flight_s, plan.from_s, plan.every_s, subject.burst_s);
    let flown = measure(&trial, jets, goals, plan.from_s, plan.flight_s)?;
    let held = flown.capture_s.is_some() && flown.fine_share > 0.999;
    Ok(Point {
        number,
        values: knobs.iter().map(|knob| get(settings, &knob.key).unwrap_or(f64::NAN)).collect(),
        gas_kg_day: if flown.time_s > 0.0 { flown.gas_kg_day() } else { 0.0 },
        rate_share: flown.rate_share(goals),
        smear_um: smear_um(subject, &flown),
        quiet_share: flown.quiet_share().unwrap_or(0.0),
        pulses_per_hour: if flown.time_s > 0.0 { flown.pulses_per_hour() } else { 0.0 },
        held,
    })
}

/// Smear by rates alone in the longest exposure, µm.
pub fn smear_um(subject: &Subject, flown: &Measured) -> f64 {
    let rate = |axis: usize| flown.axes[axis].rate_rms_deg_s.to_radians();
    let edge = rate(2) * subject.half_field_rad.tan();
    subject.focal_length_m * subject.exposure_s * (rate(0).powi(2) + rate(1).powi(2) + edge * edge).sqrt() * 1e6
}

/// Points that no other beats in both gas and rate, by rising gas; points that lost hold are left out.
pub fn front(points: &[Point]) -> Vec<&Point> {
    let mut sorted: Vec<&Point> = points.iter().filter(|point| point.held).collect();
    sorted.sort_by(|a, b| a.gas_kg_day.total_cmp(&b.gas_kg_day).then(a.rate_share.total_cmp(&b.rate_share)));
    let mut best = f64::INFINITY;
    sorted.retain(|point| {
        let better = point.rate_share < best;
        best = best.min(point.rate_share);
        better
    });
    sorted
}

/// The point to take: of all that kept hold, the least gas whose bursts are quiet in 95 of 100 with rates inside their
/// limits; if there is none, the one on the front with the most quiet bursts, then the lowest rate.
pub fn chosen(points: &[Point]) -> Option<&Point> {
    let good = points.iter().filter(|point| point.held && point.quiet_share >= 0.95 && point.rate_share <= 1.0);
    let least = good.min_by(|a, b| a.gas_kg_day.total_cmp(&b.gas_kg_day).then(a.rate_share.total_cmp(&b.rate_share)));
    let order =
        |a: &&Point, b: &&Point| a.quiet_share.total_cmp(&b.quiet_share).then(b.rate_share.total_cmp(&a.rate_share));
    least.or_else(|| front(points).into_iter().max_by(order))
}

/// First lines of the file: everything that makes two sweeps the same, and the columns.
fn header(loaded: &Loaded, base: &Settings, knobs: &[Knob], plan: &Plan) -> String {
    let settings = crate::scenario::settings::digest(&crate::flight::settings::SettingsFile(base.clone()));
    let scenario = crate::scenario::settings::text_digest(&loaded.text);
    let ranges: Vec<String> = knobs.iter().map(|knob| format!("{}={}:{}", knob.key, knob.low, knob.high)).collect();
    let columns: Vec<&str> = knobs.iter().map(|knob| knob.key.as_str()).collect();
    format!(
        "# scenario {scenario:08x}, settings {settings:08x}, seed {}, flight {} s, measured from {} s, bursts every {} s, {}\n\
         number,{},gas_kg_day,rate_share,smear_um,quiet_share,pulses_per_hour,held\n",
        plan.seed,
        plan.flight_s,
        plan.from_s,
        plan.every_s,
        ranges.join(" "),
        columns.join(",")
    )
}

fn row(point: &Point) -> String {
    let values: Vec<String> = point.values.iter().map(f64::to_string).collect();
    format!(
        "{},{},{},{},{},{},{},{}",
        point.number,
        values.join(","),
        point.gas_kg_day,
        point.rate_share,
        point.smear_um,
        point.quiet_share,
        point.pulses_per_hour,
        u8::from(point.held)
    )
}

/// Rows that are there, and the file open for more. A last row without its end is cut off.
fn open_rows(file: &Path, head: &str) -> Result<(BTreeMap<u64, Point>, File), SweepError> {
    let text = match std::fs::read_to_string(file) {
        Ok(text) => text,
        Err(error) if error.kind() == io::ErrorKind::NotFound => String::new(),
        Err(error) => return Err(error.into()),
    };
    if text.is_empty() {
        let mut out = OpenOptions::new().append(true).create(true).open(file)?;
        out.write_all(head.as_bytes())?;
        return Ok((BTreeMap::new(), out));
    }
    let rows = text.strip_prefix(head).ok_or_else(|| SweepError::Other(file.display().to_string()))?;
    let whole = rows.rfind('\n').map_or(0, |end| end + 1);
    let out = OpenOptions::new().append(true).open(file)?;
    out.set_len((head.len() + whole) as u64)?;
    let points = rows[..whole].lines().filter_map(read_row);
    Ok((points.map(|point| (point.number, point)).collect(), out))
}

fn read_row(line: &str) -> Option<Point> {
    let cells: Vec<f64> = line.split(',').map(|cell| cell.parse().ok()).collect::<Option<_>>()?;
    let [number, rest @ ..] = cells.as_slice() else { return None };
    let (values, measures) = rest.split_at_checked(rest.len().checked_sub(6)?)?;
    let &[gas_kg_day, rate_share, smear_um, quiet_share, pulses_per_hour, held] = measures else { return None };
    Some(Point {
        number: *number as u64,
        values: values.to_vec(),
        gas_kg_day,
        rate_share,
        smear_um,
        quiet_share,
        pulses_per_hour,
        held: held == 1.0,
    })
}
