//! Reading a results folder's series back, column by column.

use std::fs::File;
use std::path::Path;

use parquet::basic::Type as Physical;
use parquet::column::reader::{ColumnReader, get_typed_column_reader};
use parquet::data_type::{BoolType, DataType, DoubleType, FloatType, Int32Type};
use parquet::errors::ParquetError;
use parquet::file::reader::{FileReader, SerializedFileReader};

use super::error::RecordError;

/// Columns of one Parquet table by name, whatever they are stored as, as `f64` (unsigned codes above 2³¹ come
/// back as stored: 32 bits, unsigned). `None` for a column that the table has not.
///
/// # Errors
/// If the file cannot be opened or is no Parquet table.
pub fn read_columns(path: &Path, names: &[&str]) -> Result<Vec<Option<Vec<f64>>>, RecordError> {
    let file = File::open(path).map_err(RecordError::io(path))?;
    let wrap = |cause| RecordError::Parquet { path: path.into(), cause };
    let reader = SerializedFileReader::new(file).map_err(wrap)?;
    names.iter().map(|name| column(&reader, name).map_err(wrap)).collect()
}

fn column(reader: &SerializedFileReader<File>, name: &str) -> Result<Option<Vec<f64>>, ParquetError> {
    let schema = reader.metadata().file_metadata().schema_descr_ptr();
    let Some(index) = schema.columns().iter().position(|column| column.name() == name) else { return Ok(None) };
    let mut values = Vec::new();
    for group in 0..reader.num_row_groups() {
        let group = reader.get_row_group(group)?;
        let rows = usize::try_from(group.metadata().num_rows()).unwrap_or(0);
        let column = group.get_column_reader(index)?;
        match schema.column(index).physical_type() {
            Physical::DOUBLE => read::<DoubleType>(column, rows, |v| v, &mut values)?,
            Physical::FLOAT => read::<FloatType>(column, rows, f64::from, &mut values)?,
            Physical::INT32 => read::<Int32Type>(column, rows, |v| f64::from(v.cast_unsigned()), &mut values)?,
            Physical::BOOLEAN => read::<BoolType>(column, rows, |v| f64::from(u8::from(v)), &mut values)?,
            other => return Err(ParquetError::General(format!("{name} is stored as {other}, not as a number"))),
        }
    }
    Ok(Some(values))
}

fn read<T: DataType>(
    column: ColumnReader,
    rows: usize,
    widen: impl Fn(T::T) -> f64,
    values: &mut Vec<f64>,
) -> Result<(), ParquetError> {
    let mut reader = get_typed_column_reader::<T>(column);
    let mut left = rows;
    while left > 0 {
        let mut room = Vec::with_capacity(left);
        let (_, read, _) = reader.read_records(left, None, None, &mut room)?;
        if read == 0 {
            break;
        }
        left -= read;
        values.extend(room.into_iter().map(&widen));
    }
    Ok(())
}
