//! What the demonstration day costs, against a plain integration of the reference workload in the same run:
//! `cargo bench -p stillframe --bench day`.
//!
//! The whole day is flown with its default record, to a temporary folder, and the cost of an attitude step
//! (two base ticks: controller at its full rates, plant, sensors, film, record) set against one step of plain
//! nalgebra RK4 of W1. CPU time of the thread; rounds alternate. The goal is a ratio of 14 or less. The
//! parts are timed on their own below, to show where the time goes.

use rustix::time::{ClockId, clock_gettime};
use std::hint::black_box;
use stillframe::flight::{self, Options, build::build};
use stillframe::scenario::demo::Demo;

#[allow(dead_code, reason = "this bench uses some of the pieces only")]
#[path = "support/pieces.rs"]
mod pieces;
#[path = "support/plain.rs"]
mod plain;
#[path = "support/w1.rs"]
mod w1;

use plain::Plain;

const ROUNDS: usize = 5;
const W1_STEPS: u64 = 1_000_000;
const GOAL: f64 = 14.0;

fn main() {
    let mut rounds = [const { Vec::new() }; 5];
    for _ in 0..ROUNDS {
        let plain_s = plain_step_s();
        let (record_s, full_s) = (day_s(false), day_s(true));
        let bare_s = bare_loop_s();
        let row = [plain_s, record_s, full_s, bare_s, controller_s()];
        for (column, value) in rounds.iter_mut().zip(row) {
            column.push(value);
        }
    }
    let [plain_s, record_s, full_s, bare_s, controller_s] = rounds.map(median);
    let ratio = record_s / plain_s;
    println!("median of {ROUNDS} rounds, CPU time for each attitude step (20 ms of flight)");
    println!("  plain nalgebra RK4 of W1         {:7.1} ns", 1e9 * plain_s);
    println!("  day with its default record      {:7.1} ns   {ratio:.2} × plain (goal {GOAL} or less)", 1e9 * record_s);
    println!("  day with every step recorded     {:7.1} ns   {:.2} × plain", 1e9 * full_s, full_s / plain_s);
    println!("  loop alone in hold, no record    {:7.1} ns", 1e9 * bare_s);
    println!("  controller alone in hold         {:7.1} ns", 1e9 * controller_s);
    println!(
        "  a day with its default record: {:.2} s of CPU, {:.0} times real time",
        record_s * 4.32e6,
        0.02 / record_s
    );
    println!("  peak memory of this process, both kinds of record: {} MB", peak_mb());
    assert!(ratio <= GOAL, "the day costs {ratio:.1} × a plain step");
}

fn day_s(full_record: bool) -> f64 {
    let loaded = Demo::Strip.load().expect("the demonstration is sound");
    let built = build(&loaded, 1).expect("the demonstration can be built");
    let folder = tempfile::tempdir().expect("a temporary folder");
    let out = folder.path().join("day");
    let options = Options { seed: 1, out, full_record, created: jiff::Timestamp::UNIX_EPOCH };
    let start_s = cpu_s();
    let flown = flight::fly(&loaded, built, &options, &mut |_| ()).expect("the demonstration flies");
    let spent_s = cpu_s() - start_s;
    spent_s / flown.summary.speed.attitude_steps as f64
}

fn bare_loop_s() -> f64 {
    let mut flight = pieces::flight_in_hold();
    let ticks = 400_000;
    let start_s = cpu_s();
    for _ in 0..ticks {
        _ = black_box(flight.tick(&[], &mut |_, _| ()));
    }
    2.0 * (cpu_s() - start_s) / f64::from(ticks)
}

fn controller_s() -> f64 {
    let flight = pieces::flight_in_hold();
    let stream = pieces::sensors_in_hold(flight.clone(), 100_000);
    let mut controller = flight.controller;
    let start_s = cpu_s();
    for sensors in &stream {
        black_box(controller.step(black_box(sensors)));
    }
    2.0 * (cpu_s() - start_s) / stream.len() as f64
}

fn plain_step_s() -> f64 {
    let start_s = cpu_s();
    _ = black_box(w1::controlled::<Plain>(black_box(W1_STEPS)));
    (cpu_s() - start_s) / W1_STEPS as f64
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

fn cpu_s() -> f64 {
    let now = clock_gettime(ClockId::ThreadCPUTime);
    now.tv_sec as f64 + 1e-9 * now.tv_nsec as f64
}

/// High-water mark of resident memory, from the kernel.
fn peak_mb() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let kb = line.and_then(|text| text.trim().trim_end_matches(" kB").parse::<f64>().ok());
    kb.map_or("unknown".into(), |kb| format!("{:.0}", kb / 1e3))
}
