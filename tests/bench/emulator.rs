//! The image in the emulator. Where either is missing this says so; `STILLFRAME_IMAGE=1` makes that a failure.

use crate::{edge, order};
use std::process::Command;
use stillframe_hil::{
    board::Board,
    line::{Address, How, emulator::PROGRAM},
    lockstep,
};

fn image() -> Option<Address> {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/..");
    let built = ["board-rustup", "board-debian"].map(|folder| {
        std::path::Path::new(root).join(format!("target/{folder}/thumbv7em-none-eabihf/release/stillframe-board"))
    });
    let image = built.into_iter().find(|path| path.is_file());
    let emulator = Command::new(PROGRAM).arg("--version").output().is_ok();
    if std::env::var_os("STILLFRAME_IMAGE").is_some() {
        assert!(image.is_some() && emulator, "no image (firmware/build) or no {PROGRAM}");
    }
    if image.is_none() || !emulator {
        eprintln!("SKIPPED: there is no image (firmware/build) or no {PROGRAM}");
        return None;
    }
    image.map(Address::Emulator)
}

#[test]
fn the_image_flies_as_the_desk_does() {
    let Some(address) = image() else { return };
    let folder = tempfile::tempdir().unwrap();
    let (mut board, _) = Board::open(&address, How::default()).unwrap();
    let outcome = lockstep::fly(&mut board, &edge(3_000), &order(folder.path()), &mut |_, _| {}).unwrap();
    assert_eq!((outcome.ticks, outcome.found), (3_000, None));
    let stats = board.stats().unwrap();
    assert_eq!((stats.steps, stats.bad_frames, stats.lost_bytes), (3_000, 0, 0));
}
