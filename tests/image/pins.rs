//! What the image does to the chip's pins, from the emulator's journal of accesses to what it does not emulate.

use crate::{emulator::Emulator, image, lockstep::begin};
use std::{collections::BTreeMap, time::Duration};
use stillframe::{flight::build::build, scenario::demo::Demo};
use stillframe_controller::io::{Actuators, Edges};
use stillframe_wire::{FromBoard, ToBoard};

/// Output pins as the handbook has them, by port; everything else is none. Written down here a second time: an
/// output that nobody meant cannot come from the table in the image alone.
const OUTPUTS: [(char, &[u32]); 3] = [
    ('A', &[8, 11, 12]),
    ('B', &[0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15]),
    ('C', &[0, 1, 2, 3, 4, 10, 11, 12]),
];
/// Pins handed to peripherals: serial lines, pulse widths, and the chip's own debug port.
const FUNCTIONS: [(char, &[u32]); 3] = [('A', &[2, 3, 9, 10, 13, 14, 15]), ('B', &[]), ('C', &[6, 7, 8, 9])];

/// A write to a port: letter, offset of the register, value.
type Write = (char, u32, u32);

fn writes(journal: &str) -> Vec<Write> {
    let read = |line: &str| {
        let port = line.strip_prefix("GPIO")?.chars().next()?;
        let rest = line.split_once("device write")?.1;
        let hex = |key: &str| {
            let digits = rest.split_once(key)?.1.split([',', ')']).next()?;
            u32::from_str_radix(digits, 16).ok()
        };
        Some((port, hex("offset 0x")?, hex("value 0x")?))
    };
    journal.lines().filter_map(read).collect()
}

/// Pins of a mode register with a mode.
fn with_mode(register: u32, mode: u32) -> Vec<u32> {
    (0..16).filter(|pin| register >> (2 * pin) & 3 == mode).collect()
}

/// Runs `work` with a journal of the accesses to ports.
fn journal(work: impl FnOnce(&mut Emulator)) -> Vec<Write> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("journal");
    let mut board = Emulator::start(image::elf(), &["-d", "unimp", "-D", path.to_str().unwrap()]);
    work(&mut board);
    drop(board);
    writes(&std::fs::read_to_string(path).unwrap())
}

/// A second and a half of flight; gives what was asked in each tick.
fn fly_a_little(board: &mut Emulator) -> Vec<Actuators> {
    let mut built = build(&Demo::Strip.load().unwrap(), 1).unwrap();
    begin(board, &built);
    let (mut pending, mut asked) = (Actuators::SAFE, Vec::new());
    for sequence in 0..150 {
        let sensors = built.plant.sensors(&heapless::Vec::<u8, 32>::new());
        let answer = board.ask(&ToBoard::Step { sequence, sensors });
        let FromBoard::Answer { actuators, .. } = answer else { panic!("{answer:?}") };
        built.plant.tick(&pending, &[], &mut |_, _| {}).unwrap();
        asked.push(actuators.clone());
        pending = actuators;
    }
    asked
}

#[test]
fn only_the_listed_pins_ever_become_outputs() {
    let writes = journal(|board| {
        fly_a_little(board);
        board.ask(&ToBoard::End);
    });
    let mut set_up = 0;
    for (port, offset, value) in &writes {
        let place = "ABC".find(*port).unwrap_or_else(|| panic!("port {port} is touched"));
        if *offset == 0 {
            assert_eq!(with_mode(*value, 1), OUTPUTS[place].1, "outputs of port {port}");
            assert_eq!(with_mode(*value, 2), FUNCTIONS[place].1, "functions of port {port}");
            assert_eq!(with_mode(*value, 3), [0; 0], "analogue pins of port {port}");
            set_up += 1;
        }
        // Mode, set and reset, function numbers: no other register is written.
        assert!([0x00, 0x18, 0x20, 0x24].contains(offset), "port {port}, offset {offset:x}");
    }
    assert_eq!(set_up, 3);
    let first_mode = writes.iter().position(|write| write.1 == 0).unwrap();
    let low_before: Vec<char> =
        writes[..first_mode].iter().filter(|write| write.1 == 0x18).map(|write| write.0).collect();
    assert_eq!(low_before, ['A', 'B', 'C'], "pins are low before they are outputs");
}

#[test]
fn valves_move_on_the_bus_as_the_flight_code_asks() {
    let mut asked = Vec::new();
    let writes = journal(|board| {
        asked = fly_a_little(board);
        let FromBoard::Pins(pins) = board.ask(&ToBoard::Pins) else { panic!("no pins") };
        assert_eq!(pins.ticks, 150);
    });
    let mut openings: BTreeMap<u32, usize> = BTreeMap::new();
    for (_, _, value) in writes.iter().filter(|write| (write.0, write.1) == ('B', 0x18) && write.2 & 0xffff != 0) {
        *openings.entry(value.trailing_zeros()).or_default() += 1;
    }
    // The last tick's edges may not have come yet when the emulator stops; all others are on the bus.
    let (last, before) = asked.split_last().unwrap();
    let count = |ticks: &[Actuators], jet: usize| ticks.iter().filter(|a| opens(&a.jets[jet])).count();
    let mut moved = 0;
    for jet in 0..16 {
        let (least, seen) = (count(before, jet), openings.get(&(jet as u32)).copied().unwrap_or(0));
        assert!(
            (least..=least + usize::from(opens(&last.jets[jet]))).contains(&seen),
            "valve {jet}: {seen} of {least}"
        );
        moved += seen;
    }
    assert!(moved > 0, "no valve has moved: nothing is shown");
}

fn opens(edges: &Edges) -> bool {
    edges.open_us.is_some() && edges.open_us != edges.close_us
}

#[test]
fn a_silent_link_makes_the_outputs_safe() {
    let writes = journal(|board| {
        fly_a_little(board);
        let FromBoard::Pins(pins) = board.ask(&ToBoard::Pins) else { panic!("no pins") };
        assert_ne!(pins.levels, 0, "something is on while the loop runs");
        std::thread::sleep(Duration::from_millis(1_000));
        let FromBoard::Pins(pins) = board.ask(&ToBoard::Pins) else { panic!("no pins") };
        assert_eq!((pins.levels, pins.duties), (0, [0; 4]));
        let FromBoard::Stats(stats) = board.ask(&ToBoard::Stats) else { panic!("no counters") };
        assert!(stats.link_losses >= 1);
    });
    let mut levels: BTreeMap<char, u32> = BTreeMap::new();
    for (port, _, value) in writes.iter().filter(|write| write.1 == 0x18) {
        let level = levels.entry(*port).or_default();
        *level = *level & !(value >> 16) | value & 0xffff;
    }
    assert!(levels.values().all(|level| *level == 0), "{levels:x?}");
}
