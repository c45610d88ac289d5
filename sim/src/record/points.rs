//! `points.parquet` read back: what a picture of a frame is made from.

use std::fs::File;
use std::path::Path;

use parquet::errors::ParquetError;
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::{Row, RowAccessor};

use super::columns::FramePoint;
use super::error::RecordError;

/// The points of a run, with one entry of the file's metadata.
#[derive(Clone, Debug)]
pub struct Points {
    /// Every point, in the order of exposure.
    pub rows: Vec<FramePoint>,
    metadata: Vec<(String, String)>,
}

impl Points {
    /// Reads `points.parquet`.
    ///
    /// # Errors
    /// If the file cannot be read or is none of ours.
    pub fn read(path: &Path) -> Result<Self, RecordError> {
        let file = File::open(path).map_err(RecordError::io(path))?;
        Self::from_file(file).map_err(RecordError::parquet(path))
    }

    fn from_file(file: File) -> Result<Self, ParquetError> {
        let reader = SerializedFileReader::new(file)?;
        let entries = reader.metadata().file_metadata().key_value_metadata();
        let metadata =
            entries.into_iter().flatten().map(|entry| (entry.key.clone(), entry.value.clone().unwrap_or_default()));
        Ok(Self {
            metadata: metadata.collect(),
            rows: reader.get_row_iter(None)?.map(|row| point(&row?)).collect::<Result<_, ParquetError>>()?,
        })
    }

    /// An entry of the file's metadata.
    pub fn metadata(&self, key: &str) -> Option<&str> {
        self.metadata.iter().find(|(name, _)| name == key).map(|(_, value)| value.as_str())
    }
}

/// Columns in the order of [`FramePoint`]'s declaration.
fn point(row: &Row) -> Result<FramePoint, ParquetError> {
    let pair = |first: usize| Ok::<_, ParquetError>([row.get_float(first)?, row.get_float(first + 1)?]);
    let five = |first: usize| {
        let mut values = [0.0; 5];
        for (value, column) in values.iter_mut().zip(first..) {
            *value = row.get_float(column)?;
        }
        Ok::<_, ParquetError>(values)
    };
    Ok(FramePoint {
        time_s: row.get_double(0)?,
        frame: row.get_uint(1)?,
        exposure: row.get_ubyte(2)?,
        sweep_angle_rad: row.get_float(3)?,
        at_m: pair(4)?,
        exposure_s: row.get_float(6)?,
        ground_per_image: pair(7)?,
        smear_m: pair(9)?,
        resolution_lp_mm: pair(11)?,
        grd_m: pair(13)?,
        path_along_m: five(15)?,
        path_across_m: five(20)?,
    })
}
