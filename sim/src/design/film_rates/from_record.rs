//! A results folder in place of the simulated drive: a flight's, or a board's on the bench.
//!
//! Place and attitude come from the record's truth, the required speed is worked out here from that place (never
//! taken from the record), film from, in this order: its true speed at the exposure line; the metering roller's
//! counts, where nobody knows the truth; the command, where there is no counter either.
//!
//! A strip is looked at wherever a row finds the shutter open. A framing camera's exposures are shorter than the
//! rows are apart: each frame of `frames.csv` is one sample, its film speed the mean over its exposure.

use std::path::Path;

use super::{
    Options, Sample, Study,
    samples::spread,
    study::{FilmRatesError, bin_summary, judged},
    summary::{ExposureSummary, FilmRates, Range, Statistics},
    sums,
};
use crate::{
    flight::{build::BuildError, home::plan::HomePlan, settings},
    imaging::{
        Earth,
        motion::{View, required_motion},
        row::FrameRow,
    },
    passes::{
        areas,
        required::{HEIGHT_REACH_M, square},
    },
    record::{Summary, files, reading::read_columns},
    scenario::{Loaded, parts::camera::CameraKind, settings::text_digest},
    world::{Vec3, dense::Quintic, frames::EarthRotation, time::Utc, track::ground_point},
};
use stillframe_controller::settings::Settings;

/// Columns used.
const COLUMNS: [&str; 12] = [
    "time_s",
    "position_x_m",
    "position_y_m",
    "position_z_m",
    "velocity_x_m_s",
    "velocity_y_m_s",
    "velocity_z_m_s",
    "film_speed_m_s",
    "shutter_open",
    "film_speed_step",
    "yaw_rad",
    "roller_counts",
];
/// Shortest time over which counts are turned into speed, s: a count is a part in 1500 of it.
const METER_S: f64 = 0.16;
/// Time without a sample that parts two passes, s.
const PAUSE_S: f64 = 10.0;

/// Judges the record in `folder`, which must be a run of `loaded`.
///
/// # Errors
/// If the record cannot be read, or is of another scenario or other settings.
pub fn study(loaded: &Loaded, folder: &Path, options: &Options) -> Result<Study, FilmRatesError> {
    let clock = std::time::Instant::now();
    let summary = summary_of(folder)?;
    let (settings, digest) = flown_settings(loaded, summary.run.duration_s)?;
    same_run(loaded, &summary, digest, folder)?;
    let rows = Rows::read(folder)?;
    let frames = frames(folder)?;
    let ruler = Ruler {
        loaded,
        earth: earth(loaded)?,
        focal_m: loaded.scenario.camera.focal_length_m,
        step_m_s: f64::from(settings.camera.speed_step_m_s),
        count_m: f64::from(settings.film.count_m()),
        rows: &rows,
        tilt_rad: options.tilt_rad,
    };
    let strip = matches!(loaded.scenario.camera.kind, CameraKind::Strip(_));
    let samples = if strip { ruler.strip(&frames) } else { ruler.frames(&frames) };
    if samples.is_empty() {
        let why = format!("{} has no row with the shutter open and no frame", folder.display());
        return Err(FilmRatesError::NothingRan(why));
    }
    let passes: Vec<&[Sample]> = samples.chunk_by(|a, b| b.time_s - a.time_s < PAUSE_S).collect();
    let by_pass = passes.iter().enumerate().map(|(k, pass)| {
        let name = format!("{} at {:.2} h", k + 1, pass.first().map_or(0.0, |s| s.time_s / 3600.0));
        bin_summary(name, pass, options)
    });
    let mut found = FilmRates {
        by_pass: by_pass.collect(),
        source: format!("{} ({})", folder.display(), rows.source()),
        days: summary.run.duration_s / 86_400.0,
        exposure: exposure(&frames, options),
        ..judged(loaded, &samples, options)
    };
    found.drive.runs = passes.len();
    found.criteria = sums::criteria(&found, options);
    found.wall_s = clock.elapsed().as_secs_f64();
    Ok(Study { summary: found, points: Vec::new(), samples })
}

fn record_error(path: &Path, why: impl std::fmt::Display) -> FilmRatesError {
    let text = format!("{}: {why}. Name a results folder of a run that has ended", path.display());
    FilmRatesError::Record(text)
}

fn summary_of(folder: &Path) -> Result<Summary, FilmRatesError> {
    let path = folder.join(files::SUMMARY);
    let text = std::fs::read_to_string(&path).map_err(|error| record_error(&path, error))?;
    serde_json::from_str(&text).map_err(|error| record_error(&path, error))
}

/// Settings of the flight and their digest: of the scenario cut to the time flown, way home and all.
fn flown_settings(loaded: &Loaded, duration_s: f64) -> Result<(Settings, u32), BuildError> {
    let mut loaded = loaded.clone();
    if duration_s < loaded.scenario.run.duration_s {
        loaded.scenario.shorten(duration_s);
    }
    let home = HomePlan::of(&loaded)?;
    settings::for_flight(&loaded, home.as_ref())
}

/// Refuses a record of something else: its camera, areas or speed steps could be others.
fn same_run(loaded: &Loaded, summary: &Summary, settings: u32, folder: &Path) -> Result<(), FilmRatesError> {
    let run = &summary.run;
    let differs = |what: &str, theirs: &str, ours: &str| {
        let text = format!(
            "{} is a run of other {what} ({theirs}) than {} ({ours}): name the scenario it was made with",
            folder.display(),
            loaded.name
        );
        Err(FilmRatesError::Record(text))
    };
    let scenario = format!("{:08x}", text_digest(&loaded.text));
    if run.scenario_hash != scenario {
        return differs("scenario text", &run.scenario_hash, &scenario);
    }
    let settings = format!("{settings:08x}");
    if run.settings_hash != settings {
        return differs("settings", &run.settings_hash, &settings);
    }
    Ok(())
}

fn earth(loaded: &Loaded) -> Result<EarthRotation, FilmRatesError> {
    let run = &loaded.scenario.run;
    let start = Utc::parse(&run.start.to_string()).map_err(BuildError::from)?;
    Ok(EarthRotation::at_start(start, run.ut1_minus_utc_s))
}

fn frames(folder: &Path) -> Result<Vec<FrameRow>, FilmRatesError> {
    let path = folder.join(files::FRAMES);
    let mut reader = csv::Reader::from_path(&path).map_err(|error| record_error(&path, error))?;
    let rows = reader.deserialize().collect::<Result<Vec<FrameRow>, _>>();
    rows.map_err(|error| record_error(&path, error))
}

/// The series, as far as it is used.
struct Rows {
    time_s: Vec<f64>,
    position_m: Vec<Vec3>,
    velocity_m_s: Vec<Vec3>,
    film_m_s: Option<Vec<f64>>,
    open: Vec<bool>,
    step: Vec<f64>,
    yaw_rad: Vec<f64>,
    counts: Option<Vec<u32>>,
}

impl Rows {
    fn read(folder: &Path) -> Result<Self, FilmRatesError> {
        let path = folder.join(files::RECORD);
        let columns = read_columns(&path, &COLUMNS).map_err(|error| record_error(&path, error))?;
        let column = |name: &str| COLUMNS.iter().position(|c| *c == name).and_then(|k| columns[k].clone());
        let needed = |name: &str| column(name).ok_or_else(|| record_error(&path, format!("it has no column {name}")));
        let vector = |[x, y, z]: [&str; 3]| -> Result<Vec<Vec3>, FilmRatesError> {
            let parts = needed(x)?.into_iter().zip(needed(y)?).zip(needed(z)?);
            Ok(parts.map(|((x, y), z)| Vec3::new(x, y, z)).collect())
        };
        Ok(Self {
            time_s: needed("time_s")?,
            position_m: vector(["position_x_m", "position_y_m", "position_z_m"])?,
            velocity_m_s: vector(["velocity_x_m_s", "velocity_y_m_s", "velocity_z_m_s"])?,
            film_m_s: column("film_speed_m_s").filter(|speeds| speeds.iter().any(|speed| speed.is_finite())),
            open: needed("shutter_open")?.into_iter().map(|open| open > 0.5).collect(),
            step: needed("film_speed_step")?,
            yaw_rad: needed("yaw_rad")?,
            counts: column("roller_counts").map(|counts| counts.into_iter().map(|count| count as u32).collect()),
        })
    }

    fn source(&self) -> &'static str {
        match (&self.film_m_s, &self.counts) {
            (Some(_), _) => "film speed at the exposure line",
            (None, Some(_)) => "metering roller's counts",
            (None, None) => "commanded speed alone",
        }
    }

    /// Speed counted around a row while the shutter stays open, m/s; NaN where that is not long enough.
    fn metered_m_s(&self, row: usize, count_m: f64) -> f64 {
        let Some(counts) = &self.counts else { return f64::NAN };
        let open = |k: usize| self.open.get(k).copied().unwrap_or(false);
        let (mut from, mut to) = (row, row);
        while let (Some(before), Some(after)) = (from.checked_sub(1), to.checked_add(1)) {
            if !(open(before) && open(after)) {
                return f64::NAN;
            }
            (from, to) = (before, after);
            let elapsed_s = self.time_s[to] - self.time_s[from];
            if elapsed_s >= METER_S {
                return f64::from(counts[to].wrapping_sub(counts[from]).cast_signed()) * count_m / elapsed_s;
            }
        }
        f64::NAN
    }

    /// Place between two rows, by a cubic through both; the row before, and how far on the instant is.
    fn at(&self, time_s: f64) -> Option<(usize, Vec3, Vec3)> {
        let after = self.time_s.partition_point(|row_s| *row_s <= time_s).clamp(1, self.time_s.len().checked_sub(1)?);
        let before = after - 1;
        let step_s = self.time_s[after] - self.time_s[before];
        let end = |k: usize| crate::world::dense::End {
            position_m: self.position_m[k],
            velocity_m_s: self.velocity_m_s[k],
            // Gravity to a part in a thousand is enough between rows a second apart.
            acceleration_m_s2: self.position_m[k] * (-3.986e14 / self.position_m[k].norm().powi(3)),
        };
        let (r, v) =
            Quintic::through(&end(before), &end(after), step_s).position_velocity(time_s - self.time_s[before]);
        Some((before, r, v))
    }
}

struct Ruler<'a> {
    loaded: &'a Loaded,
    earth: EarthRotation,
    focal_m: f64,
    step_m_s: f64,
    count_m: f64,
    rows: &'a Rows,
    tilt_rad: [f64; 2],
}

impl Ruler<'_> {
    /// Required motion at a place, over the ground of the scenario's areas; latitude and height with it.
    fn sample(&self, time_s: f64, r: &Vec3, v: &Vec3) -> Option<Sample> {
        let place = ground_point(r, &self.earth, time_s);
        let areas = &self.loaded.scenario.areas;
        let ground_m = areas::ground_height_m(areas, place.latitude_rad, place.longitude_rad, HEIGHT_REACH_M);
        let view = View::new(&Earth::WGS84, &square(r, v, self.earth.angle_rad(time_s), time_s, self.tilt_rad));
        let motion = required_motion(&view, self.focal_m, ground_m)?;
        Some(Sample {
            time_s,
            latitude_deg: place.latitude_rad.to_degrees(),
            height_m: place.height_m,
            required_m_s: motion.film_speed_m_s,
            commanded_m_s: f64::NAN,
            achieved_m_s: f64::NAN,
            metered_m_s: f64::NAN,
            // The crab yaw, until the true yaw is set against it.
            yaw_off_rad: -motion.yaw_to_align_rad,
            exposure_s: f64::NAN,
        })
    }

    fn strip(&self, frames: &[FrameRow]) -> Vec<Sample> {
        let rows = self.rows;
        let open = (0..rows.time_s.len()).filter(|&k| rows.open[k]);
        open.filter_map(|k| {
            let mut sample = self.sample(rows.time_s[k], &rows.position_m[k], &rows.velocity_m_s[k])?;
            sample.commanded_m_s = rows.step[k] * self.step_m_s;
            sample.metered_m_s = rows.metered_m_s(k, self.count_m);
            sample.achieved_m_s = match (&rows.film_m_s, &rows.counts) {
                (Some(film_m_s), _) => film_m_s[k],
                (None, Some(_)) => sample.metered_m_s,
                (None, None) => sample.commanded_m_s,
            };
            sample.yaw_off_rad += rows.yaw_rad[k];
            sample.exposure_s = nearest(frames, sample.time_s)?.exposure_ms? * 1e-3;
            Some(sample)
        })
        .collect()
    }

    fn frames(&self, frames: &[FrameRow]) -> Vec<Sample> {
        frames
            .iter()
            .filter_map(|frame| {
                let (row, r, v) = self.rows.at(frame.time_s)?;
                let mut sample = self.sample(frame.time_s, &r, &v)?;
                sample.commanded_m_s = self.rows.step[row] * self.step_m_s;
                sample.achieved_m_s = frame.film_speed_mm_s? * 1e-3;
                sample.yaw_off_rad += self.rows.yaw_rad[row];
                sample.exposure_s = frame.exposure_ms? * 1e-3;
                Some(sample)
            })
            .collect()
    }
}

/// The frame nearest to an instant.
fn nearest(frames: &[FrameRow], time_s: f64) -> Option<&FrameRow> {
    let seen = frames.iter().filter(|frame| frame.exposure_ms.is_some());
    seen.min_by(|a, b| (a.time_s - time_s).abs().total_cmp(&(b.time_s - time_s).abs()))
}

fn exposure(frames: &[FrameRow], options: &Options) -> ExposureSummary {
    let stops: Vec<f64> = frames.iter().filter_map(|frame| frame.exposure_error_stops).collect();
    let within = stops.iter().filter(|stops| stops.abs() <= options.budget.stops).count();
    let speeds = Range::of(frames.iter().filter_map(|frame| frame.required_film_speed_mm_s));
    let high = frames.iter().filter(|frame| frame.sun_elevation_deg.is_some_and(|sun| sun >= 15.0));
    ExposureSummary {
        lit: stops.len(),
        within_percent: 100.0 * within as f64 / stops.len().max(1) as f64,
        from_sun_deg: None,
        exposure_ms: Range::of(frames.iter().filter_map(|frame| frame.exposure_ms)),
        stops_off: Statistics::scaled(&spread(high.filter_map(|frame| frame.exposure_error_stops)), 1.0),
        speed_stops: speeds.map_or(0.0, |range| (range.high / range.low).log2()),
    }
}
