//! Tables written by the record, read back by the parquet crate's own reader (and, on request, by Arrow's).

use std::fs::{self, File};
use std::path::Path;

use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::Field;
use proptest::prelude::*;
use stillframe::record::parquet_io::COLUMNS_KEY;
use stillframe::record::table::{Kind, Table};
use stillframe::record::writer::TableWriter;
use stillframe::record::{JetEdge, Row};

use super::synthetic;

/// All values of a file, row by row, widened to f64.
fn read(path: &Path) -> Vec<Vec<f64>> {
    let reader = SerializedFileReader::new(File::open(path).expect("file")).expect("Parquet");
    let rows = reader.get_row_iter(None).expect("rows");
    rows.map(|row| row.expect("row").get_column_iter().map(|(_, field)| widen(field)).collect()).collect()
}

fn widen(field: &Field) -> f64 {
    match field {
        Field::Double(v) => *v,
        Field::Float(v) => f64::from(*v),
        Field::UByte(v) => f64::from(*v),
        Field::UInt(v) => f64::from(*v),
        Field::Short(v) => f64::from(*v),
        Field::Int(v) => f64::from(*v),
        Field::Bool(v) => f64::from(u8::from(*v)),
        other => panic!("unexpected field {other:?}"),
    }
}

fn values<R: Table>(row: &R) -> Vec<f64> {
    (0..R::COLUMNS.len()).map(|k| row.value(k).expect("a column")).collect()
}

fn same(a: f64, b: f64) -> bool {
    a == b || (a.is_nan() && b.is_nan())
}

#[track_caller]
fn assert_same<R: Table>(written: &[R], read: &[Vec<f64>]) {
    assert_eq!(written.len(), read.len());
    for (row, back) in written.iter().zip(read) {
        let wanted = values(row);
        for (k, column) in R::COLUMNS.iter().enumerate() {
            assert!(same(wanted[k], back[k]), "{}: {} became {}", column.name, wanted[k], back[k]);
        }
    }
}

#[test]
fn series_comes_back_bit_for_bit_across_blocks() {
    let folder = tempfile::tempdir().expect("folder");
    let rows: Vec<Row> = (0..1_000).map(|k| synthetic::row(f64::from(k) * 60.0)).collect();
    let mut writer = TableWriter::with_block_rows(folder.path(), "record", &[], 64).expect("writer");
    for row in &rows {
        writer.push(row.clone()).expect("row");
    }
    assert_eq!(writer.finish().expect("finished"), 1_000);
    assert_same(&rows, &read(&folder.path().join("record.parquet")));
    let left: Vec<_> = fs::read_dir(folder.path()).expect("folder").collect();
    assert_eq!(left.len(), 1, "nothing but the table is left");
}

#[test]
fn every_column_carries_its_unit_and_meaning() {
    let folder = tempfile::tempdir().expect("folder");
    let mut writer =
        TableWriter::create(folder.path(), "record", &[("stillframe.seed".into(), "7".into())]).expect("writer");
    writer.push(synthetic::row(0.0)).expect("row");
    writer.finish().expect("finished");
    let reader =
        SerializedFileReader::new(File::open(folder.path().join("record.parquet")).expect("file")).expect("Parquet");
    let metadata = reader.metadata().file_metadata();
    let entries = metadata.key_value_metadata().expect("metadata");
    let get = |key: &str| entries.iter().find(|e| e.key == key).and_then(|e| e.value.clone()).expect("entry");
    assert_eq!(get("stillframe.seed"), "7");
    let described: serde_json::Value = serde_json::from_str(&get(COLUMNS_KEY)).expect("JSON");
    let described = described.as_array().expect("a list");
    let schema = metadata.schema_descr();
    assert_eq!(described.len(), schema.num_columns());
    for (entry, column) in described.iter().zip(schema.columns()) {
        assert_eq!(entry["name"], column.name());
        for key in ["unit", "frame", "group", "meaning", "kind"] {
            assert!(!entry[key].as_str().expect("text").is_empty(), "{}: {key}", column.name());
        }
    }
}

#[test]
fn column_names_are_unique_and_end_in_their_unit() {
    let endings = [
        ("m", "_m"),
        ("s", "_s"),
        ("m/s", "_m_s"),
        ("deg", "_deg"),
        ("rad", "_rad"),
        ("rad/s", "_rad_s"),
        ("rad/s2", "_rad_s2"),
        ("kg", "_kg"),
        ("kg/m3", "_kg_m3"),
        ("Pa", "_pa"),
        ("K", "_k"),
        ("N", "_n"),
        ("N m", "_n_m"),
        ("N m s", "_n_m_s"),
        ("W", "_w"),
        ("W h", "_wh"),
    ];
    let mut names = std::collections::HashSet::new();
    for column in Row::COLUMNS.iter().chain(JetEdge::COLUMNS) {
        if column.unit != "1" {
            let ending = endings
                .iter()
                .find(|(unit, _)| *unit == column.unit)
                .map(|(_, e)| *e)
                .unwrap_or_else(|| panic!("unit {}", column.unit));
            assert!(column.name.ends_with(ending), "{} is in {}", column.name, column.unit);
        }
    }
    assert!(Row::COLUMNS.iter().all(|c| names.insert(c.name)), "a name stands twice");
}

#[test]
fn running_totals_and_places_are_stored_whole() {
    for name in [
        "time_s",
        "position_x_m",
        "velocity_z_m_s",
        "attitude_qw",
        "gas_kg",
        "metered_film_m",
        "energy_used_wh",
        "jet_15_on_s",
    ] {
        let column = Row::COLUMNS.iter().find(|c| c.name == name).unwrap_or_else(|| panic!("{name}"));
        assert_eq!(column.kind, Kind::F64, "{name}");
    }
}

#[test]
fn digested_series_are_columns_of_the_record() {
    let row = synthetic::row(6_850.0);
    for (name, get) in stillframe::record::envelope::DIGESTED {
        let index = Row::COLUMNS.iter().position(|c| c.name == *name).unwrap_or_else(|| panic!("{name} is no column"));
        assert!(same(get(&row), row.value(index).expect("a column")), "{name}");
    }
}

#[test]
fn a_forgotten_field_shows() {
    let row = Row::default();
    assert!(row.gas_kg.is_nan() && row.power_w.is_nan());
    assert_eq!(row.contact_station, -1);
}

/// What is left when a run stops without a word: the writer is leaked, as by a kill.
#[test]
fn a_killed_run_keeps_every_finished_block() {
    let folder = tempfile::tempdir().expect("folder");
    let rows: Vec<Row> = (0..100).map(|k| synthetic::row(f64::from(k))).collect();
    let mut writer = TableWriter::with_block_rows(folder.path(), "record", &[], 32).expect("writer");
    for row in &rows {
        writer.push(row.clone()).expect("row");
    }
    std::mem::forget(writer);
    assert!(!folder.path().join("record.parquet").exists(), "an unfinished run must not look finished");
    assert_same(&rows[..96], &read_parts(folder.path()));
}

#[test]
fn a_run_that_ends_by_an_error_keeps_its_last_rows_too() {
    let folder = tempfile::tempdir().expect("folder");
    let rows: Vec<Row> = (0..100).map(|k| synthetic::row(f64::from(k))).collect();
    let mut writer = TableWriter::with_block_rows(folder.path(), "record", &[], 32).expect("writer");
    for row in &rows {
        writer.push(row.clone()).expect("row");
    }
    drop(writer);
    assert_same(&rows, &read_parts(folder.path()));
}

fn read_parts(folder: &Path) -> Vec<Vec<f64>> {
    let mut parts: Vec<_> =
        fs::read_dir(folder.join("record.parts")).expect("parts").map(|e| e.expect("entry").path()).collect();
    parts.sort();
    parts.iter().flat_map(|part| read(part)).collect()
}

#[test]
fn a_table_without_rows_is_a_table() {
    let folder = tempfile::tempdir().expect("folder");
    let writer = TableWriter::<JetEdge>::create(folder.path(), "jets", &[]).expect("writer");
    assert_eq!(writer.finish().expect("finished"), 0);
    assert!(read(&folder.path().join("jets.parquet")).is_empty());
}

fn any_row() -> impl Strategy<Value = Row> {
    let f64s = prop::array::uniform4(prop::num::f64::ANY);
    let f32s = prop::array::uniform3(prop::num::f32::ANY);
    (f64s, f32s, any::<u32>(), any::<u8>(), any::<i16>(), any::<bool>()).prop_map(|(d, f, bits, code, index, flag)| {
        Row {
            time_s: d[0],
            tick: bits,
            attitude_q: d,
            gas_kg: d[1],
            attitude_error_rad: f,
            power_w: f[1],
            health_flags: bits.rotate_left(7),
            assumed_mode: code,
            contact_station: index,
            in_eclipse: flag,
            ..Row::default()
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn any_rows_come_back(rows in prop::collection::vec(any_row(), 0..60), block in 1_usize..40) {
        let folder = tempfile::tempdir().expect("folder");
        let mut writer = TableWriter::with_block_rows(folder.path(), "record", &[], block).expect("writer");
        for row in &rows {
            writer.push(row.clone()).expect("row");
        }
        writer.finish().expect("finished");
        assert_same(&rows, &read(&folder.path().join("record.parquet")));
    }
}

/// Time, size and memory of a million rows; prints them.
#[test]
#[ignore = "measures: cargo test --release --test record a_million -- --ignored --nocapture"]
fn a_million_rows() {
    let count: u32 = std::env::var("STILLFRAME_ROWS").ok().and_then(|v| v.parse().ok()).unwrap_or(1_000_000);
    let folder = tempfile::tempdir().expect("folder");
    let mut recorder = stillframe::record::Recorder::create(folder.path(), &synthetic::info()).expect("recorder");
    let block: Vec<Row> = (0..20_000).map(|k| synthetic::row(6_700.0 + f64::from(k) * 0.01)).collect();
    let start = std::time::Instant::now();
    for k in 0..count {
        let mut row = block[k as usize % block.len()].clone();
        row.time_s = f64::from(k) * 0.01;
        row.gas_kg -= 1e-9 * row.time_s;
        recorder.row(&row).expect("row");
    }
    let data = synthetic::summary(&[], f64::from(count) * 0.01);
    recorder.finish(&data).expect("finished");
    let wall = start.elapsed().as_secs_f64();
    let size = fs::metadata(folder.path().join("record.parquet")).expect("file").len();
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let peak = status.lines().find(|l| l.starts_with("VmHWM")).unwrap_or("VmHWM unknown").to_string();
    println!(
        "{count} rows of {} columns ({} bytes a row in memory): {wall:.2} s, {size} bytes, {peak}",
        Row::COLUMNS.len(),
        size_of::<Row>()
    );
}
