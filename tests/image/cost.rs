//! What a step costs, in exactly counted instructions: held against a committed file and told in the handbook.
//!
//! The emulator counts instructions; they are not cycles. They are the same in every run of the same image, so that
//! growth shows, and differ a little between compilers, so that only the compiler of the file is held to it closely.

use crate::{
    elf::Image,
    emulator::Emulator,
    golden::begin,
    image,
    pipes::{ENABLE, Pipes},
    trace::{Done, turns},
};
use serde::{Deserialize, Serialize};
use std::{fmt::Write, path::PathBuf};
use stillframe_controller::{
    exposure::ANY_SLIT,
    io::{ATTITUDE_TICKS, Sensors, TICKS_PER_S},
    packet,
    programme::load::{Command, Entry},
};
use stillframe_golden::{Run, TICKS, settings::Camera, stream::RANDOM_FROM};
use stillframe_wire::{Cost, FromBoard, ToBoard, frame, packet::read_snapshot};

/// The emulator's words for one nanosecond an instruction, which is one count of its 1 GHz timer.
const COUNT: [&str; 2] = ["-icount", "shift=0"];
/// Instructions between the two readings of the timer that are not the step's.
const READING: u32 = 12;
/// Growth allowed to an image of another compiler than the file's.
const OTHER_COMPILER: f64 = 0.30;
/// Clock of the board by default, Hz, and the share of a base tick that its work may take.
const CLOCK_HZ: f64 = 16e6;
const MOST_SHARE: f64 = 0.30;
/// Base ticks that the step may take which takes in the longest load by radio: the two after it come late.
const LOAD_TICKS: f64 = 3.0;
/// Cycles allowed for an instruction. Most take one, loads and taken branches two or three, a division or square root
/// of floating point 14 (Arm, *Cortex-M4 Technical Reference Manual*, 100166, chapters 3.3 and 7.2); flash has no
/// wait states at 16 MHz.
const CYCLES: f64 = 2.0;
/// Time of a byte on the link, s: ten bits at 1 Mbit/s. The board waits for the transmitter while it answers.
const BYTE_S: f64 = 10e-6;

/// All in instructions.
#[derive(Debug, Deserialize, Serialize)]
struct Costs {
    reason: String,
    compiler: String,
    allowed_growth: f64,
    /// A step in which the last bytes of the longest load come in by radio.
    radio_load: u32,
    /// A byte inside a frame, from its interrupt to the board's sleep.
    link_byte: u32,
    /// The last byte of a step's frame: its check, a step before separation (a few hundred), outputs, answer.
    exchange: u32,
    /// The same with a snapshot in the answer.
    snapshot: u32,
    /// Bytes of the frames of that step, of that answer, and of the answer with the snapshot.
    frames: [usize; 3],
    film: Spread,
    attitude: Spread,
    second: Spread,
    /// With bytes of a short load from the radio.
    radio: Spread,
    /// With sensors that say nothing but random bits.
    random: Spread,
}

#[derive(Clone, Copy, Debug, Default, Deserialize, Serialize, PartialEq)]
struct Spread {
    least: u32,
    median: u32,
    most: u32,
}

impl Spread {
    fn of(mut counts: Vec<u32>) -> Self {
        counts.sort_unstable();
        Self { least: counts[0], median: counts[counts.len() / 2], most: counts[counts.len() - 1] }
    }
}

impl Costs {
    fn figures(&self) -> [(&'static str, u32); 12] {
        let Self { film, attitude, second, radio, random, radio_load, link_byte, exchange, snapshot, .. } = self;
        [
            ("film tick, median", film.median),
            ("film tick, most", film.most),
            ("attitude tick, median", attitude.median),
            ("attitude tick, most", attitude.most),
            ("1 Hz tick, median", second.median),
            ("1 Hz tick, most", second.most),
            ("radio, most", radio.most),
            ("random bits, most", random.most),
            ("longest load", *radio_load),
            ("byte of the link", *link_byte),
            ("exchange", *exchange),
            ("exchange with a snapshot", *snapshot),
        ]
    }
}

fn path(name: &str) -> PathBuf {
    image::root().join(name)
}

/// The compiler's name and version, as it leaves them in the image.
fn compiler() -> String {
    let comment = Image::section(image::elf(), ".comment");
    let text = String::from_utf8_lossy(&comment).into_owned();
    let found = text.split('\0').find(|part| part.starts_with("rustc")).expect("the compiler leaves its name");
    found.split(" (").next().unwrap().to_owned()
}

/// Board and pipes of an emulator that counts instructions.
fn counting() -> (Emulator, Pipes) {
    let words: Vec<&str> = ENABLE.into_iter().chain(COUNT).collect();
    let mut board = Emulator::start(image::elf(), &words);
    let pipes = Pipes::open(&mut board);
    (board, pipes)
}

/// A step's count, and its answer put into the run.
fn step(run: &mut Run, sequence: u32, sensors: Sensors, mut ask: impl FnMut(&ToBoard) -> FromBoard) -> u32 {
    let answer = ask(&ToBoard::Step { sequence, sensors });
    let FromBoard::Answer { actuators, telemetry, cost: Cost::TimerTicks(ticks), .. } = answer else {
        panic!("{answer:?}")
    };
    let telemetry = telemetry.map(|packet| read_snapshot(&packet).unwrap().1);
    run.answer(&actuators, telemetry.as_ref());
    ticks - READING
}

/// Counts the steps of the golden rows by rate group; apart those with bytes from the radio and those on random bits.
fn steps() -> [Spread; 5] {
    let (_board, mut pipes) = counting();
    let mut groups: [Vec<u32>; 5] = Default::default();
    for camera in Camera::ALL {
        begin(camera, |message| pipes.ask(message));
        let mut run = Run::new(camera);
        for sequence in 0..TICKS {
            let sensors = run.sensors();
            let radio = !sensors.uplink.is_empty();
            let count = step(&mut run, sequence, sensors, |message| pipes.ask(message));
            let group = match sequence {
                RANDOM_FROM.. => 4,
                _ if radio => 3,
                second if second.is_multiple_of(TICKS_PER_S) => 2,
                attitude if attitude.is_multiple_of(ATTITUDE_TICKS) => 1,
                _ => 0,
            };
            groups[group].push(count);
        }
    }
    groups.map(Spread::of)
}

/// The dearest step while the longest load comes in by radio.
fn radio_load() -> u32 {
    let (_board, mut pipes) = counting();
    begin(Camera::Strip, |message| pipes.ask(message));
    let mut load = stillframe_golden::settings::load(2, 0, Camera::Strip);
    load.entries.clear();
    for pair in 0..160 {
        let on = Command::CameraOn { slit: ANY_SLIT, interval_ticks: 0 };
        for (tick, command) in [(0x0101_0101, on), (0x0101_0201, Command::CameraOff)] {
            load.entries.push(Entry { tick: tick + 0x400 * pair, command }).unwrap();
        }
    }
    let mut bytes = vec![0];
    let packet: heapless::Vec<u8, 4_096> = packet::write(packet::TELECOMMAND, &[&load.encode()]).unwrap();
    bytes.extend(cobs::encode_vec(&packet));
    bytes.push(0);
    let (mut run, mut most, mut taken) = (Run::new(Camera::Strip), 0, false);
    for (sequence, chunk) in bytes.chunks(32).enumerate() {
        let mut sensors = run.sensors();
        sensors.uplink = chunk.iter().copied().collect();
        most = most.max(step(&mut run, sequence as u32, sensors, |message| pipes.ask(message)));
    }
    for sequence in 0..200 {
        let sequence = sequence + bytes.len().div_ceil(32) as u32;
        let answer = pipes.ask(&ToBoard::Step { sequence, sensors: run.sensors() });
        let FromBoard::Answer { telemetry, .. } = answer else { panic!("{answer:?}") };
        taken |= telemetry.is_some_and(|packet| {
            read_snapshot(&packet).unwrap().1.uplink.waiting.is_some_and(|load| load.counter == 2)
        });
    }
    assert!(taken, "the load was not taken");
    most
}

/// What the link takes of the board.
struct Link {
    byte: u32,
    exchange: u32,
    snapshot: u32,
    frames: [usize; 3],
}

/// Counts a byte inside a frame, and the last one of two steps: the first one's answer carries a snapshot. Twice, and
/// again if a busy machine has mixed things up: whatever comes in between only adds.
fn link() -> Link {
    let image = Image::read(image::elf());
    let places = [image.symbols["USART1"] & !1, image.sleep()];
    for _ in 0..8 {
        let mut frames = Vec::new();
        let turns = turns(&COUNT, places, |board, done| {
            for _ in 0..2 {
                frames = exchange(board, done);
            }
        });
        let mut alone = 0;
        let (mut bytes, mut ends) = (Vec::new(), Vec::new());
        for turn in turns.iter().filter(|turn| turn.bytes > 0) {
            match (turn.bytes, turn.instructions < 1_000) {
                (1, true) => {
                    alone += 1;
                    bytes.push(turn.instructions);
                }
                (1, false) if alone >= FIRST => {
                    alone = 0;
                    ends.push(turn.instructions);
                }
                (_, true) => {}
                _ => alone = 0,
            }
        }
        if let ([a, b, c, d], Some(&byte)) = (&ends[..], bytes.iter().min()) {
            return Link { byte, snapshot: *a.min(c), exchange: *b.min(d), frames: [frames[2], frames[3], frames[1]] };
        }
        println!("not four ends but {ends:?}: again");
    }
    panic!("the machine is too busy to hand single bytes to the board")
}

/// First bytes of a frame that are sent by themselves.
const FIRST: usize = 4;

/// Two steps, their frames' ends sent by themselves; the lengths of the frames to and fro.
fn exchange(board: &mut Emulator, done: &Done) -> Vec<usize> {
    // A board so slow may still be answering greetings.
    let past_greetings = |board: &mut Emulator| loop {
        match board.receive().expect("a sound answer") {
            FromBoard::Hello { .. } => {}
            answer => return answer,
        }
    };
    begin(Camera::Strip, |message| {
        board.send(&frame(message).unwrap());
        past_greetings(board)
    });
    done.settle();
    let (mut run, mut lengths) = (Run::new(Camera::Strip), Vec::new());
    let mut sent = done.bytes();
    for sequence in 0..2 {
        let bytes = frame(&ToBoard::Step { sequence, sensors: run.sensors() }).unwrap();
        let (first, rest) = bytes.split_at(FIRST);
        let (last, middle) = rest.split_last().unwrap();
        for part in first.chunks(1).chain([middle, &[*last]]) {
            board.send(part);
            sent += part.len() as u32;
            done.wait_for(sent);
            sent = done.bytes();
        }
        let answer = past_greetings(board);
        assert!(matches!(&answer, FromBoard::Answer { telemetry, .. } if telemetry.is_some() == (sequence == 0)));
        lengths.extend([bytes.len(), frame(&answer).unwrap().len()]);
    }
    lengths
}

#[test]
fn steps_cost_what_they_did_and_a_tick_fits_its_share() {
    let file = path("firmware/board/step-cost.toml");
    let known: Costs = toml::from_str(&std::fs::read_to_string(&file).unwrap()).unwrap();
    let [film, attitude, second, radio, random] = steps();
    let Link { byte: link_byte, exchange, snapshot, frames } = link();
    let radio_load = radio_load();
    let now = Costs {
        film,
        attitude,
        second,
        radio,
        random,
        radio_load,
        link_byte,
        exchange,
        snapshot,
        frames,
        compiler: compiler(),
        reason: known.reason.clone(),
        allowed_growth: known.allowed_growth,
    };
    println!("{now:#?}");
    if std::env::var_os("STILLFRAME_BLESS").is_some() {
        std::fs::write(&file, format!("{HEAD}{}", toml::to_string(&now).unwrap())).unwrap();
        std::fs::write(path(CHAPTER), chapter(&now)).unwrap();
        return;
    }
    let allowed = if now.compiler == known.compiler { known.allowed_growth } else { OTHER_COMPILER };
    for ((name, now), (_, known)) in now.figures().into_iter().zip(known.figures()) {
        let most = f64::from(known) * (1.0 + allowed);
        assert!(f64::from(now) <= most, "{name}: {now} instructions, {known} in step-cost.toml, {most:.0} allowed");
    }
    // Random bits are told and gated, but no vehicle's sensors say them for long: they are no part of the promise.
    let dearest = [now.film, now.attitude, now.second].map(|group| group.most).into_iter().fold(0, u32::max);
    let dearest = share(dearest);
    assert!(dearest < MOST_SHARE, "a step takes {:.1} % of a tick", 100.0 * dearest);
    // The one exception, once a load. The link counts as silent, and the watchdog starves, only after many times that.
    let load = share(now.radio_load);
    assert!(load < LOAD_TICKS, "taking in a load takes {load:.1} ticks");
}

const HEAD: &str = "\
# Instructions that the board takes, exactly counted in the emulator: for a step over stillframe-golden's rows, by rate
# group; for the step that takes in the longest load by radio; for a byte on the link; and for the rest of an exchange.
# Written by STILLFRAME_BLESS=1 cargo test --release -p stillframe-tests --test image steps_cost. A test fails if a
# figure grows by more than allowed_growth. The reason is for people: why the figures are what they are.
";
const CHAPTER: &str = "docs/src/step-cost.md";
/// Share of a base tick that `instructions` take.
fn share(instructions: u32) -> f64 {
    f64::from(instructions) * CYCLES / CLOCK_HZ * f64::from(TICKS_PER_S)
}

/// Share of a base tick that the link takes: bytes, check and answer, and on a real line the wait for the transmitter.
fn link_share(costs: &Costs, exchange: u32, answer_bytes: usize) -> f64 {
    let bytes = costs.link_byte * costs.frames[0] as u32;
    share(bytes + exchange) + answer_bytes as f64 * BYTE_S * f64::from(TICKS_PER_S)
}

fn chapter(costs: &Costs) -> String {
    let mut text = String::from(
        "# What a step costs\n\nMade by a test from `firmware/board/step-cost.toml`, which the same test holds the image to.\n\n\
        Instructions of one step of the flight code on the board, counted exactly by the emulator over the fixed rows \
        of inputs of `stillframe-golden`: the strip and the framing camera, every mode, bursts, loads by radio, every sensor's faults.\n\n\
        | rate group | least | median | most | median, share of a tick | most, share of a tick |\n\
        | --- | ---: | ---: | ---: | ---: | ---: |\n",
    );
    let percent = |count: u32| format!("{:.1} %", 100.0 * share(count));
    let groups = [
        ("film and shutter only, every other tick", costs.film),
        ("with an attitude step, every other tick", costs.attitude),
        ("with ledgers and telemetry, once a second", costs.second),
        ("sensors that say random bits, any tick", costs.random),
        ("bytes of a load of ten commands from the radio", costs.radio),
    ];
    for (name, Spread { least, median, most }) in groups {
        let _ = writeln!(text, "| {name} | {least} | {median} | {most} | {} | {} |", percent(median), percent(most));
    }
    let _ = write!(
        text,
        "\nA share is of a base tick of 10 ms at the default clock of 16 MHz, with two cycles to an instruction: most \
        take one, loads and taken branches two or three, a division or square root 14. On a real board the cycle \
        counter tells. The three rate groups stay under 30 %, which the test asserts; random bits are shown for what they are.\n\n\
        The one exception: the step that takes in the longest load by radio (320 commands) takes {} instructions, {} of \
        a tick by the same reckoning. The next steps then come late by the overrun, once a load; valve edges do not, \
        for they are a timer's.\n\n\
        On the bench the link comes on top, at every step: {} instructions for each of its frame's bytes, {} for the \
        frame's check, the outputs and the answer, {} if that carries a snapshot; and on a real line the wait for the \
        transmitter, 10 µs a byte. Reckoned in the same way that is {:.0} % of a tick, and {:.0} % once a second: with \
        the step itself and what its cycles may really be, a real board at the pace of its own timer has little left of \
        that tick at the default clock. A step that comes late is made up for in the next tick; with a crystal the clock \
        is four times as fast.\n",
        costs.radio_load,
        percent(costs.radio_load),
        costs.link_byte,
        costs.exchange,
        costs.snapshot,
        100.0 * link_share(costs, costs.exchange, costs.frames[1]),
        100.0 * link_share(costs, costs.snapshot, costs.frames[2]),
    );
    text
}
