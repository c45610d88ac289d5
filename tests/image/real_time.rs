//! At the board's own pace: the timer makes the ticks, lost steps are bridged, and too many of them are safe.

use crate::{emulator::Emulator, image, lockstep::begin};
use std::time::{Duration, Instant};
use stillframe::{flight::build::build, scenario::demo::Demo};
use stillframe_controller::io::Actuators;
use stillframe_wire::{FromBoard, ToBoard, frame, pace::HELD_TICKS};

/// Three seconds; every tenth step is not sent. Nothing is asserted about the wall clock, which a busy machine bends.
#[test]
fn lost_steps_are_bridged_and_silence_is_safe() {
    let mut board = Emulator::start(image::elf(), &[]);
    let mut built = build(&Demo::Strip.load().unwrap(), 1).unwrap();
    begin(&mut board, &built);
    assert_eq!(board.ask(&ToBoard::Pace), FromBoard::Done);
    let (mut pending, mut late_ms) = (Actuators::SAFE, Vec::new());
    let (mut held, mut row, mut last) = (0, 0, None);
    let began = Instant::now();
    for sequence in 0..300_u32 {
        let sensors = built.plant.sensors(&heapless::Vec::<u8, 32>::new());
        if sequence % 10 != 9 {
            board.send(&frame(&ToBoard::Step { sequence, sensors }).unwrap());
        }
        let answer = board.receive().expect("a sound answer");
        let FromBoard::Answer { sequence: taken, actuators, .. } = answer else { panic!("{answer:?}") };
        assert!(taken <= sequence, "no step is answered before it has been sent");
        row = if last == Some(taken) { row + 1 } else { 0 };
        held += u32::from(row > 0);
        last = Some(taken);
        late_ms.push(began.elapsed().as_secs_f64() * 1e3 - 10.0 * f64::from(sequence));
        built.plant.tick(&pending, &[], &mut |_, _| {}).unwrap();
        pending = actuators;
    }
    let first_ms = late_ms[0];
    let mut drift_ms: Vec<f64> = late_ms.iter().map(|late| (late - first_ms).abs()).collect();
    drift_ms.sort_by(f64::total_cmp);
    println!(
        "{held} of 300 ticks with held sensors; off the 10 ms grid: median {:.2} ms, most {:.2} ms",
        drift_ms[150], drift_ms[299]
    );
    assert!(held >= 30, "the steps that were not sent show");
    // Silence: the board goes on by itself for a while, then makes itself safe.
    while row < HELD_TICKS {
        let Ok(FromBoard::Answer { sequence, .. }) = board.receive() else { panic!("no answer") };
        row = if last == Some(sequence) { row + 1 } else { 0 };
        last = Some(sequence);
    }
    let stats = loop {
        let FromBoard::Stats(stats) = board.ask(&ToBoard::Stats) else { panic!("no counters, or a step too many") };
        if stats.link_losses > 0 {
            break stats;
        }
        assert!(began.elapsed() < Duration::from_secs(60), "outputs do not go safe");
    };
    println!("{stats:?}");
    let FromBoard::Pins(pins) = board.ask(&ToBoard::Pins) else { panic!("no pins") };
    assert_eq!((pins.levels, pins.duties), (0, [0; 4]));
}
