//! What can go wrong while a record is written.

use std::io;
use std::path::{Path, PathBuf};

use parquet::errors::ParquetError;

/// Why a record could not be written. Every text says what to do.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum RecordError {
    /// The folder already holds something of a run.
    #[error(
        "output folder {folder} already holds {found}; nothing was written. Name another folder, or move or delete the old results first"
    )]
    FolderInUse {
        /// The folder asked for.
        folder: PathBuf,
        /// The first thing found there.
        found: String,
    },
    /// A file or folder could not be made, written or renamed.
    #[error("cannot write {path}: {cause}. Check the free space and the rights of the output folder")]
    Io {
        /// What was being written.
        path: PathBuf,
        /// The system's word on it.
        cause: io::Error,
    },
    /// Parquet's writer refused.
    #[error("cannot write {path} as Parquet: {cause}")]
    Parquet {
        /// What was being written.
        path: PathBuf,
        /// The writer's word on it.
        cause: ParquetError,
    },
    /// A summary held a number that is not finite, or could not be put into JSON.
    #[error(
        "the summary cannot be written: {cause}. A number in it is not finite; this is a fault of the program, please report it"
    )]
    Summary {
        /// What the JSON check found.
        cause: serde_json::Error,
    },
    /// A table line could not be put into CSV.
    #[error("cannot write {path} as CSV: {cause}")]
    Csv {
        /// What was being written.
        path: PathBuf,
        /// The writer's word on it.
        cause: csv::Error,
    },
}

impl RecordError {
    /// Wraps a system error with the path it came from.
    pub(crate) fn io(path: &Path) -> impl FnOnce(io::Error) -> Self {
        let path = path.to_path_buf();
        move |cause| Self::Io { path, cause }
    }
    /// Wraps a Parquet error with the path it came from.
    pub(crate) fn parquet(path: &Path) -> impl FnOnce(ParquetError) -> Self {
        let path = path.to_path_buf();
        move |cause| Self::Parquet { path, cause }
    }
    /// Wraps a CSV error with the path it came from.
    pub(crate) fn csv(path: &Path) -> impl FnOnce(csv::Error) -> Self {
        let path = path.to_path_buf();
        move |cause| Self::Csv { path, cause }
    }
}
