//! Orbit and attitude as CCSDS text, for other tools to read.
//!
//! - Orbit Ephemeris Message, CCSDS 502.0-B-3 (2023), key-value notation: tables 5-2 and 5-3, data lines of
//!   5.2.4 in km and km/s.
//! - Attitude Ephemeris Message, CCSDS 504.0-B-2 (version 2.0), key-value notation: tables 4-2, 4-3, 4-4;
//!   `ATTITUDE_TYPE = QUATERNION`, scalar last. Version 2 has no `ATTITUDE_DIR` or `QUATERNION_TYPE`.
//!
//! The inertial frame is TEME frozen at the start of the run: `TEMEOFEPOCH` in the registry of frames that
//! both standards point to (name from memory, checked against other implementations). An AEM has no key for
//! the frame's epoch, so a comment gives it. The quaternion takes frame A (inertial) into frame B (body):
//! its vector part lies along the axis about which A must be turned to fall on B. That is our quaternion,
//! `v_A = q v_B q*`, with the scalar moved to the end.
//!
//! `STOP_TIME` comes before the data but is known only after it: it is written with the last line's time
//! when the file is finished. Until then the file's name ends in `.unfinished`.

use std::fs::{self, File};
use std::io::{self, BufWriter, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use jiff::{SignedDuration, Timestamp};

use super::error::RecordError;

/// Name of the inertial frame in both messages.
pub const INERTIAL_FRAME: &str = "TEMEOFEPOCH";
/// Name of the body frame in the attitude message.
pub const BODY_FRAME: &str = "SC_BODY_1";
/// Who made the message.
pub const ORIGINATOR: &str = "STILLFRAME";

/// What both messages say of the run.
#[derive(Clone, Debug)]
pub struct MessageHeader {
    /// When the message was made (UTC). Given by the caller: the record reads no clock.
    pub created: Timestamp,
    /// Start of the run (UTC); also the epoch of the inertial frame.
    pub epoch: Timestamp,
    /// Name of the vehicle.
    pub object_name: String,
    /// Comment lines, e.g. scenario and seed.
    pub comments: Vec<String>,
}

/// A UTC instant as both standards write it, to the microsecond.
pub fn ccsds_time(epoch: Timestamp, time_s: f64) -> String {
    let offset = SignedDuration::from_micros((time_s * 1e6).round() as i64);
    let instant = epoch.saturating_add(offset).unwrap_or(epoch);
    instant.strftime("%Y-%m-%dT%H:%M:%S%.6f").to_string()
}

/// Streams an orbit ephemeris.
pub struct OemWriter(Message);

impl OemWriter {
    /// Starts the file.
    ///
    /// # Errors
    /// If it cannot be made.
    pub fn create(path: &Path, header: &MessageHeader) -> Result<Self, RecordError> {
        let epoch = ccsds_time(header.epoch, 0.0);
        Message::create(path, header, "CCSDS_OEM_VERS = 3.0", |out, stop| {
            writeln!(out, "META_START")?;
            writeln!(out, "OBJECT_NAME = {}", header.object_name)?;
            writeln!(out, "OBJECT_ID = UNKNOWN")?;
            writeln!(out, "CENTER_NAME = EARTH")?;
            writeln!(out, "REF_FRAME = {INERTIAL_FRAME}")?;
            writeln!(out, "REF_FRAME_EPOCH = {epoch}")?;
            writeln!(out, "TIME_SYSTEM = UTC")?;
            writeln!(out, "START_TIME = {epoch}")?;
            stop(out)?;
            writeln!(out, "INTERPOLATION = HERMITE")?;
            writeln!(out, "INTERPOLATION_DEGREE = 7")?;
            writeln!(out, "META_STOP\n")
        })
        .map(Self)
    }

    /// Adds a state: position m, velocity m/s, in the inertial frame. Times must rise; others are left out.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn push(&mut self, time_s: f64, position_m: [f64; 3], velocity_m_s: [f64; 3]) -> Result<(), RecordError> {
        let [x, y, z] = position_m.map(|v| v * 1e-3);
        let [u, v, w] = velocity_m_s.map(|v| v * 1e-3);
        // Millimetres and micrometres a second: finer than any force model here can promise.
        self.0.line(time_s, &format!("{x:.6} {y:.6} {z:.6} {u:.9} {v:.9} {w:.9}"))
    }

    /// Puts the stop time in and gives the file its name.
    ///
    /// # Errors
    /// If it cannot be written or renamed.
    pub fn finish(self) -> Result<(), RecordError> {
        self.0.finish("")
    }
}

/// Streams an attitude ephemeris.
pub struct AemWriter {
    message: Message,
    last: [f64; 4],
}

impl AemWriter {
    /// Starts the file.
    ///
    /// # Errors
    /// If it cannot be made.
    pub fn create(path: &Path, header: &MessageHeader) -> Result<Self, RecordError> {
        let epoch = ccsds_time(header.epoch, 0.0);
        let message = Message::create(path, header, "CCSDS_AEM_VERS = 2.0", |out, stop| {
            writeln!(out, "META_START")?;
            writeln!(out, "COMMENT Epoch of {INERTIAL_FRAME}: {epoch} UTC")?;
            writeln!(out, "COMMENT {BODY_FRAME}: x along track, y opposite the orbit normal, z to the Earth")?;
            writeln!(out, "OBJECT_NAME = {}", header.object_name)?;
            writeln!(out, "OBJECT_ID = UNKNOWN")?;
            writeln!(out, "CENTER_NAME = EARTH")?;
            writeln!(out, "REF_FRAME_A = {INERTIAL_FRAME}")?;
            writeln!(out, "REF_FRAME_B = {BODY_FRAME}")?;
            writeln!(out, "TIME_SYSTEM = UTC")?;
            writeln!(out, "START_TIME = {epoch}")?;
            stop(out)?;
            writeln!(out, "ATTITUDE_TYPE = QUATERNION")?;
            writeln!(out, "INTERPOLATION_METHOD = LINEAR")?;
            writeln!(out, "INTERPOLATION_DEGREE = 1")?;
            writeln!(out, "META_STOP\nDATA_START")
        })?;
        Ok(Self { message, last: [1.0, 0.0, 0.0, 0.0] })
    }

    /// Adds an attitude, scalar first as everywhere inside. The sign is chosen so that neighbouring lines
    /// can be interpolated. Times must rise; others are left out.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn push(&mut self, time_s: f64, q: [f64; 4]) -> Result<(), RecordError> {
        let along: f64 = q.iter().zip(&self.last).map(|(a, b)| a * b).sum();
        let [w, x, y, z] = if along < 0.0 { q.map(|v| -v) } else { q };
        self.last = [w, x, y, z];
        self.message.line(time_s, &format!("{x:.12} {y:.12} {z:.12} {w:.12}"))
    }

    /// Puts the stop time in and gives the file its name.
    ///
    /// # Errors
    /// If it cannot be written or renamed.
    pub fn finish(self) -> Result<(), RecordError> {
        self.message.finish("DATA_STOP\n")
    }
}

/// What both writers share: the file under its passing name, and where the stop time goes.
struct Message {
    target: PathBuf,
    unfinished: PathBuf,
    out: BufWriter<File>,
    epoch: Timestamp,
    stop_at: u64,
    last_s: f64,
}

type Out = BufWriter<File>;
type StopHere<'a> = dyn FnMut(&mut Out) -> io::Result<()> + 'a;

impl Message {
    fn create(
        path: &Path,
        header: &MessageHeader,
        version: &str,
        metadata: impl FnOnce(&mut Out, &mut StopHere<'_>) -> io::Result<()>,
    ) -> Result<Self, RecordError> {
        let mut unfinished = path.as_os_str().to_owned();
        unfinished.push(".unfinished");
        let unfinished = PathBuf::from(unfinished);
        let file = File::create_new(&unfinished).map_err(RecordError::io(&unfinished))?;
        let mut out = BufWriter::new(file);
        let mut stop_at = 0;
        let write = || {
            writeln!(out, "{version}")?;
            for comment in header.comments.iter().flat_map(|c| c.lines()) {
                writeln!(out, "COMMENT {comment}")?;
            }
            writeln!(out, "CREATION_DATE = {}", ccsds_time(header.created, 0.0))?;
            writeln!(out, "ORIGINATOR = {ORIGINATOR}\n")?;
            metadata(&mut out, &mut |out| {
                write!(out, "STOP_TIME = ")?;
                stop_at = out.stream_position()?;
                writeln!(out, "{}", ccsds_time(header.epoch, 0.0))
            })
        };
        write().map_err(RecordError::io(&unfinished))?;
        Ok(Self {
            target: path.to_path_buf(),
            out,
            epoch: header.epoch,
            stop_at,
            last_s: f64::NEG_INFINITY,
            unfinished,
        })
    }

    fn line(&mut self, time_s: f64, values: &str) -> Result<(), RecordError> {
        // The standards want strictly rising times; two within a microsecond would print the same.
        if time_s < self.last_s + 2e-6 {
            return Ok(());
        }
        self.last_s = time_s;
        writeln!(self.out, "{} {values}", ccsds_time(self.epoch, time_s)).map_err(RecordError::io(&self.unfinished))
    }

    fn finish(mut self, end: &str) -> Result<(), RecordError> {
        let stop = ccsds_time(self.epoch, self.last_s.max(0.0));
        let mut write = || {
            self.out.write_all(end.as_bytes())?;
            self.out.seek(SeekFrom::Start(self.stop_at))?;
            self.out.write_all(stop.as_bytes())?;
            self.out.flush()
        };
        write().map_err(RecordError::io(&self.unfinished))?;
        fs::rename(&self.unfinished, &self.target).map_err(RecordError::io(&self.target))
    }
}
