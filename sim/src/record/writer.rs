//! A table streamed to disk so that an interrupted run loses nothing finished.
//!
//! A Parquet file ends with its table of contents and cannot be read without it. So each block of rows
//! becomes a small complete file in `NAME.parts/`, readable by any Parquet tool from the moment it is
//! renamed into place. When the run ends, the blocks' compressed bytes are copied one after the other into
//! the one `NAME.parquet` (nothing is decoded), which is renamed into place before the parts go.

use std::fs::{self, File};
use std::io::BufWriter;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use parquet::column::writer::ColumnCloseResult;
use parquet::file::properties::WriterProperties;
use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::types::TypePtr;

use super::error::RecordError;
use super::parquet_io::{Scratch, WriteResult, properties, schema, write_block};
use super::table::Table;

/// Rows in a block (a row group). At 448 bytes a row this is 7 MB of memory.
pub const BLOCK_ROWS: usize = 16_384;

/// Streams rows of one table to `NAME.parquet`.
pub struct TableWriter<R: Table> {
    target: PathBuf,
    parts: PathBuf,
    schema: TypePtr,
    properties: Arc<WriterProperties>,
    rows: Vec<R>,
    block_rows: usize,
    scratch: Scratch,
    blocks: usize,
    rows_written: u64,
    finished: bool,
}

impl<R: Table> TableWriter<R> {
    /// Starts `folder/NAME.parquet` with the given metadata; nothing of that name may be there.
    ///
    /// # Errors
    /// If the folder of parts cannot be made.
    pub fn create(folder: &Path, name: &str, metadata: &[(String, String)]) -> Result<Self, RecordError> {
        Self::with_block_rows(folder, name, metadata, BLOCK_ROWS)
    }

    /// As [`TableWriter::create`], with another block size (at least 1).
    ///
    /// # Errors
    /// If the folder of parts cannot be made.
    pub fn with_block_rows(
        folder: &Path,
        name: &str,
        metadata: &[(String, String)],
        block_rows: usize,
    ) -> Result<Self, RecordError> {
        let target = folder.join(format!("{name}.parquet"));
        let parts = folder.join(format!("{name}.parts"));
        fs::create_dir(&parts).map_err(RecordError::io(&parts))?;
        let wrap = |cause| RecordError::Parquet { path: target.clone(), cause };
        Ok(Self {
            schema: schema(R::COLUMNS).map_err(wrap)?,
            properties: Arc::new(properties(R::COLUMNS, metadata).map_err(wrap)?),
            rows: Vec::new(),
            block_rows: block_rows.max(1),
            scratch: Scratch::default(),
            blocks: 0,
            rows_written: 0,
            finished: false,
            target,
            parts,
        })
    }

    /// Adds a row; every full block goes to disk.
    ///
    /// # Errors
    /// If a block cannot be written.
    pub fn push(&mut self, row: R) -> Result<(), RecordError> {
        self.rows.push(row);
        if self.rows.len() >= self.block_rows { self.flush() } else { Ok(()) }
    }

    /// Rows handed over so far.
    pub fn rows(&self) -> u64 {
        self.rows_written + self.rows.len() as u64
    }

    /// Writes what is waiting as a part of its own.
    ///
    /// # Errors
    /// If it cannot be written; the rows are kept.
    pub fn flush(&mut self) -> Result<(), RecordError> {
        if self.rows.is_empty() {
            return Ok(());
        }
        let part = self.part(self.blocks);
        let unfinished = part.with_extension("unfinished");
        let file = File::create(&unfinished).map_err(RecordError::io(&unfinished))?;
        self.write_part(file).map_err(RecordError::parquet(&unfinished))?;
        fs::rename(&unfinished, &part).map_err(RecordError::io(&part))?;
        self.blocks += 1;
        self.rows_written += self.rows.len() as u64;
        self.rows.clear();
        Ok(())
    }

    /// Joins the parts into the one file and removes them.
    ///
    /// # Errors
    /// If it cannot be written; the parts then stay.
    pub fn finish(mut self) -> Result<u64, RecordError> {
        self.flush()?;
        let unfinished = self.target.with_extension("parquet.unfinished");
        let file = File::create(&unfinished).map_err(RecordError::io(&unfinished))?;
        self.join(file).map_err(RecordError::parquet(&unfinished))?;
        fs::rename(&unfinished, &self.target).map_err(RecordError::io(&self.target))?;
        self.finished = true;
        fs::remove_dir_all(&self.parts).map_err(RecordError::io(&self.parts))?;
        Ok(self.rows_written)
    }

    fn part(&self, block: usize) -> PathBuf {
        self.parts.join(format!("{block:06}.parquet"))
    }

    fn write_part(&mut self, file: File) -> WriteResult<()> {
        let mut writer = SerializedFileWriter::new(BufWriter::new(file), self.schema.clone(), self.properties.clone())?;
        write_block(&mut writer, &self.rows, &mut self.scratch)?;
        writer.close().map(drop)
    }

    fn join(&self, file: File) -> WriteResult<()> {
        let mut writer = SerializedFileWriter::new(BufWriter::new(file), self.schema.clone(), self.properties.clone())?;
        for block in 0..self.blocks {
            append(&mut writer, &File::open(self.part(block))?)?;
        }
        writer.close().map(drop)
    }
}

/// Copies every row group of a part, still compressed.
fn append(writer: &mut SerializedFileWriter<BufWriter<File>>, part: &File) -> WriteResult<()> {
    let reader = SerializedFileReader::new(part.try_clone()?)?;
    for group in reader.metadata().row_groups() {
        let mut out = writer.next_row_group()?;
        for column in group.columns() {
            out.append_column(
                part,
                ColumnCloseResult {
                    bytes_written: column.compressed_size().cast_unsigned(),
                    rows_written: group.num_rows().cast_unsigned(),
                    metadata: column.clone(),
                    bloom_filter: None,
                    column_index: None,
                    offset_index: None,
                },
            )?;
        }
        out.close()?;
    }
    Ok(())
}

impl<R: Table> Drop for TableWriter<R> {
    /// A run that ends early, by an error or by a panic, still leaves its last rows as a part.
    fn drop(&mut self) {
        if !self.finished {
            // Nobody is left to hear of a second failure.
            let _ = self.flush();
        }
    }
}
