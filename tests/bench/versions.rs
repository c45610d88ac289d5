//! Other versions of the link: told apart in both directions, by frames made here with other people's encoders.

use crate::over;
use crc::{CRC_32_ISO_HDLC, Crc};
use std::{collections::VecDeque, io, time::Duration};
use stillframe_controller::io::Actuators;
use stillframe_hil::{
    board::BoardError,
    line::{Line, stand_in::StandIn},
};
use stillframe_wire::{FrameError, FromBoard, Refusal, ToBoard, Unframer, VERSION, frame, settings::keys};

/// A frame of a body, as a peer of `version` makes it.
fn framed(version: Option<u8>, body: &[u8]) -> Vec<u8> {
    let summed = [version.as_slice(), body].concat();
    let sum = Crc::<u32>::new(&CRC_32_ISO_HDLC).checksum(&summed);
    let plain = [body, &sum.to_le_bytes()].concat();
    [&[0], cobs::encode_vec(&plain).as_slice(), &[0]].concat()
}

/// The board's answers to bytes.
fn answers(board: &mut StandIn, bytes: &[u8]) -> Vec<u8> {
    board.send(bytes).unwrap();
    let mut all = vec![0; 4_096];
    let count = board.receive(&mut all, Duration::ZERO).unwrap();
    all.truncate(count);
    all
}

#[test]
fn our_frames_are_what_other_encoders_make() {
    for message in [ToBoard::Begin, ToBoard::Stats, ToBoard::End, ToBoard::Pace] {
        let body = postcard::to_allocvec(&message).unwrap();
        assert_eq!(frame(&message).unwrap().as_slice(), framed(Some(VERSION), &body));
    }
    assert_eq!(frame(&ToBoard::Hello).unwrap().as_slice(), framed(None, &[0]));
}

/// A board that answers every greeting as version 9 does, with more behind the version than we know.
struct Newer(VecDeque<u8>);

impl Line for Newer {
    fn send(&mut self, _: &[u8]) -> io::Result<()> {
        self.0.extend(framed(None, &[0, 9, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12]));
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], _: Duration) -> io::Result<usize> {
        io::Read::read(&mut self.0, into)
    }
}

#[test]
fn a_board_of_another_version_is_refused_and_both_are_named() {
    let error = over(Newer(VecDeque::new())).greet().expect_err("refused");
    assert!(matches!(error, BoardError::Version { board: 9 }), "{error:?}");
    let text = error.to_string();
    assert!(text.contains("version 9 of the link") && text.contains(&format!("version {VERSION}:")), "{text}");
}

/// A bench of another version greets as all do, and reads the version out of the answer.
#[test]
fn a_bench_of_another_version_learns_this_boards() {
    let answer = answers(&mut StandIn::new(), &framed(None, &[0]));
    let body = cobs::decode_vec(&answer[1..answer.len() - 1]).unwrap();
    let (body, sum) = body.split_at(body.len() - 4);
    assert_eq!(body[..2], [0, VERSION]);
    // Readable without knowing the version.
    assert_eq!(Crc::<u32>::new(&CRC_32_ISO_HDLC).checksum(body).to_le_bytes(), sum);
    let mut unframer = Unframer::new();
    let read = answer.iter().find_map(|&byte| unframer.push::<FromBoard>(byte));
    assert_eq!(read, Some(Ok(FromBoard::Hello { version: VERSION, keys: keys(), clock_hz: 1_000_000_000 })));
}

/// Whatever else another version says is unsound here: nothing is acted on, and the board says so.
#[test]
fn what_another_version_says_moves_nothing() {
    let mut board = StandIn::new();
    for version in (0..=u8::MAX).filter(|version| *version != VERSION) {
        for message in 1..=10 {
            let answer = answers(&mut board, &framed(Some(version), &[message]));
            let mut unframer = Unframer::new();
            let read = answer.iter().find_map(|&byte| unframer.push::<FromBoard>(byte));
            assert_eq!(read, Some(Ok(FromBoard::Refused(Refusal::BadFrame))), "version {version}, message {message}");
        }
    }
    assert_eq!((board.desk.times_put_out, &board.desk.outputs), (0, &Actuators::SAFE));
    // And its greeting, read as an answer, is told from nonsense.
    let mut unframer = Unframer::new();
    let read = framed(None, &[0, 1]).iter().find_map(|&byte| unframer.push::<FromBoard>(byte));
    assert_eq!(read, Some(Err(FrameError::Version(1))));
}
