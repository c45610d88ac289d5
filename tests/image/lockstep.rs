//! The demonstration day's first seconds, on the desk and on the emulated board, compared to the bit.

use crate::{
    emulator::Emulator,
    image,
    pipes::{ENABLE, Pipes},
    proof::worst,
};
use std::time::Instant;
use stillframe::{
    flight::build::{Built, build},
    scenario::demo::Demo,
};
use stillframe_controller::{Controller, io::Actuators};
use stillframe_wire::{Cost, FromBoard, ToBoard, VERSION, packet::snapshot, settings::SettingsRow};

/// All bits of a message: equal numbers with different bits (zeros of both signs) differ here.
fn bits(actuators: &Actuators) -> Vec<u8> {
    postcard::to_stdvec(actuators).unwrap()
}

pub fn begin(board: &mut Emulator, built: &Built) {
    let hello = board.ask(&ToBoard::Hello);
    let keys = stillframe_wire::settings::keys();
    assert_eq!(hello, FromBoard::Hello { version: VERSION, keys, clock_hz: 16_000_000 });
    let row = SettingsRow::write(&built.settings).unwrap();
    assert_eq!(board.ask(&ToBoard::Settings(row)), FromBoard::Done);
    assert_eq!(board.ask(&ToBoard::Load(built.load.encode())), FromBoard::Done);
    assert_eq!(board.ask(&ToBoard::Begin), FromBoard::Done);
}

/// Flies the first steps on desk and board; panics at the first difference.
fn fly(built: Built, steps: u32, mut ask: impl FnMut(&ToBoard) -> FromBoard) {
    let mut desk = Controller::new(built.settings.clone()).unwrap();
    desk.load(&built.load.encode(), 0).unwrap();
    let (mut plant, mut pending) = (built.plant, Actuators::SAFE);
    let (mut fired, mut snapshots) = (0, 0);
    let clock = Instant::now();
    for sequence in 0..steps {
        let sensors = plant.sensors(&heapless::Vec::<u8, 32>::new());
        let here = desk.step(&sensors);
        let answer = ask(&ToBoard::Step { sequence, sensors });
        let FromBoard::Answer { sequence: echoed, actuators, telemetry, cost } = answer else {
            panic!("step {sequence} answered by {answer:?}")
        };
        assert_eq!(echoed, sequence);
        assert_eq!(bits(&actuators), bits(&here), "step {sequence}: board {actuators:?}, desk {here:?}");
        assert!(matches!(cost, Cost::TimerTicks(ticks) if ticks > 0));
        if let Some(packet) = telemetry {
            // The whole packet, by its bytes.
            assert_eq!(Some(packet), snapshot(desk.telemetry(), snapshots as u16));
            snapshots += 1;
        }
        fired += here.jets.iter().filter(|jet| jet.open_us.is_some()).count();
        plant.tick(&pending, &[], &mut |_, _| {}).unwrap();
        pending = here;
    }
    let rate = f64::from(steps) / clock.elapsed().as_secs_f64();
    println!("{rate:.0} exchanges/s; {fired} valve openings, {snapshots} snapshots");
    assert!(fired > 0 && snapshots >= steps / 100, "the stretch flown shows nothing");
    let FromBoard::Stats(stats) = ask(&ToBoard::Stats) else { panic!("no counters") };
    println!("{stats:?}");
    assert_eq!((stats.steps, stats.bad_frames, stats.lost_bytes), (steps, 0, 0));
    // What was used is no more than what was worked out, and near it: beginning goes the deepest way there is.
    let worst = worst();
    assert!((worst / 2..=worst).contains(&stats.stack_used), "{} bytes used, {worst} worked out", stats.stack_used);
}

#[test]
fn the_board_does_to_the_bit_what_the_desk_does() {
    let mut board = Emulator::start(image::elf(), &[]);
    let built = build(&Demo::Strip.load().unwrap(), 1).unwrap();
    begin(&mut board, &built);
    fly(built, 3_000, |message| board.ask(message));
}

#[test]
fn and_so_it_does_over_the_debug_channel() {
    let mut board = Emulator::start(image::elf(), &ENABLE);
    let built = build(&Demo::Frame.load().unwrap(), 2).unwrap();
    begin(&mut board, &built);
    let mut pipes = Pipes::open(&mut board);
    fly(built, 120_000, |message| pipes.ask(message));
}
