//! Cost of one call of each inner piece: `cargo bench -p stillframe --bench steps`.
//!
//! What belongs here: one step of the plant, one step of the controller, one turn of the whole loop,
//! and anything called inside them at every sample. Whole workloads with known answers belong in
//! `w1.rs`; instruction counts in `instructions.rs`.

use divan::{Bencher, black_box};
use stillframe::noise::NoiseSource;

#[path = "support/pieces.rs"]
mod pieces;

fn main() {
    divan::main();
}

#[divan::bench(sample_size = 10_000)]
fn plant_step(bencher: Bencher) {
    let (body, mut state, forcing) = pieces::body_under_way();
    bencher.bench_local(|| body.advance(&mut state, black_box(0.02), black_box(&forcing)));
}

/// One base tick of the controller in fine hold, every second one with an attitude step.
#[divan::bench(sample_size = 10_000)]
fn controller_tick(bencher: Bencher) {
    let flight = pieces::flight_in_hold();
    let stream = pieces::sensors_in_hold(flight.clone(), 20_000);
    let mut controller = flight.controller;
    let mut next = 0;
    bencher.bench_local(|| {
        next = (next + 1) % stream.len();
        controller.step(black_box(&stream[next]))
    });
}

/// An attitude step of the controller in fine hold, with the valve timers' two ticks.
#[divan::bench(sample_size = 10_000)]
fn attitude_step(bencher: Bencher) {
    let in_hold = pieces::attitude_in_hold();
    let mut attitude = in_hold.attitude;
    let mut next = 0;
    bencher.bench_local(|| {
        next = (next + 1) % in_hold.inputs.len();
        attitude.step(black_box(&in_hold.inputs[next]));
        [attitude.valves(), attitude.valves()]
    });
}

/// One base tick of the whole loop in fine hold: faults, sensors, controller, plant, link.
#[divan::bench(sample_size = 10_000)]
fn loop_tick(bencher: Bencher) {
    let mut flight = pieces::flight_in_hold();
    bencher.bench_local(|| flight.tick(&[], &mut |_, _| ()).map(|outcome| outcome.open));
}

#[divan::bench(sample_size = 10_000)]
fn gyro_noise(bencher: Bencher) {
    let noise = NoiseSource::new(1, 0, "gyro", 0);
    let mut sample = 0;
    bencher.bench_local(|| {
        sample += 1;
        noise.gaussian3(black_box(sample))
    });
}
