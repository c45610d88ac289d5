//! Typed tables as Parquet: schema, encodings, and one block of rows at a time.

use std::io::Write;
use std::sync::Arc;

use parquet::basic::{Compression, Encoding, LogicalType, Repetition, Type as Physical, ZstdLevel};
use parquet::data_type::{BoolType, DataType, DoubleType, FloatType, Int32Type};
use parquet::errors::ParquetError;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::{EnabledStatistics, WriterProperties, WriterVersion};
use parquet::file::writer::{SerializedFileWriter, SerializedRowGroupWriter};
use parquet::schema::types::{ColumnPath, Type, TypePtr};

use super::table::{Column, Kind, Table};

/// What writing a block returns.
pub type WriteResult<T> = Result<T, ParquetError>;

/// Key of the file's metadata under which every column's unit, frame, group and meaning stand, as JSON.
pub const COLUMNS_KEY: &str = "stillframe.columns";

/// Schema of a table. Every column is required: a number nobody knows is NaN, not absent.
pub fn schema(columns: &[Column]) -> WriteResult<TypePtr> {
    let fields = columns.iter().map(field).collect::<WriteResult<Vec<_>>>()?;
    Ok(Arc::new(Type::group_type_builder("record").with_fields(fields).build()?))
}

fn field(column: &Column) -> WriteResult<TypePtr> {
    let (physical, logical) = match column.kind {
        Kind::F64 => (Physical::DOUBLE, None),
        Kind::F32 => (Physical::FLOAT, None),
        Kind::U8 => (Physical::INT32, Some(LogicalType::integer(8, false))),
        Kind::U32 => (Physical::INT32, Some(LogicalType::integer(32, false))),
        Kind::I16 => (Physical::INT32, Some(LogicalType::integer(16, true))),
        Kind::Bool => (Physical::BOOLEAN, None),
    };
    let field = Type::primitive_type_builder(column.name, physical)
        .with_repetition(Repetition::REQUIRED)
        .with_logical_type(logical)
        .build()?;
    Ok(Arc::new(field))
}

/// How a table is written: zstd over byte-split floats, no dictionaries, no statistics.
///
/// Neighbouring rows differ little, so the high bytes of floats repeat: split into byte streams they
/// compress well and cost next to nothing to encode. Dictionaries would only buy memory use.
pub fn properties(columns: &[Column], metadata: &[(String, String)]) -> WriteResult<WriterProperties> {
    let mut entries = vec![KeyValue::new(COLUMNS_KEY.into(), columns_as_json(columns))];
    entries.extend(metadata.iter().map(|(key, value)| KeyValue::new(key.clone(), value.clone())));
    let mut builder = WriterProperties::builder()
        .set_writer_version(WriterVersion::PARQUET_2_0)
        .set_compression(Compression::ZSTD(ZstdLevel::try_new(1)?))
        .set_dictionary_enabled(false)
        .set_statistics_enabled(EnabledStatistics::None)
        .set_offset_index_disabled(true)
        .set_max_row_group_row_count(None)
        .set_created_by(concat!("stillframe ", env!("CARGO_PKG_VERSION")).into())
        .set_key_value_metadata(Some(entries));
    for column in columns {
        let encoding = match column.kind {
            Kind::F64 | Kind::F32 => Encoding::BYTE_STREAM_SPLIT,
            Kind::U8 | Kind::U32 | Kind::I16 => Encoding::DELTA_BINARY_PACKED,
            Kind::Bool => Encoding::RLE,
        };
        builder = builder.set_column_encoding(ColumnPath::from(column.name), encoding);
    }
    Ok(builder.build())
}

/// Every column's description, as JSON.
pub fn columns_as_json(columns: &[Column]) -> String {
    serde_json::to_string(columns).unwrap_or_default()
}

/// Writes `rows` as one row group.
///
/// # Errors
/// As the file's writer.
pub fn write_block<R: Table, W: Write + Send>(
    file: &mut SerializedFileWriter<W>,
    rows: &[R],
    scratch: &mut Scratch,
) -> WriteResult<()> {
    let mut group = file.next_row_group()?;
    let mut block = Block { group: &mut Erased(&mut group), scratch };
    R::gather(rows, &mut block)?;
    group.close()?;
    Ok(())
}

/// Room for one column, kept between blocks.
#[derive(Default)]
pub struct Scratch {
    f64: Vec<f64>,
    f32: Vec<f32>,
    i32: Vec<i32>,
    bool: Vec<bool>,
}

/// One block of rows being written, column after column.
pub struct Block<'a> {
    group: &'a mut dyn Columns,
    scratch: &'a mut Scratch,
}

impl Block<'_> {
    /// Writes the next column.
    pub(super) fn put_f64(&mut self, values: impl Iterator<Item = f64>) -> WriteResult<()> {
        refill(&mut self.scratch.f64, values);
        self.group.put_f64(&self.scratch.f64)
    }
    /// Writes the next column.
    pub(super) fn put_f32(&mut self, values: impl Iterator<Item = f32>) -> WriteResult<()> {
        refill(&mut self.scratch.f32, values);
        self.group.put_f32(&self.scratch.f32)
    }
    /// Writes the next column.
    pub(super) fn put_u8(&mut self, values: impl Iterator<Item = u8>) -> WriteResult<()> {
        self.put_i32(values.map(i32::from))
    }
    /// Writes the next column. Parquet stores the same 32 bits and marks them unsigned.
    pub(super) fn put_u32(&mut self, values: impl Iterator<Item = u32>) -> WriteResult<()> {
        self.put_i32(values.map(u32::cast_signed))
    }
    /// Writes the next column.
    pub(super) fn put_i16(&mut self, values: impl Iterator<Item = i16>) -> WriteResult<()> {
        self.put_i32(values.map(i32::from))
    }
    /// Writes the next column.
    pub(super) fn put_bool(&mut self, values: impl Iterator<Item = bool>) -> WriteResult<()> {
        refill(&mut self.scratch.bool, values);
        self.group.put_bool(&self.scratch.bool)
    }
    fn put_i32(&mut self, values: impl Iterator<Item = i32>) -> WriteResult<()> {
        refill(&mut self.scratch.i32, values);
        self.group.put_i32(&self.scratch.i32)
    }
}

fn refill<T>(room: &mut Vec<T>, values: impl Iterator<Item = T>) {
    room.clear();
    room.extend(values);
}

/// The row group without its output's type, so that `gather` is compiled once.
trait Columns {
    fn put_f64(&mut self, values: &[f64]) -> WriteResult<()>;
    fn put_f32(&mut self, values: &[f32]) -> WriteResult<()>;
    fn put_i32(&mut self, values: &[i32]) -> WriteResult<()>;
    fn put_bool(&mut self, values: &[bool]) -> WriteResult<()>;
}

struct Erased<'a, 'w, W: Write>(&'a mut SerializedRowGroupWriter<'w, W>);

impl<W: Write + Send> Columns for Erased<'_, '_, W> {
    fn put_f64(&mut self, values: &[f64]) -> WriteResult<()> {
        put::<DoubleType, W>(self.0, values)
    }
    fn put_f32(&mut self, values: &[f32]) -> WriteResult<()> {
        put::<FloatType, W>(self.0, values)
    }
    fn put_i32(&mut self, values: &[i32]) -> WriteResult<()> {
        put::<Int32Type, W>(self.0, values)
    }
    fn put_bool(&mut self, values: &[bool]) -> WriteResult<()> {
        put::<BoolType, W>(self.0, values)
    }
}

fn put<T: DataType, W: Write + Send>(group: &mut SerializedRowGroupWriter<'_, W>, values: &[T::T]) -> WriteResult<()> {
    let mut column = group
        .next_column()?
        .ok_or_else(|| ParquetError::General("more columns gathered than the schema has".into()))?;
    column.typed::<T>().write_batch(values, None, None)?;
    column.close()
}
