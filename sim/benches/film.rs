//! What film costs: `cargo bench -p stillframe --bench film`.
//!
//! First the mechanism alone for one base tick (exact steps, sub-steps, at rest), then the whole loop for one
//! attitude step of 20 ms with film running and with film at rest in the same hold. The goal, checked here: a
//! step with film running costs at most three times one with film at rest. CPU time of the thread; rounds
//! alternate, medians are compared.

use std::hint::black_box;

use rustix::time::{ClockId, clock_gettime};
use stillframe::flight::closed_loop::ClosedLoop;
use stillframe::plant::film::{FilmParameters, FilmPlant};
use stillframe_controller::film::{Demand, FilmSettings, Transport};
use stillframe_controller::io::FilmDrive;

#[allow(dead_code, reason = "this bench uses some of the pieces only")]
#[path = "support/pieces.rs"]
mod pieces;

const ROUNDS: usize = 7;
const GOAL: f64 = 3.0;
/// Ticks timed at a stretch: less than the demonstration's first pass lasts.
const TICKS: u32 = 2_000;

fn main() {
    let running = running_mechanism();
    let mut sub_steps = running.clone();
    sub_steps.0.sub_steps_only();
    let at_rest = (rested_mechanism(), FilmDrive::REST);
    let [moving, still] = [flight_at(exposing), flight_at(waiting)];
    let mut rounds = [const { Vec::new() }; 5];
    for _ in 0..ROUNDS {
        let row = [
            tick_s(&running),
            tick_s(&sub_steps),
            tick_s(&at_rest),
            2.0 * loop_tick_s(&moving),
            2.0 * loop_tick_s(&still),
        ];
        for (column, value) in rounds.iter_mut().zip(row) {
            column.push(value);
        }
    }
    let [exact, sub, rest, with_film, without] = rounds.map(median);
    let ratio = with_film / without;
    println!("median of {ROUNDS} rounds, CPU time");
    println!("  mechanism, one base tick, film running, exact steps  {:8.1} ns", 1e9 * exact);
    println!("  the same by sub-steps alone                          {:8.1} ns", 1e9 * sub);
    println!("  mechanism at rest                                    {:8.1} ns", 1e9 * rest);
    println!("  whole loop, one attitude step, film at rest          {:8.1} ns", 1e9 * without);
    println!("  whole loop, one attitude step, film running          {:8.1} ns", 1e9 * with_film);
    println!("  ratio {ratio:.2} (goal {GOAL} or less)");
    assert!(ratio <= GOAL, "film running costs {ratio:.2} × a step with film at rest");
}

/// Film at steady speed with the drive that holds it there.
fn running_mechanism() -> (FilmPlant, FilmDrive) {
    let film = FilmParameters { wound_m: 449.4, ..FilmParameters::default() };
    let settings = FilmSettings { wound_length_m: 449.4, ..FilmSettings::default() };
    let (mut plant, mut transport) = (FilmPlant::new(&film), Transport::new(&settings));
    let mut drive = FilmDrive::REST;
    for _ in 0..300 {
        let next = transport.step(&plant.sample(false), Demand::Run { speed_m_s: 0.0341 });
        plant.advance(0.01, &drive, 0.0);
        drive = next;
    }
    assert!(transport.status().valid);
    (plant, drive)
}

fn rested_mechanism() -> FilmPlant {
    let mut plant = FilmPlant::new(&FilmParameters::default());
    for _ in 0..300 {
        plant.advance(0.01, &FilmDrive::REST, 0.0);
    }
    assert!(plant.asleep());
    plant
}

fn tick_s((plant, drive): &(FilmPlant, FilmDrive)) -> f64 {
    let mut plant = plant.clone();
    let start_s = cpu_s();
    for _ in 0..TICKS {
        black_box(plant.advance(0.01, black_box(drive), 0.0));
    }
    (cpu_s() - start_s) / f64::from(TICKS)
}

fn exposing(flight: &ClosedLoop) -> bool {
    flight.plant.shutter().is_open()
}

/// In fine hold with film at rest, some minutes before the first pass.
fn waiting(flight: &ClosedLoop) -> bool {
    flight.time_s() > 6_600.0
}

fn flight_at(there: impl Fn(&ClosedLoop) -> bool) -> ClosedLoop {
    let mut flight = pieces::flight_at_start();
    while !there(&flight) {
        flight.tick(&[], &mut |_, _| ()).expect("the demonstration flies");
    }
    flight
}

fn loop_tick_s(flight: &ClosedLoop) -> f64 {
    let mut flight = flight.clone();
    let start_s = cpu_s();
    for _ in 0..TICKS {
        _ = black_box(flight.tick(&[], &mut |_, _| ()));
    }
    (cpu_s() - start_s) / f64::from(TICKS)
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

fn cpu_s() -> f64 {
    let now = clock_gettime(ClockId::ThreadCPUTime);
    now.tv_sec as f64 + 1e-9 * now.tv_nsec as f64
}
