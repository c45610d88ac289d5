//! Cost of a tick, printed. Run with
//! `cargo test --release -p stillframe-tests --test film -- --ignored --nocapture measure`.

use std::hint::black_box;
use std::time::Instant;

use stillframe_controller::exposure::{CameraSettings, Input, Sequencer};
use stillframe_controller::film::{Demand, FilmSettings};

use crate::rig::{Rig, SPEED_M_S};

fn cost(name: &str, ticks: u32, mut tick: impl FnMut()) {
    let start = Instant::now();
    for _ in 0..ticks {
        tick();
    }
    println!("{name}: {:.1} ns a tick", start.elapsed().as_secs_f64() * 1e9 / f64::from(ticks));
}

#[test]
#[ignore = "prints timings; asserts nothing"]
fn measure_a_tick() {
    let run = Demand::Run { speed_m_s: SPEED_M_S };
    let mut rig = Rig::strip(449.0);
    rig.run(300, run);
    let (drive, mut plant, mut transport) = (rig.drive, rig.plant.clone(), rig.transport.clone());
    let mut sample = plant.sample(true);
    cost("plant running", 50_000, || {
        black_box(plant.advance(0.01, &drive, 0.0));
    });
    cost("gauges", 1_000_000, || {
        black_box(plant.sample(true));
    });
    // Gauges of film that really runs: 341 µm a tick, 89 roller counts, and both reels at 112 mm.
    let (mut reel, mut ticks) = (0.0, 0);
    let (supply, take_up) = (sample.supply_counts, sample.take_up_counts);
    cost("transport running", 500_000, || {
        ticks += 1;
        reel += 3.41e-4 / 0.1118 / std::f64::consts::TAU * 1024.0;
        sample.roller_counts = sample.roller_counts.wrapping_add(if ticks % 12 == 0 { 88 } else { 89 });
        sample.supply_counts = supply.wrapping_add(reel as u32);
        sample.take_up_counts = take_up.wrapping_add(reel as u32);
        black_box(transport.step(&sample, run));
        if ticks == 2_000 {
            assert!(transport.status().valid, "measured something else than running film");
        }
    });
    rig.run(300, Demand::Rest);
    let (drive, mut plant, mut transport) = (rig.drive, rig.plant.clone(), rig.transport.clone());
    let sample = plant.sample(false);
    let status = *transport.status();
    cost("plant at rest", 5_000_000, || {
        black_box(plant.advance(0.01, &drive, 0.0));
    });
    cost("transport at rest", 5_000_000, || {
        black_box(transport.step(&sample, Demand::Rest));
    });
    let mut sequencer = Sequencer::new(&CameraSettings::default(), &FilmSettings::default());
    let mut now = 0;
    cost("sequencer at rest", 5_000_000, || {
        now += 1;
        black_box(sequencer.step(&Input {
            tick: now,
            slit: stillframe_controller::exposure::ANY_SLIT,
            not_before: 0,
            camera_commanded_on: false,
            cycle_ticks: 0,
            speed_step: 341,
            allowed: true,
            shutter_open: false,
            sweep_rad: 0.0,
            film: &status,
        }));
    });
}
