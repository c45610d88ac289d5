//! A run's stream of sensors and answers in a file, to be fed again to a desk or a board.
//!
//! The file is a row of frames as on the wire ([`mod@stillframe_wire::frame`]: zero, COBS of message and check sum,
//! zero). The first, [`Entry::Head`], has the place of a greeting: 00, the version of the link, the mark `SFBS`, the
//! format's number. The second holds settings, the third the command load, and then comes one [`Tick`] for every base
//! tick. Messages are in postcard form, floats as their bits, so that what comes back is what was written.

use serde::{Deserialize, Serialize};
use std::{
    fs::File,
    io::{self, BufReader, BufWriter, Read, Write},
    path::{Path, PathBuf},
};
use stillframe_controller::{
    io::{Actuators, Sensors},
    programme::load::MAX_BYTES,
    settings::Settings,
    telemetry::Telemetry,
};
use stillframe_wire::{
    FrameError, Unframer, VERSION, frame,
    settings::{RowError, SettingsRow},
};
use thiserror::Error;

/// Version of this file format.
pub const FORMAT: u16 = 2;
const MARK: [u8; 4] = *b"SFBS";

/// Why a stream cannot be written or read.
#[derive(Debug, Error)]
pub enum StreamError {
    /// The file.
    #[error("{path}: {error}", path = .path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// What happened.
        error: io::Error,
    },
    /// Not a stream.
    #[error("{path} is no bench stream of format {FORMAT}: `stillframe-bench lockstep --stream FILE` writes one", path = .0.display())]
    NoStream(PathBuf),
    /// Written by a program of another version.
    #[error(
        "{path} was written with version {version} of the link and this program reads version {VERSION}: fly the run again, or replay it with the program that wrote it", path = .path.display()
    )]
    Version {
        /// Which.
        path: PathBuf,
        /// Its version.
        version: u8,
    },
    /// Damaged.
    #[error("{path} is damaged after {ticks} ticks ({error:?})", path = .path.display())]
    Damaged {
        /// Which.
        path: PathBuf,
        /// Sound ticks before the damage.
        ticks: u64,
        /// What is wrong there.
        error: FrameError,
    },
    /// Settings that are not this program's.
    #[error("{path} holds settings that this program cannot use ({error:?}): it was written by another version", path = .path.display())]
    Settings {
        /// Which file.
        path: PathBuf,
        /// What is wrong.
        error: RowError,
    },
}

/// One frame of a stream.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[allow(clippy::large_enum_variant, reason = "one exists at a time")]
pub enum Entry {
    /// What the file is.
    Head {
        /// Version of the link.
        version: u8,
        /// `SFBS`.
        mark: [u8; 4],
        /// [`FORMAT`].
        format: u16,
    },
    /// Settings of the run.
    Settings(SettingsRow),
    /// Its load; empty if it came by radio.
    Load(heapless::Vec<u8, MAX_BYTES>),
    /// A base tick.
    Tick(Tick),
}

/// One base tick.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tick {
    /// What the sensors said.
    pub sensors: Sensors,
    /// What the desk made of it.
    pub actuators: Actuators,
    /// The desk's snapshot, if it made one.
    pub telemetry: Option<Telemetry>,
}

/// Writes a stream.
#[derive(Debug)]
pub struct Writer {
    file: BufWriter<File>,
    path: PathBuf,
}

impl Writer {
    /// Starts a file, in place of one that is there.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn create(path: &Path, settings: &Settings, load: &[u8]) -> Result<Self, StreamError> {
        let failed = |error| StreamError::File { path: path.to_path_buf(), error };
        let mut writer = Self { file: BufWriter::new(File::create(path).map_err(failed)?), path: path.to_path_buf() };
        let long = || failed(io::Error::other("settings or load do not fit into a frame"));
        let settings = SettingsRow::write(settings).ok_or_else(long)?;
        let load = heapless::Vec::<u8, MAX_BYTES>::from_slice(load).map_err(|_| long())?;
        // Frames of their own: together they would be longer than one may be.
        writer.put(&Entry::Head { version: VERSION, mark: MARK, format: FORMAT })?;
        writer.put(&Entry::Settings(settings))?;
        writer.put(&Entry::Load(load))?;
        Ok(writer)
    }

    /// Writes a tick.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn tick(
        &mut self,
        sensors: &Sensors,
        actuators: &Actuators,
        telemetry: Option<&Telemetry>,
    ) -> Result<(), StreamError> {
        let tick = Tick { sensors: sensors.clone(), actuators: actuators.clone(), telemetry: telemetry.copied() };
        self.put(&Entry::Tick(tick))
    }

    /// Writes what is still held back.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn finish(mut self) -> Result<(), StreamError> {
        self.file.flush().map_err(|error| StreamError::File { path: self.path, error })
    }

    fn put(&mut self, message: &Entry) -> Result<(), StreamError> {
        let bytes = frame(message).map_err(|_| io::Error::other("a message does not fit into a frame"));
        bytes
            .and_then(|bytes| self.file.write_all(&bytes))
            .map_err(|error| StreamError::File { path: self.path.clone(), error })
    }
}

/// Reads a stream.
#[derive(Debug)]
pub struct Reader {
    bytes: io::Bytes<BufReader<File>>,
    path: PathBuf,
    unframer: Unframer,
    ticks: u64,
    /// Settings of the run.
    pub settings: Settings,
    /// Its load; empty if it came by radio.
    pub load: Vec<u8>,
}

impl Reader {
    /// Opens a file and reads its head.
    ///
    /// # Errors
    /// If it cannot be read or is no stream.
    pub fn open(path: &Path) -> Result<Self, StreamError> {
        let failed = |error| StreamError::File { path: path.to_path_buf(), error };
        let file = File::open(path).map_err(failed)?;
        let mut reader = Self {
            bytes: BufReader::new(file).bytes(),
            path: path.to_path_buf(),
            unframer: Unframer::new(),
            ticks: 0,
            settings: Settings::default(),
            load: Vec::new(),
        };
        let no_stream = || StreamError::NoStream(path.to_path_buf());
        match reader.next() {
            Ok(Some(Entry::Head { mark: MARK, format: FORMAT, .. })) => {}
            Err(error @ StreamError::Version { .. }) => return Err(error),
            _ => return Err(no_stream()),
        }
        let Some(Entry::Settings(row)) = reader.next()? else { return Err(no_stream()) };
        reader.settings = row.read().map_err(|error| StreamError::Settings { path: path.to_path_buf(), error })?;
        let Some(Entry::Load(load)) = reader.next()? else { return Err(no_stream()) };
        reader.load = load.to_vec();
        Ok(reader)
    }

    /// The next tick; none at the end.
    ///
    /// # Errors
    /// If the file is damaged there.
    pub fn tick(&mut self) -> Result<Option<Tick>, StreamError> {
        match self.next()? {
            Some(Entry::Tick(tick)) => {
                self.ticks += 1;
                Ok(Some(tick))
            }
            Some(_) => {
                let error = FrameError::Content;
                Err(StreamError::Damaged { path: self.path.clone(), ticks: self.ticks, error })
            }
            None => Ok(None),
        }
    }

    fn next(&mut self) -> Result<Option<Entry>, StreamError> {
        for byte in self.bytes.by_ref() {
            let byte = byte.map_err(|error| StreamError::File { path: self.path.clone(), error })?;
            match self.unframer.push(byte) {
                Some(Ok(message)) => return Ok(Some(message)),
                Some(Err(FrameError::Version(version))) => {
                    return Err(StreamError::Version { path: self.path.clone(), version });
                }
                Some(Err(error)) => {
                    return Err(StreamError::Damaged { path: self.path.clone(), ticks: self.ticks, error });
                }
                None => {}
            }
        }
        Ok(None)
    }
}
