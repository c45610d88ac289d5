//! The record of a run: typed columns, events, frames and a summary, streamed to one folder.
//!
//! | file | what it holds |
//! | --- | --- |
//! | `record.parquet` | the series, one [`Row`] a line; units and meanings in the file's metadata |
//! | `jets.parquet` | every edge of every jet's valve, at its true time |
//! | `film.parquet` | encoder counts and commanded speeds, in every base tick in which film runs |
//! | `events.csv` | what happened, one line an event |
//! | `frames.csv` | one line a frame |
//! | `points.parquet` | the image's path, smear and resolution over each frame's format |
//! | `orbit.oem`, `attitude.aem` | CCSDS text for other tools |
//! | `summary.json` | what the run came to; schema in the handbook |
//! | `report.html` | written afterwards by [`report`](crate::report) from the [`Digest`] and the summary |
//!
//! While the run goes on, and after it was interrupted, the folder also holds `INCOMPLETE.txt`; the Parquet
//! tables are then in `record.parts/`, `jets.parts/`, `film.parts/` and `points.parts/` (each part a complete
//! file) and the CCSDS files end in `.unfinished`. Nothing that was there before is overwritten: a folder that holds anything of a run is
//! refused.
//!
//! The record knows neither plant nor flight code: who closes the loop fills its rows.

pub mod ccsds;
pub mod columns;
pub mod digest;
pub mod envelope;
pub mod error;
pub mod events;
pub mod frames_csv;
pub mod parquet_io;
pub mod points;
pub mod reading;
mod recorder;
pub mod summary;
pub mod table;
pub mod writer;

pub use columns::{FilmTick, FramePoint, JetEdge, Row};
pub use digest::{Digest, Window};
pub use error::RecordError;
pub use events::{Event, EventKind};
pub use recorder::{CodeNames, Recorder, RunInfo, files, write_new};
pub use summary::Summary;
