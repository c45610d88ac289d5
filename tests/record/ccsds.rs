//! Orbit and attitude messages, read back by a strict parser written from the standards' tables, and by two
//! third-party parsers in a test of its own that needs a Python (`STILLFRAME_PYTHON`).
//!
//! Keywords, their order and which are mandatory: CCSDS 502.0-B-3 (2023) tables 5-2 and 5-3; CCSDS 504.0-B-2
//! tables 4-2, 4-3 and 4-4. Version 2 of the attitude message has no `ATTITUDE_DIR` and no `QUATERNION_TYPE`,
//! and its scalar stands last.

use std::fs;
use std::path::Path;
use std::process::Command;

use jiff::Timestamp;
use nalgebra::{Quaternion, UnitQuaternion, Vector3};
use stillframe::record::ccsds::{AemWriter, OemWriter, ccsds_time};
use stillframe::record::{Recorder, files};

use super::synthetic;

/// A keyword and whether it must be there.
type Keyword = (&'static str, bool);

const HEADER: [Keyword; 5] = [
    ("COMMENT", false),
    ("CLASSIFICATION", false),
    ("CREATION_DATE", true),
    ("ORIGINATOR", true),
    ("MESSAGE_ID", false),
];
const OEM_META: [Keyword; 14] = [
    ("COMMENT", false),
    ("OBJECT_NAME", true),
    ("OBJECT_ID", true),
    ("CENTER_NAME", true),
    ("REF_FRAME", true),
    ("REF_FRAME_EPOCH", false),
    ("TIME_SYSTEM", true),
    ("START_TIME", true),
    ("USEABLE_START_TIME", false),
    ("USEABLE_STOP_TIME", false),
    ("STOP_TIME", true),
    ("INTERPOLATION", false),
    ("INTERPOLATION_DEGREE", false),
    ("COMMENT", false),
];
const AEM_META: [Keyword; 16] = [
    ("COMMENT", false),
    ("OBJECT_NAME", true),
    ("OBJECT_ID", true),
    ("CENTER_NAME", false),
    ("REF_FRAME_A", true),
    ("REF_FRAME_B", true),
    ("TIME_SYSTEM", true),
    ("START_TIME", true),
    ("USEABLE_START_TIME", false),
    ("USEABLE_STOP_TIME", false),
    ("STOP_TIME", true),
    ("ATTITUDE_TYPE", true),
    ("EULER_ROT_SEQ", false),
    ("ANGVEL_FRAME", false),
    ("INTERPOLATION_METHOD", false),
    ("INTERPOLATION_DEGREE", false),
];

/// A message taken apart.
struct Message {
    meta: Vec<(String, String)>,
    data: Vec<(Timestamp, Vec<f64>)>,
}

impl Message {
    fn get(&self, key: &str) -> &str {
        &self.meta.iter().find(|(k, _)| k == key).unwrap_or_else(|| panic!("no {key}")).1
    }
}

/// Reads keywords in the order of the table, no other, none missing, until a line that is not one.
fn keywords<'a>(
    lines: &mut std::iter::Peekable<impl Iterator<Item = &'a str>>,
    table: &[Keyword],
) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut place = 0;
    while let Some(line) = lines.peek() {
        let (key, value) = match line.split_once('=') {
            Some((key, value)) => (key.trim(), value.trim()),
            None if line.starts_with("COMMENT ") => ("COMMENT", &line[8..]),
            None => break,
        };
        let next = table[place..]
            .iter()
            .position(|(k, _)| *k == key)
            .unwrap_or_else(|| panic!("{key} is unknown or out of order"));
        place += next + usize::from(key != "COMMENT");
        assert!(!value.is_empty(), "{key} has no value");
        found.push((key.to_string(), value.to_string()));
        lines.next();
    }
    for (key, _) in table.iter().filter(|(_, mandatory)| *mandatory) {
        assert_eq!(found.iter().filter(|(k, _)| k == key).count(), 1, "{key}");
    }
    found
}

fn time(text: &str) -> Timestamp {
    // Neither standard's times carry a zone: TIME_SYSTEM says UTC.
    format!("{text}Z").parse().unwrap_or_else(|e| panic!("{text}: {e}"))
}

fn parse(text: &str, version: &str, meta: &[Keyword], fenced: bool, columns: usize) -> Message {
    assert!(text.is_ascii() && text.ends_with('\n'));
    assert!(text.lines().all(|l| l.len() <= 254), "lines of at most 254 characters");
    let mut lines = text.lines().filter(|l| !l.trim().is_empty()).peekable();
    assert_eq!(lines.next(), Some(version));
    keywords(&mut lines, &HEADER);
    assert_eq!(lines.next(), Some("META_START"));
    let meta = keywords(&mut lines, meta);
    assert_eq!(lines.next(), Some("META_STOP"));
    if fenced {
        assert_eq!(lines.next(), Some("DATA_START"));
    }
    let mut data = Vec::new();
    for line in lines.by_ref() {
        if line == "DATA_STOP" {
            break;
        }
        let mut parts = line.split_whitespace();
        let at = time(parts.next().expect("an epoch"));
        let values: Vec<f64> = parts.map(|p| p.parse().expect("a number")).collect();
        assert_eq!(values.len(), columns, "{line}");
        data.push((at, values));
    }
    assert_eq!(lines.next(), None, "nothing after the data");
    assert!(data.windows(2).all(|w| w[0].0 < w[1].0), "times rise");
    Message { meta, data }
}

fn oem(text: &str) -> Message {
    parse(text, "CCSDS_OEM_VERS = 3.0", &OEM_META, false, 6)
}

fn aem(text: &str) -> Message {
    assert!(!text.contains("ATTITUDE_DIR") && !text.contains("QUATERNION_TYPE"));
    let message = parse(text, "CCSDS_AEM_VERS = 2.0", &AEM_META, true, 4);
    assert!(text.trim_end().ends_with("DATA_STOP"));
    message
}

/// A made-up run of two hours and ten minutes, recorded into `folder`.
fn record(folder: &Path) {
    let mut recorder = Recorder::create(folder, &synthetic::info()).expect("recorder");
    for k in 0..=7_800 {
        recorder.row(&synthetic::row(f64::from(k))).expect("row");
    }
    recorder.finish(&synthetic::summary(&[], 7_800.0)).expect("finished");
}

#[test]
fn orbit_message_reads_back() {
    let folder = tempfile::tempdir().expect("folder");
    record(folder.path());
    let message = oem(&fs::read_to_string(folder.path().join(files::ORBIT)).expect("file"));
    assert_eq!(message.get("TIME_SYSTEM"), "UTC");
    assert_eq!(time(message.get("START_TIME")), synthetic::epoch());
    assert_eq!(time(message.get("REF_FRAME_EPOCH")), synthetic::epoch());
    assert_eq!(message.data.len(), 131, "a line a minute");
    assert_eq!(time(message.get("STOP_TIME")), message.data.last().expect("data").0);
    for (at, values) in &message.data {
        let row = synthetic::row(at.duration_since(synthetic::epoch()).as_secs_f64());
        for axis in 0..3 {
            // Half of the last digit written: 1 mm and 1 µm/s.
            assert!((values[axis] * 1e3 - row.position_m[axis]).abs() <= 0.501e-3);
            assert!((values[axis + 3] * 1e3 - row.velocity_m_s[axis]).abs() <= 0.501e-6);
        }
    }
}

#[test]
fn attitude_message_reads_back_scalar_last_and_denser_in_the_pass() {
    let folder = tempfile::tempdir().expect("folder");
    record(folder.path());
    let message = aem(&fs::read_to_string(folder.path().join(files::ATTITUDE)).expect("file"));
    assert_eq!(message.get("ATTITUDE_TYPE"), "QUATERNION");
    assert_eq!(time(message.get("STOP_TIME")), message.data.last().expect("data").0);
    let in_pass = message.data.iter().filter(|(at, _)| {
        let t = at.duration_since(synthetic::epoch()).as_secs_f64();
        (6_801.0..6_890.0).contains(&t)
    });
    assert_eq!(in_pass.count(), 89, "a line a second while the camera is on");
    let mut last: Option<Quaternion<f64>> = None;
    for (at, v) in &message.data {
        let row = synthetic::row(at.duration_since(synthetic::epoch()).as_secs_f64());
        let written = Quaternion::new(v[3], v[0], v[1], v[2]);
        let [w, x, y, z] = row.attitude_q;
        let angle = UnitQuaternion::new_normalize(written)
            .angle_to(&UnitQuaternion::new_normalize(Quaternion::new(w, x, y, z)));
        assert!(angle < 1e-11, "{angle}");
        assert!(last.is_none_or(|q| q.dot(&written) > 0.0), "no jump of sign between lines");
        last = Some(written);
    }
}

/// The direction: a body turned by +90° about inertial z has its x axis along inertial y. The standard's
/// quaternion takes frame A into frame B; as a matrix it turns A's components into B's (504.0-B-2 annex), so
/// the inertial y axis must come out as body x.
#[test]
fn attitude_quaternion_takes_the_inertial_frame_into_the_body() {
    let folder = tempfile::tempdir().expect("folder");
    let path = folder.path().join("a.aem");
    let mut writer = AemWriter::create(&path, &synthetic::info().header).expect("writer");
    let half = std::f64::consts::FRAC_PI_4;
    writer.push(0.0, [half.cos(), 0.0, 0.0, half.sin()]).expect("line");
    writer.finish().expect("finished");
    let message = aem(&fs::read_to_string(&path).expect("file"));
    assert_eq!((message.get("REF_FRAME_A"), message.get("REF_FRAME_B")), ("TEMEOFEPOCH", "SC_BODY_1"));
    let (q1, q2, q3, qc) = match message.data[0].1[..] {
        [a, b, c, d] => (a, b, c, d),
        _ => unreachable!("four columns were asserted"),
    };
    // Rows of the direction-cosine matrix A to B of a quaternion with scalar qc (Wertz 1978, eq. 12-13a).
    let y = Vector3::new(0.0, 1.0, 0.0);
    let body = Vector3::new(
        (q1 * q1 - q2 * q2 - q3 * q3 + qc * qc) * y.x + 2.0 * (q1 * q2 + q3 * qc) * y.y,
        2.0 * (q1 * q2 - q3 * qc) * y.x + (-q1 * q1 + q2 * q2 - q3 * q3 + qc * qc) * y.y,
        2.0 * (q1 * q3 + q2 * qc) * y.x + 2.0 * (q2 * q3 - q1 * qc) * y.y,
    );
    assert!((body - Vector3::x()).norm() < 1e-9, "{body}");
}

#[test]
fn times_are_written_to_the_microsecond_and_carry_over() {
    let epoch: Timestamp = "2030-12-31T23:59:59.5Z".parse().expect("instant");
    assert_eq!(ccsds_time(epoch, 0.499_999_4), "2030-12-31T23:59:59.999999");
    assert_eq!(ccsds_time(epoch, 0.5), "2031-01-01T00:00:00.000000");
}

#[test]
fn unfinished_message_is_named_so_and_lines_never_repeat_a_time() {
    let folder = tempfile::tempdir().expect("folder");
    let path = folder.path().join("o.oem");
    let mut writer = OemWriter::create(&path, &synthetic::info().header).expect("writer");
    for t in [0.0, 0.0, 1e-7, 60.0, 59.0] {
        let row = synthetic::row(t);
        writer.push(t, row.position_m, row.velocity_m_s).expect("line");
    }
    assert!(!path.exists() && folder.path().join("o.oem.unfinished").exists());
    writer.finish().expect("finished");
    assert_eq!(oem(&fs::read_to_string(&path).expect("file")).data.len(), 2);
}

#[test]
#[should_panic(expected = "ATTITUDE_DIR is unknown or out of order")]
fn the_parser_refuses_a_version_1_keyword() {
    keywords(&mut "REF_FRAME_A = X\nREF_FRAME_B = Y\nATTITUDE_DIR = A2B\n".lines().peekable(), &AEM_META);
}

/// Third-party readers: PyPI `oem` 0.4.5 for the orbit, `ccsds-ndm-py` 0.0.9 for both, `pyarrow` for the table.
#[test]
#[ignore = "needs STILLFRAME_PYTHON, a Python with the packages named in read_back.py; tests/run gives it one"]
fn other_peoples_parsers_read_the_files() {
    let python = std::env::var_os("STILLFRAME_PYTHON").expect("STILLFRAME_PYTHON names a Python");
    let folder = tempfile::tempdir().expect("folder");
    record(folder.path());
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("record/read_back.py");
    let run = Command::new(python).arg(script).arg(folder.path()).output().expect("Python");
    let (out, err) = (String::from_utf8_lossy(&run.stdout), String::from_utf8_lossy(&run.stderr));
    assert!(run.status.success(), "{out}{err}");
    assert!(out.contains("orbit 131 lines") && out.contains("record 7801 rows"), "{out}");
}
