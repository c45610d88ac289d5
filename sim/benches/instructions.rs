//! Cost of the inner pieces in instructions: `cargo bench -p stillframe --bench instructions`.
//!
//! Counted under valgrind, so that two runs of the same build agree to the last instruction however
//! busy the machine is. Put a piece here when it is in `steps.rs`.

#![allow(missing_docs, reason = "gungraun's macros make public items without any")]

#[path = "support/pieces.rs"]
mod pieces;

/// Of the library in the lock file: the two must agree.
const RUNNER_VERSION: &str = "0.20.0";

fn main() {
    let runner = std::env::var("GUNGRAUN_RUNNER").unwrap_or_else(|_| "gungraun-runner".into());
    for (program, install) in [
        (runner.as_str(), format!("cargo install gungraun-runner --version {RUNNER_VERSION}")),
        ("valgrind", "apt-get install valgrind (or your system's package of that name)".into()),
    ] {
        if std::process::Command::new(program).arg("--version").output().is_err() {
            eprintln!("instructions: `{program}` not found. Install it with\n\n    {install}\n");
            std::process::exit(1);
        }
    }
    counted::run();
}

mod counted {
    use super::pieces;
    use gungraun::{library_benchmark, library_benchmark_group, main};
    use std::hint::black_box;
    use stillframe::flight::closed_loop::ClosedLoop;
    use stillframe::noise::NoiseSource;
    use stillframe::plant::body::{Forcing, RigidBody, State};
    use stillframe_controller::{Controller, io::Sensors};

    const STEPS: u64 = 1000;

    #[library_benchmark(setup = pieces::body_under_way)]
    #[bench::thousand()]
    fn plant_steps((body, mut state, forcing): (RigidBody, State, Forcing)) -> State {
        for _ in 0..STEPS {
            body.advance(&mut state, black_box(0.02), black_box(&forcing));
        }
        state
    }

    #[library_benchmark]
    #[bench::thousand()]
    fn gyro_noise() -> f64 {
        let noise = NoiseSource::new(black_box(1), 0, "gyro", 0);
        (0..STEPS).map(|sample| noise.gaussian3(sample)[2]).sum()
    }

    #[library_benchmark(setup = pieces::flight_in_hold)]
    #[bench::thousand()]
    fn loop_ticks(mut flight: ClosedLoop) -> ClosedLoop {
        for _ in 0..STEPS {
            _ = black_box(flight.tick(&[], &mut |_, _| ()));
        }
        flight
    }

    #[library_benchmark(setup = controller_and_sensors)]
    #[bench::thousand()]
    fn controller_ticks((mut controller, stream): (Controller, Vec<Sensors>)) -> Controller {
        for sensors in &stream {
            black_box(controller.step(sensors));
        }
        controller
    }

    fn controller_and_sensors() -> (Controller, Vec<Sensors>) {
        let flight = pieces::flight_in_hold();
        (flight.controller.clone(), pieces::sensors_in_hold(flight, STEPS as usize))
    }

    library_benchmark_group!(name = plant, benchmarks = [plant_steps, gyro_noise, controller_ticks, loop_ticks]);
    main!(library_benchmark_groups = plant);

    pub fn run() {
        main();
    }
}
