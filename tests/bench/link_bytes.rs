//! Every message byte by byte: the handbook's worked examples, and the postcard layout pinned by them.
//!
//! The page shows what the program sends. Beside it stand fields encoded here by hand, after postcard's published wire
//! format, and frames encoded by other people's COBS and CRC: both must come to the same bytes.

use crc::{CRC_32_ISO_HDLC, Crc};
use heapless::{String as Text, Vec as Row};
use serde::Serialize;
use std::{collections::BTreeSet, fmt::Write};
use stillframe_controller::{
    Controller,
    io::{
        Actuators, Edges, FilmDrive, FilmSample, HorizonSample, Listen, OrdnanceDrive, OrdnanceSample, Sensors,
        TankSample,
    },
    programme::load::LoadError,
    telemetry::Telemetry,
};
use stillframe_wire::{
    Cost, FromBoard, PinEdge, PinImage, PostMortem, Refusal, Stats, ToBoard, VERSION, frame, packet,
    settings::{RowError, SettingsRow},
};

/// Bytes of a whole number, as postcard writes it.
fn whole(mut value: u32) -> Vec<u8> {
    let mut bytes = Vec::new();
    while value >= 0x80 {
        bytes.push(value as u8 | 0x80);
        value >>= 7;
    }
    bytes.push(value as u8);
    bytes
}

fn single(value: f32) -> Vec<u8> {
    value.to_bits().to_le_bytes().to_vec()
}

/// A field by hand: name, value for people, bytes.
type Field = (String, String, Vec<u8>);

fn field(name: impl Into<String>, value: impl ToString, bytes: Vec<u8>) -> Field {
    (name.into(), value.to_string(), bytes)
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect::<Vec<_>>().join(" ")
}

/// Sixteen bytes in a line.
fn dump(bytes: &[u8]) -> String {
    let lines = bytes.chunks(16).enumerate();
    lines.map(|(line, bytes)| format!("{:>4}  {}\n", 16 * line, hex(bytes))).collect()
}

/// The frame of a body by other people's encoders, and whether the program's is the same.
fn framed(message: &impl Serialize, body: &[u8]) -> Vec<u8> {
    let version = if body[0] == 0 { vec![] } else { vec![VERSION] };
    let sum = Crc::<u32>::new(&CRC_32_ISO_HDLC).checksum(&[version.as_slice(), body].concat());
    let bytes = [&[0], cobs::encode_vec(&[body, &sum.to_le_bytes()].concat()).as_slice(), &[0]].concat();
    assert_eq!(frame(message).unwrap().as_slice(), bytes);
    bytes
}

/// One message with its frame.
fn message(page: &mut String, name: &str, message: &impl Serialize) {
    let body = postcard::to_allocvec(message).unwrap();
    let bytes = framed(message, &body);
    let _ = write!(page, "\n### {name}\n\n```text\nbody\n{}frame\n{}```\n", dump(&body), dump(&bytes));
}

/// One message with its fields encoded by hand.
fn by_fields(page: &mut String, name: &str, of: &impl Serialize, fields: &[Field]) {
    let body = postcard::to_allocvec(of).unwrap();
    let by_hand: Vec<u8> = fields.iter().flat_map(|(_, _, bytes)| bytes.clone()).collect();
    assert_eq!(hex(&by_hand), hex(&body), "{name}");
    let bytes = framed(of, &body);
    let _ = write!(page, "\n### {name}\n\n| at | bytes | field | value |\n| --- | --- | --- | --- |\n");
    let mut at = 0;
    for (name, value, bytes) in fields {
        let _ = writeln!(page, "| {at} | `{}` | {name} | {value} |", hex(bytes));
        at += bytes.len();
    }
    let sum = &cobs::decode_vec(&bytes[1..bytes.len() - 1]).unwrap()[body.len()..];
    let _ = write!(page, "\nCheck sum `{}`. The frame:\n\n```text\n{}```\n", hex(sum), dump(&bytes));
}

fn sensors() -> Sensors {
    Sensors {
        tick: 1_500,
        gyro_rad_s: [0.0, -0.001_18, 0.25],
        horizon: HorizonSample { sequence: 151, locked: true, roll_rad: 0.5, pitch_rad: -0.5 },
        tank: TankSample { pressure_pa: 2.0e7, temperature_k: 293.15 },
        film: FilmSample {
            roller_counts: 300,
            supply_counts: 127,
            take_up_counts: 128,
            supply_arm_m: 0.001,
            take_up_arm_m: -0.001,
            roller_current_a: 1.0,
            shutter_open: true,
            sweep_rad: -0.25,
        },
        uplink: Row::from_slice(&[0, 1, 2]).unwrap(),
        separated: true,
        ordnance: OrdnanceSample {
            off_carrier: true,
            recovery_v: 28.0,
            relay_closed: false,
            commit_closed: false,
            lines_closed: 0,
            spent: 1,
            done: 1,
            abort_latched: [false; 2],
            capsule_armed: true,
            retained: 0x01fe,
            retained_ticks: 0,
        },
    }
}

fn step() -> (ToBoard, Vec<Field>) {
    let s = sensors();
    let fields = vec![
        field("`Step`", 4, whole(4)),
        field("number of the exchange", 1_500, whole(1_500)),
        field("tick", s.tick, whole(s.tick)),
        field("gyro x, rad/s", s.gyro_rad_s[0], single(s.gyro_rad_s[0])),
        field("gyro y, rad/s", s.gyro_rad_s[1], single(s.gyro_rad_s[1])),
        field("gyro z, rad/s", s.gyro_rad_s[2], single(s.gyro_rad_s[2])),
        field("horizon sample's number", s.horizon.sequence, vec![s.horizon.sequence]),
        field("Earth found", s.horizon.locked, vec![1]),
        field("roll, rad", s.horizon.roll_rad, single(s.horizon.roll_rad)),
        field("pitch, rad", s.horizon.pitch_rad, single(s.horizon.pitch_rad)),
        field("tank pressure, Pa", s.tank.pressure_pa, single(s.tank.pressure_pa)),
        field("tank temperature, K", s.tank.temperature_k, single(s.tank.temperature_k)),
        field("roller's counts", s.film.roller_counts, whole(s.film.roller_counts)),
        field("supply reel's counts", s.film.supply_counts, whole(s.film.supply_counts)),
        field("take-up reel's counts", s.film.take_up_counts, whole(s.film.take_up_counts)),
        field("supply arm, m", s.film.supply_arm_m, single(s.film.supply_arm_m)),
        field("take-up arm, m", s.film.take_up_arm_m, single(s.film.take_up_arm_m)),
        field("roller motor's current, A", s.film.roller_current_a, single(s.film.roller_current_a)),
        field("light behind the shutter", s.film.shutter_open, vec![1]),
        field("sweep's angle, rad", s.film.sweep_rad, single(s.film.sweep_rad)),
        field("bytes from the radio", "3: 00 01 02", vec![3, 0, 1, 2]),
        field("separated", s.separated, vec![1]),
        field("off the carrier, by the loop", s.ordnance.off_carrier, vec![1]),
        field("recovery battery, V", s.ordnance.recovery_v, single(s.ordnance.recovery_v)),
        field("arming relay, commit switch", "open, open", vec![0, 0]),
        field("firing lines closed", 0, vec![0]),
        field("bridgewires open", 1, vec![1]),
        field("effects that show", 1, vec![1]),
        field("abort's latches", "not thrown", vec![0, 0]),
        field("capsule is armed", s.ordnance.capsule_armed, vec![1]),
        field("retained word", s.ordnance.retained, whole(0x01fe)),
        field("retained count", s.ordnance.retained_ticks, whole(0_u32)),
    ];
    (ToBoard::Step { sequence: 1_500, sensors: s }, fields)
}

fn answer() -> (FromBoard, Vec<Field>) {
    let mut actuators = Actuators {
        jets: [Edges::NONE; 16],
        latch_open: [true, false],
        film: FilmDrive {
            roller_duty: 0.5,
            supply_duty: -0.25,
            take_up_duty: 0.125,
            brake: false,
            clamp: false,
            platen_step: 341,
            sweep_step: -350,
            cut: false,
            seal: false,
        },
        shutter: Edges { open_us: Some(5_000), close_us: None },
        slit: 2,
        transmit: true,
        listen: Listen::Alternate,
        ordnance: OrdnanceDrive::REST,
    };
    actuators.jets[0] = Edges { open_us: Some(127), close_us: Some(9_999) };
    let film = &actuators.film;
    let mut fields = vec![
        field("`Answer`", 3, whole(3)),
        field("number of the exchange", 1_500, whole(1_500)),
        field("jet 1 opens, µs", 127, [vec![1], whole(127)].concat()),
        field("jet 1 closes, µs", 9_999, [vec![1], whole(9_999)].concat()),
        field("jets 2 to 16", "no edge", vec![0; 30]),
        field("latch of bank A, of bank B", "open, shut", vec![1, 0]),
        field("roller's duty", film.roller_duty, single(film.roller_duty)),
        field("supply reel's duty", film.supply_duty, single(film.supply_duty)),
        field("take-up reel's duty", film.take_up_duty, single(film.take_up_duty)),
        field("brake, clamp", "off, off", vec![0, 0]),
        field("platen's step", film.platen_step, whole(341)),
        // Zigzag: −350 is 2 × 350 − 1.
        field("sweep's step", film.sweep_step, whole(699)),
        field("knife, capsule's seal", "off, off", vec![0, 0]),
        field("shutter opens, µs", 5_000, [vec![1], whole(5_000)].concat()),
        field("shutter closes", "no edge", vec![0]),
        field("slit", actuators.slit, vec![2]),
        field("transmitter", "on", vec![1]),
        field("receiver that listens", "the alternate", vec![1]),
        field("arming relay, firing lines, commit switch, abort", "open, none, open, no", vec![0, 0, 0, 0]),
        field("word, count to be retained", "0, 0", vec![0, 0]),
    ];
    fields.push(field("telemetry packet", "none", vec![0]));
    fields.push(field("cost", "`TimerTicks`, 2,593", [vec![1], whole(2_593)].concat()));
    (FromBoard::Answer { sequence: 1_500, actuators, telemetry: None, cost: Cost::TimerTicks(2_593) }, fields)
}

fn telemetry() -> Telemetry {
    let built = stillframe::flight::build::build(&stillframe_hil::scenario::edge().unwrap(), 1).unwrap();
    let status = Controller::new(built.settings).unwrap().attitude();
    Telemetry {
        tick: 1_500,
        frames: 7,
        load_counter: 1,
        last_refusal: Some(LoadError::Packet),
        ..Telemetry::at_start(status)
    }
}

fn packets(page: &mut String) {
    let bytes = packet::snapshot(&telemetry(), 15).unwrap();
    let length = bytes.len() - packet::HEADER_BYTES - 1;
    let rows = [
        field("version 000, type 0, secondary header 1, process 32", "telemetry", vec![0x08, 0x20]),
        field("not segmented, count", 15, vec![0xc0, 15]),
        field("octets of data, less one", length, (length as u16).to_be_bytes().to_vec()),
        field("secondary header: base tick", 1_500, 1_500_u32.to_be_bytes().to_vec()),
        field("snapshot, in postcard form", "", postcard::to_allocvec(&telemetry()).unwrap()),
        field("CRC-16", "", bytes[bytes.len() - 2..].to_vec()),
    ];
    let by_hand: Vec<u8> = rows.iter().flat_map(|(_, _, bytes)| bytes.clone()).collect();
    assert_eq!(hex(&by_hand), hex(&bytes));
    page.push_str(
        "\n## Space packets\n\nThe header of a telecommand of process 16 with a secondary header, count 1, four octets of data is \
         `18 10 c0 01 00 03` (the worked example in the documentation of the crate *spacepackets*), and its CRC-16 `a9 7b`.\n\n\
         A snapshot:\n\n| at | octets | field | value |\n| --- | --- | --- | --- |\n",
    );
    let mut at = 0;
    for (name, value, bytes) in &rows {
        let _ = writeln!(page, "| {at} | `{}` | {name} | {value} |", hex(bytes));
        at += bytes.len();
    }
}

fn to_board(page: &mut String) -> Vec<ToBoard> {
    page.push_str("\n## To the board\n");
    by_fields(page, "`Hello`", &ToBoard::Hello, &[field("`Hello`", 0, vec![0])]);
    let (step, fields) = step();
    by_fields(page, "`Step`", &step, &fields);
    let row = SettingsRow { jets: 2, keys: 0x0102_0304, numbers: Row::from_slice(&[1.0, -2.5, 1e-3]).unwrap() };
    let others = [
        ("`Settings`, three numbers", ToBoard::Settings(row)),
        ("`Load`, five bytes (real ones are longer)", ToBoard::Load(Row::from_slice(b"W1\0\0\0").unwrap())),
        ("`Begin`", ToBoard::Begin),
        ("`Stats`", ToBoard::Stats),
        ("`PostMortem`", ToBoard::PostMortem),
        ("`End`", ToBoard::End),
        ("`Pins`", ToBoard::Pins),
        ("`Channel`", ToBoard::Channel { to_board: text("/tmp/a"), from_board: text("/tmp/b") }),
        ("`Pace`", ToBoard::Pace),
    ];
    for (name, each) in &others {
        message(page, name, each);
    }
    let all = others.map(|(_, message)| message).into_iter();
    all.chain([ToBoard::Hello, step]).collect()
}

fn text<const N: usize>(text: &str) -> Text<N> {
    Text::try_from(text).unwrap()
}

fn from_board(page: &mut String) -> Vec<FromBoard> {
    page.push_str("\n## From the board\n");
    let hello = FromBoard::Hello { version: VERSION, keys: 0x0102_0304, clock_hz: 16_000_000 };
    let fields = [
        field("`Hello`", 0, vec![0]),
        field("version", VERSION, vec![VERSION]),
        field("check sum of the settings' keys", "01020304", whole(0x0102_0304)),
        field("clock, Hz", 16_000_000, whole(16_000_000)),
    ];
    by_fields(page, "`Hello`", &hello, &fields);
    let (answer, fields) = answer();
    by_fields(page, "`Answer`", &answer, &fields);
    let refusals = [
        Refusal::BadFrame,
        Refusal::Settings(RowError::Range(300)),
        Refusal::Controller,
        Refusal::Load(LoadError::Entry(3)),
        Refusal::NotBegun,
        Refusal::Sequence { expected: 1_500 },
        Refusal::Unable,
    ];
    let stats = Stats {
        steps: 1_500,
        bad_frames: 1,
        lost_bytes: 2,
        stack_used: 30_000,
        stack_size: 49_152,
        link_losses: 3,
        reset_flags: 0x1000_0000,
    };
    let failed = PostMortem { cause: 2, pc: 0x0800_1234, ..PostMortem::default() };
    let edge = PinEdge { line: 16, open: true, asked_us: 5_000, done_us: 5_003 };
    let pins = PinImage {
        levels: 1 << 16,
        duties: [500, 0, 250, 0],
        duty_most: 1_000,
        edges: Row::from_slice(&[edge]).unwrap(),
        ticks: 1_500,
    };
    let mut others = vec![
        ("`Done`".to_owned(), FromBoard::Done),
        ("`Stats`".to_owned(), FromBoard::Stats(stats)),
        ("`PostMortem`, none".to_owned(), FromBoard::PostMortem(None)),
        ("`PostMortem`".to_owned(), FromBoard::PostMortem(Some(failed))),
        ("`Pins`".to_owned(), FromBoard::Pins(pins)),
    ];
    others.extend(refusals.map(|refusal| (format!("`Refused`: `{refusal:?}`"), FromBoard::Refused(refusal))));
    for (name, each) in &others {
        message(page, name, each);
    }
    let all = others.into_iter().map(|(_, message)| message);
    all.chain([hello, answer]).collect()
}

/// First bytes of the bodies: the numbers of the messages that the page shows.
fn numbers(messages: &[impl Serialize]) -> BTreeSet<u8> {
    messages.iter().map(|message| postcard::to_allocvec(message).unwrap()[0]).collect()
}

#[test]
fn the_handbooks_examples_are_what_the_program_sends() {
    let mut page = format!(
        "# The link, byte by byte\n\nMade from the program; a test keeps it so, and encodes fields and frames anew by other means. \
         [The link](link.md) explains the format. Version of the link: {VERSION}. Offsets count from zero; bytes are hexadecimal.\n",
    );
    let (up, down) = (to_board(&mut page), from_board(&mut page));
    packets(&mut page);
    // Every message there is: the next number of either direction is none.
    assert_eq!(numbers(&up), (0..=10).collect());
    assert!(postcard::from_bytes::<ToBoard>(&[11, 0, 0, 0, 0, 0]).is_err());
    assert_eq!(numbers(&down), (0..=6).collect());
    assert!(postcard::from_bytes::<FromBoard>(&[7, 0, 0, 0, 0, 0]).is_err());
    crate::assert_published("link-bytes.md", &page);
}
