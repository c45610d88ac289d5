//! The emulator's debug channel: two pipes, many times as fast as the emulated serial line.

use crate::emulator::Emulator;
use std::{
    fs::{File, OpenOptions},
    io::{Read, Write},
    process::Command,
};
use stillframe_wire::{FromBoard, ToBoard, Unframer, frame};

/// Words for the emulator's command line.
pub const ENABLE: [&str; 2] = ["-semihosting-config", "enable=on,target=native"];

/// Open pipes to and from a board.
pub struct Pipes {
    to: File,
    from: File,
    unframer: Unframer,
}

impl Pipes {
    /// Has the board change over to pipes.
    pub fn open(board: &mut Emulator) -> Self {
        let [to_board, from_board] = ["to", "from"].map(|name| board.folder.path().join(name));
        assert!(Command::new("mkfifo").args([&to_board, &from_board]).status().unwrap().success());
        let text = |path: &std::path::Path| path.to_str().unwrap().try_into().unwrap();
        let message = ToBoard::Channel { to_board: text(&to_board), from_board: text(&from_board) };
        board.send(&frame(&message).unwrap());
        // Each opening waits for the board's.
        let to = OpenOptions::new().write(true).open(to_board).unwrap();
        let from = File::open(from_board).unwrap();
        assert_eq!(board.receive(), Ok(FromBoard::Done));
        Self { to, from, unframer: Unframer::new() }
    }

    /// Says something and gives the answer.
    pub fn ask(&mut self, message: &ToBoard) -> FromBoard {
        self.to.write_all(&frame(message).unwrap()).unwrap();
        let mut bytes = [0; 512];
        loop {
            let got = self.from.read(&mut bytes).unwrap();
            assert!(got > 0, "the board hung up");
            let mut answers = bytes[..got].iter().filter_map(|&byte| self.unframer.push(byte));
            if let Some(answer) = answers.next() {
                return answer.expect("a sound answer");
            }
        }
    }
}
