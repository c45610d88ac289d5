//! The recorder: one call for each kind of thing that happens, one folder at the end.

use std::fs::{self, File};
use std::io::Write as _;
use std::path::{Path, PathBuf};

use serde::Serialize;

use super::ccsds::{AemWriter, MessageHeader, OemWriter};
use super::columns::{FilmTick, FramePoint, JetEdge, Row};
use super::digest::{Digest, Window};
use super::error::RecordError;
use super::events::{Event, EventWriter};
use super::frames_csv::FrameWriter;
use super::summary::Summary;
use super::writer::TableWriter;

/// Writes a file that must not be there yet.
///
/// # Errors
/// If it is there already or cannot be written.
pub fn write_new(path: &Path, bytes: &[u8]) -> Result<(), RecordError> {
    let mut file = File::create_new(path).map_err(RecordError::io(path))?;
    file.write_all(bytes).map_err(RecordError::io(path))
}

/// Names of the files in a results folder.
pub mod files {
    /// The series.
    pub const RECORD: &str = "record.parquet";
    /// The jets' edges.
    pub const JETS: &str = "jets.parquet";
    /// The film transport, tick by tick.
    pub const FILM: &str = "film.parquet";
    /// The events.
    pub const EVENTS: &str = "events.csv";
    /// The frames.
    pub const FRAMES: &str = "frames.csv";
    /// What the image did over the format of every frame.
    pub const POINTS: &str = "points.parquet";
    /// The orbit.
    pub const ORBIT: &str = "orbit.oem";
    /// The attitude.
    pub const ATTITUDE: &str = "attitude.aem";
    /// The summary.
    pub const SUMMARY: &str = "summary.json";
    /// The report.
    pub const REPORT: &str = "report.html";
    /// Marks a run that has not ended.
    pub const INCOMPLETE: &str = "INCOMPLETE.txt";
    /// Everything whose presence means that a folder is in use.
    pub const ALL: [&str; 17] = [
        RECORD,
        JETS,
        FILM,
        EVENTS,
        FRAMES,
        POINTS,
        ORBIT,
        ATTITUDE,
        SUMMARY,
        REPORT,
        INCOMPLETE,
        "record.parts",
        "jets.parts",
        "points.parts",
        "film.parts",
        "orbit.oem.unfinished",
        "attitude.aem.unfinished",
    ];
}

const INCOMPLETE_TEXT: &str = "\
This run has not ended, or was interrupted. What it finished can be read:
- record.parts/, jets.parts/, points.parts/ and film.parts/ hold complete Parquet files, to be read one after the
  other in the order of their names (most tools read the whole folder at once);
- events.csv and frames.csv are whole up to their last line;
- *.unfinished are CCSDS messages whose STOP_TIME is not yet filled in.
";

/// Names of the codes in the series.
#[derive(Clone, Debug, Default, Eq, PartialEq, Serialize)]
pub struct CodeNames {
    /// Mode codes and their names.
    pub modes: Vec<(u8, String)>,
    /// Health flag bits (0 for the lowest) and their names.
    pub health_bits: Vec<(u8, String)>,
    /// Stations in the order of their index.
    pub stations: Vec<String>,
}

impl CodeNames {
    /// Name of a mode, or its number.
    pub fn mode(&self, code: i64) -> String {
        let found = self.modes.iter().find(|(mode, _)| i64::from(*mode) == code);
        found.map_or_else(|| format!("mode {code}"), |(_, name)| name.clone())
    }
}

/// What the record must know of a run before it starts.
#[derive(Clone, Debug)]
pub struct RunInfo {
    /// Time of writing, epoch, vehicle and comments for the CCSDS messages.
    pub header: MessageHeader,
    /// Names of codes, kept in the Parquet files' metadata.
    pub codes: CodeNames,
    /// More metadata for the Parquet files (key, value), e.g. scenario, seed, hashes.
    pub metadata: Vec<(String, String)>,
    /// Stretches of time that the report shows in detail.
    pub close_ups: Vec<Window>,
    /// Time between lines of the orbit message, s.
    pub orbit_every_s: f64,
    /// Time between lines of the attitude message, s, while the camera is off.
    pub attitude_every_s: f64,
    /// Time between lines of the attitude message, s, while the camera is on.
    pub attitude_in_pass_every_s: f64,
}

/// Writes a run's record and keeps its digest.
pub struct Recorder {
    folder: PathBuf,
    rows: TableWriter<Row>,
    edges: TableWriter<JetEdge>,
    points: TableWriter<FramePoint>,
    film: TableWriter<FilmTick>,
    events: EventWriter,
    frames: FrameWriter,
    orbit: (OemWriter, Cadence),
    attitude: (AemWriter, Cadence),
    attitude_every_s: [f64; 2],
    digest: Digest,
}

impl Recorder {
    /// Starts a record in `folder`, which is made if need be.
    ///
    /// # Errors
    /// If the folder holds anything of a run ([`files::ALL`]), or cannot be written.
    pub fn create(folder: &Path, info: &RunInfo) -> Result<Self, RecordError> {
        claim(folder)?;
        let mut metadata = info.metadata.clone();
        let codes = serde_json::to_string(&info.codes).unwrap_or_default();
        metadata.push(("stillframe.codes".into(), codes));
        let epoch = super::ccsds::ccsds_time(info.header.epoch, 0.0);
        metadata.push(("stillframe.epoch_utc".into(), epoch));
        Ok(Self {
            rows: TableWriter::create(folder, "record", &metadata)?,
            edges: TableWriter::create(folder, "jets", &metadata)?,
            points: TableWriter::create(folder, "points", &metadata)?,
            film: TableWriter::create(folder, "film", &metadata)?,
            events: EventWriter::create(&folder.join(files::EVENTS))?,
            frames: FrameWriter::create(&folder.join(files::FRAMES))?,
            orbit: (OemWriter::create(&folder.join(files::ORBIT), &info.header)?, Cadence::default()),
            attitude: (AemWriter::create(&folder.join(files::ATTITUDE), &info.header)?, Cadence::default()),
            attitude_every_s: [info.attitude_every_s, info.attitude_in_pass_every_s],
            digest: Digest::new(info.close_ups.clone()),
            folder: folder.to_path_buf(),
        }
        .with_orbit_every(info.orbit_every_s))
    }

    /// Takes a row of the series. Times must not fall.
    ///
    /// # Errors
    /// If a file cannot be written.
    pub fn row(&mut self, row: &Row) -> Result<(), RecordError> {
        self.digest.row(row);
        if self.orbit.1.due(row.time_s) {
            self.orbit.0.push(row.time_s, row.position_m, row.velocity_m_s)?;
        }
        self.attitude.1.every_s = self.attitude_every_s[usize::from(row.camera_on)];
        if self.attitude.1.due(row.time_s) {
            self.attitude.0.push(row.time_s, row.attitude_q)?;
        }
        self.rows.push(row.clone())
    }

    /// Takes an edge of a jet's valve, at its true time.
    ///
    /// # Errors
    /// If a file cannot be written.
    pub fn jet_edge(&mut self, edge: JetEdge) -> Result<(), RecordError> {
        self.digest.edge(&edge);
        self.edges.push(edge)
    }

    /// Takes a tick of the film transport.
    ///
    /// # Errors
    /// If a file cannot be written.
    pub fn film_tick(&mut self, tick: FilmTick) -> Result<(), RecordError> {
        self.film.push(tick)
    }

    /// Takes an event.
    ///
    /// # Errors
    /// If the file cannot be written.
    pub fn event(&mut self, event: &Event) -> Result<(), RecordError> {
        self.digest.event(event);
        self.events.push(event)
    }

    /// Takes a judged frame: any flat serialisable struct, always the same.
    ///
    /// # Errors
    /// If the file cannot be written, or the struct is not flat.
    pub fn frame<T: Serialize>(&mut self, frame: &T) -> Result<(), RecordError> {
        self.frames.push(frame)
    }

    /// Takes a point of a frame's format.
    ///
    /// # Errors
    /// If a file cannot be written.
    pub fn point(&mut self, point: FramePoint) -> Result<(), RecordError> {
        self.points.push(point)
    }

    /// What has been gathered for the report so far.
    pub fn digest(&self) -> &Digest {
        &self.digest
    }

    /// Rows of the series so far.
    pub fn rows(&self) -> u64 {
        self.rows.rows()
    }

    /// Ends the record: joins the tables, completes the messages, writes the summary, takes the mark of an
    /// unfinished run away.
    ///
    /// # Errors
    /// If a file cannot be written or a number in the summary is not finite; the mark then stays.
    pub fn finish(self, summary: &Summary) -> Result<Digest, RecordError> {
        self.rows.finish()?;
        self.edges.finish()?;
        self.points.finish()?;
        self.film.finish()?;
        self.orbit.0.finish()?;
        self.attitude.0.finish()?;
        summary.write(&self.folder.join(files::SUMMARY))?;
        let mark = self.folder.join(files::INCOMPLETE);
        fs::remove_file(&mark).map_err(RecordError::io(&mark))?;
        Ok(self.digest)
    }

    fn with_orbit_every(mut self, every_s: f64) -> Self {
        self.orbit.1.every_s = every_s;
        self
    }
}

/// Makes the folder ours, or refuses it.
fn claim(folder: &Path) -> Result<(), RecordError> {
    fs::create_dir_all(folder).map_err(RecordError::io(folder))?;
    if let Some(found) = files::ALL.iter().find(|name| folder.join(name).exists()) {
        return Err(RecordError::FolderInUse { folder: folder.into(), found: (*found).into() });
    }
    let mark = folder.join(files::INCOMPLETE);
    // `create_new` also settles who was first when two runs want the same folder.
    let mut file = File::create_new(&mark).map_err(RecordError::io(&mark))?;
    file.write_all(INCOMPLETE_TEXT.as_bytes()).map_err(RecordError::io(&mark))
}

/// Lets through the first row at or after every multiple of a period.
#[derive(Clone, Copy, Debug, Default)]
struct Cadence {
    every_s: f64,
    last: Option<f64>,
}

impl Cadence {
    fn due(&mut self, time_s: f64) -> bool {
        // Half a microsecond of slack: row times are multiples of 0.01 s, which binary fractions only near.
        let due = self.last.is_none_or(|last| time_s >= last + self.every_s - 5e-7);
        if due {
            self.last = Some(time_s);
        }
        due
    }
}
