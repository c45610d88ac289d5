//! A board that fails leaves a record, resets, and comes back with outputs safe.

use crate::{
    debugger::{Debugger, PC, R0, SP, XPSR, words},
    elf::Image,
    emulator::Emulator,
    image,
    lockstep::begin,
};
use std::{path::Path, thread::sleep, time::Duration};
use stillframe::{flight::build::build, scenario::demo::Demo};
use stillframe_controller::io::Sensors;
use stillframe_wire::{FromBoard, PostMortem, Refusal, ToBoard, frame};
use tempfile::TempDir;

const HARD_FAULT: u32 = 2;
const WATCHDOG: u32 = 3;
const STACK_GUARD: u32 = 4;
/// Number of the base tick's exception.
const SYS_TICK: u32 = 15;
/// Where nothing is.
const NOWHERE: u32 = 0xdead_beee;

/// A board with a debug port.
struct Rig {
    board: Emulator,
    folder: TempDir,
    sensors: Sensors,
    failures: u32,
}

impl Rig {
    fn new(elf: &Path) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let port = words(folder.path());
        let board = Emulator::start(elf, &port.each_ref().map(String::as_str));
        let mut built = build(&Demo::Strip.load().unwrap(), 1).unwrap();
        let sensors = built.plant.sensors(&heapless::Vec::<u8, 32>::new());
        Self { board, folder, sensors, failures: 0 }
    }

    /// In the loop, with a step taken.
    fn begin(&mut self) {
        begin(&mut self.board, &build(&Demo::Strip.load().unwrap(), 1).unwrap());
        let answer = self.board.ask(&self.step(0));
        assert!(matches!(answer, FromBoard::Answer { .. }));
    }

    fn step(&self, sequence: u32) -> ToBoard {
        ToBoard::Step { sequence, sensors: self.sensors.clone() }
    }

    /// Sets registers, waits until the board is back and looks whether it has come back as from a reset: outputs
    /// untouched, no controller.
    fn break_it(&mut self, mut debugger: Debugger, registers: &[(usize, u32)]) -> PostMortem {
        self.failures += 1;
        for &(register, value) in registers {
            debugger.set(register, value);
        }
        debugger.go_on();
        let record = self.board.come_back(self.failures);
        println!("{record:x?}");
        assert_eq!(record.count, self.failures);
        let FromBoard::Pins(pins) = self.board.ask(&ToBoard::Pins) else { panic!("no pins") };
        assert_eq!((pins.levels, pins.duties, pins.ticks), (0, [0; 4], 0));
        assert_eq!(self.board.ask(&self.step(1)), FromBoard::Refused(Refusal::NotBegun));
        record
    }
}

/// Breaks a board where it enters the function that handles a message, and gives its record.
fn break_by(elf: &Path, registers: &[(usize, u32)]) -> PostMortem {
    let mut rig = Rig::new(elf);
    assert_eq!(rig.board.ask(&ToBoard::PostMortem), FromBoard::PostMortem(None));
    rig.begin();
    let mut debugger = Debugger::stop(rig.folder.path());
    let question = frame(&rig.step(1)).unwrap();
    debugger.run_to(symbol(elf, "Server6handle"), || rig.board.send(&question));
    let record = rig.break_it(debugger, registers);
    assert_eq!(record.steps, 1);
    record
}

/// Address of the only symbol whose name contains `name`.
fn symbol(elf: &Path, name: &str) -> u32 {
    let image = Image::read(elf);
    let found: Vec<_> = image.symbols.iter().filter(|(symbol, _)| symbol.contains(name)).collect();
    let [(_, address)] = found[..] else { panic!("{name} in the image: {found:x?}") };
    address & !1
}

/// Address of an endless loop, and whether an address is in it.
fn endless(elf: &Path) -> (u32, impl Fn(u32) -> bool) {
    let loops = symbol(elf, "DefaultHandler_");
    (loops, move |pc| (loops..loops + 8).contains(&pc))
}

#[test]
fn a_wild_jump_is_a_hard_fault_with_its_address() {
    let record = break_by(image::elf(), &[(PC, NOWHERE)]);
    assert_eq!((record.cause, record.pc), (HARD_FAULT, NOWHERE));
    assert_ne!(record.cfsr, 0);
}

/// The record tells where it hung: the watchdog's interrupt comes through whatever else is held off.
#[test]
fn a_board_that_hangs_is_reset_by_its_watchdog() {
    let (loops, in_loop) = endless(image::elf());
    let record = break_by(image::elf(), &[(PC, loops)]);
    assert_eq!(record.cause, WATCHDOG);
    assert!(in_loop(record.pc), "{record:x?}");
}

/// At a function's entry: the next thing that happens is that registers are pushed below the stack's end.
#[test]
fn a_stack_that_runs_over_is_told_apart() {
    let bottom = symbol(image::elf(), "_stack_end");
    assert_eq!(break_by(image::elf(), &[(SP, bottom + 8)]).cause, STACK_GUARD);
}

/// Nothing in the image panics, so that this takes the one that can: its argument indexes out of three places.
#[test]
fn a_panic_is_told_apart() {
    let elf = image::build("faulty");
    let panics = symbol(&elf, "stillframe_board6faulty");
    assert_eq!(break_by(&elf, &[(R0, 3), (PC, panics)]).cause, 1);
}

/// The same at moments that nothing chooses: while bytes come in, in the step, while it answers, asleep.
#[test]
fn a_board_that_breaks_at_a_chance_moment_comes_back_safe() {
    let mut rig = Rig::new(image::elf());
    for number in 0..moments() {
        rig.begin();
        rig.board.send(&frame(&rig.step(1)).unwrap());
        // Answering takes a few milliseconds.
        sleep(Duration::from_micros(u64::from(number) * 617 % 5_000));
        let (debugger, at, during) = rig.board.unheard(|| {
            let mut debugger = Debugger::stop(rig.folder.path());
            let (at, during) = (debugger.get(PC), debugger.get(XPSR) & 0x1ff);
            (debugger, at, during)
        });
        print!("{number}: at {at:#x}, during {during}: ");
        match number % 3 {
            0 => {
                let record = rig.break_it(debugger, &[(PC, NOWHERE)]);
                assert_eq!((record.cause, record.pc), (HARD_FAULT, NOWHERE));
            }
            1 => hang(&mut rig, debugger, during),
            _ => {
                // In the middle of a function it may first be handed the paint of unused stack as its way back, which
                // is a hard fault with the pointer still inside.
                let record = rig.break_it(debugger, &[(SP, symbol(image::elf(), "_stack_end") + 8)]);
                assert!([HARD_FAULT, STACK_GUARD].contains(&record.cause));
            }
        }
    }
}

/// Hangs a board that is handling the exception `during`, or none.
fn hang(rig: &mut Rig, mut debugger: Debugger, during: u32) {
    let (loops, in_loop) = endless(image::elf());
    match during {
        // All work interrupts the main program: that this hangs instead of sleeping holds nothing up.
        0 => {
            debugger.set(PC, loops);
            debugger.go_on();
            rig.board.greet();
            println!("goes on");
            assert_eq!(rig.board.ask(&rig.step(0)), FromBoard::Refused(Refusal::Sequence { expected: 2 }));
        }
        // The watchdog's own interrupt: beyond it is only the chip's watchdog, which the emulator lacks.
        SYS_TICK => {
            println!("left alone");
            debugger.go_on();
            rig.board.greet();
        }
        _ => {
            let record = rig.break_it(debugger, &[(PC, loops)]);
            assert_eq!((record.cause, in_loop(record.pc)), (WATCHDOG, true));
        }
    }
}

/// Nine, or as many as `STILLFRAME_MOMENTS` says.
fn moments() -> u32 {
    std::env::var("STILLFRAME_MOMENTS").map_or(9, |text| text.parse().expect("a number of moments"))
}
