//! The frames table: one line a frame, whatever the judge of the frames has to say.

use std::fs::File;
use std::path::{Path, PathBuf};

use serde::Serialize;

use super::error::RecordError;

/// Writes `frames.csv` from any flat serialisable row; its field names are the header.
pub struct FrameWriter {
    path: PathBuf,
    csv: csv::Writer<File>,
    count: u64,
}

impl FrameWriter {
    /// Starts the file; none of that name may be there.
    ///
    /// # Errors
    /// If it cannot be made.
    pub fn create(path: &Path) -> Result<Self, RecordError> {
        let file = File::create_new(path).map_err(RecordError::io(path))?;
        Ok(Self { path: path.to_path_buf(), csv: csv::Writer::from_writer(file), count: 0 })
    }

    /// Writes one frame, all the way to the system.
    ///
    /// # Errors
    /// If it cannot be written, or the row is not flat.
    pub fn push<T: Serialize>(&mut self, frame: &T) -> Result<(), RecordError> {
        self.csv.serialize(frame).map_err(RecordError::csv(&self.path))?;
        self.count += 1;
        self.csv.flush().map_err(RecordError::io(&self.path))
    }

    /// Frames written.
    pub fn count(&self) -> u64 {
        self.count
    }
}
