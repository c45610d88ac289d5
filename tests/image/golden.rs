//! The digest of the flight code on its fixed row of inputs, from a debug build and from the board. (That of a release
//! build is looked at in `stillframe-golden` itself.)

use crate::{
    emulator::Emulator,
    image,
    pipes::{ENABLE, Pipes},
};
use std::process::Command;
use stillframe_golden::{Run, TICKS, known, settings::Camera};
use stillframe_wire::{FromBoard, ToBoard, packet::read_snapshot, settings::SettingsRow};

#[test]
fn a_build_without_optimiser_and_with_overflow_checks_gives_the_known_digests() {
    let mut cargo = Command::new("cargo");
    // A build inside another cargo's run must not take over that one's settings.
    for (name, _) in std::env::vars_os() {
        let text = name.to_string_lossy();
        if (text.starts_with("CARGO") || text.starts_with("RUST")) && !text.ends_with("_HOME") {
            cargo.env_remove(&name);
        }
    }
    let output = cargo
        .args(["run", "--quiet", "--package", "stillframe-golden", "--target-dir", "target/golden"])
        .env("CARGO_PROFILE_DEV_OPT_LEVEL", "0")
        .current_dir(image::root())
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let lines = Camera::ALL.map(|camera| format!("{} {:016x}\n", camera.name(), known(camera).unwrap()));
    assert_eq!(String::from_utf8_lossy(&output.stdout), lines.concat());
}

/// Begins the fixed row on a board.
pub fn begin(camera: Camera, mut ask: impl FnMut(&ToBoard) -> FromBoard) {
    let row = SettingsRow::write(&stillframe_golden::settings::settings(camera)).unwrap();
    let load = stillframe_golden::settings::load(1, 0, camera).encode();
    for message in [ToBoard::Settings(row), ToBoard::Load(load), ToBoard::Begin] {
        assert_eq!(ask(&message), FromBoard::Done);
    }
}

#[test]
fn the_board_gives_the_known_digests() {
    let mut board = Emulator::start(image::elf(), &ENABLE);
    let mut pipes = Pipes::open(&mut board);
    for camera in Camera::ALL {
        begin(camera, |message| pipes.ask(message));
        let mut run = Run::new(camera);
        for sequence in 0..TICKS {
            let answer = pipes.ask(&ToBoard::Step { sequence, sensors: run.sensors() });
            let FromBoard::Answer { actuators, telemetry, .. } = answer else { panic!("{answer:?}") };
            let told = telemetry.map(|packet| read_snapshot(&packet).unwrap().1);
            run.answer(&actuators, told.as_ref());
        }
        assert_eq!(pipes.ask(&ToBoard::End), FromBoard::Done);
        assert_eq!(Some(run.digest()), known(camera), "{}: {:016x}", camera.name(), run.digest());
    }
}

/// The flight code as the command has it, compiled together with everything else that the command needs.
#[test]
fn the_command_gives_the_known_digests() {
    let output = Command::new(crate::program::program()).arg("digest").output().unwrap();
    let lines =
        Camera::ALL.map(|camera| format!("{} {:016x} as it should be\n", camera.name(), known(camera).unwrap()));
    assert_eq!(String::from_utf8_lossy(&output.stdout), lines.concat());
    assert!(output.status.success());
}
