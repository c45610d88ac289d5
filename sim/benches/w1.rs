//! How fast the plant is, against the same equations integrated plainly:
//! `cargo bench -p stillframe --bench w1`.
//!
//! One run is the reference workload with its controller, single thread. Both plants must give its
//! exact counts before either is timed. Rounds of the two alternate, so that a busy machine slows
//! both; CPU time of the thread is taken, not time on the wall, and the middle round reported. A
//! timing harness of the shelf measures one at a time and on the wall, hence the few lines here.

use rustix::time::{ClockId, clock_gettime};
use std::hint::black_box;

#[path = "support/ours.rs"]
mod ours;
#[path = "support/plain.rs"]
mod plain;
#[path = "support/w1.rs"]
mod w1;

use ours::Ours;
use plain::Plain;

const STEPS: u64 = 500_000;
const ROUNDS: usize = 11;

fn main() {
    check::<Plain>("plain");
    check::<Ours>("ours");
    println!("W1 with its controller, {STEPS} steps a round, median of {ROUNDS} rounds, CPU time");
    compare(
        || _ = black_box(w1::controlled::<Ours>(black_box(STEPS))),
        || {
            _ = black_box(w1::controlled::<Plain>(black_box(STEPS)));
        },
    );
    println!("W1 plant alone, jets off");
    compare(
        || _ = black_box(w1::free::<Ours>(black_box(STEPS))),
        || {
            _ = black_box(w1::free::<Plain>(black_box(STEPS)));
        },
    );
}

fn check<P: w1::Plant>(name: &str) {
    let outcome = w1::controlled::<P>(w1::HOUR.steps);
    w1::HOUR.check_counts(&outcome);
    println!("{name}: exact counts of the hour: {:?}, {}", outcome.on_samples, outcome.toggles);
}

/// Prints both speeds and, from the rounds' own ratios, how they compare.
fn compare(ours: impl Fn(), plain: impl Fn()) {
    let mut rounds = [const { Vec::new() }; 3];
    for _ in 0..ROUNDS {
        let (plain_s, ours_s) = (seconds_a_step(&plain), seconds_a_step(&ours));
        for (column, value) in rounds.iter_mut().zip([plain_s, ours_s, plain_s / ours_s]) {
            column.push(value);
        }
    }
    let [plain_s, ours_s, ratio] = rounds.map(median);
    println!("  plain {:6.1} ns/step {:10.3e} steps/s", 1e9 * plain_s, plain_s.recip());
    println!("  ours  {:6.1} ns/step {:10.3e} steps/s", 1e9 * ours_s, ours_s.recip());
    println!("  ours/plain {ratio:.2}");
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

fn seconds_a_step(run: &impl Fn()) -> f64 {
    let start_s = cpu_s();
    run();
    (cpu_s() - start_s) / STEPS as f64
}

fn cpu_s() -> f64 {
    let now = clock_gettime(ClockId::ThreadCPUTime);
    now.tv_sec as f64 + 1e-9 * now.tv_nsec as f64
}
