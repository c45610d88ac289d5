//! Space packets, read and written by an independent library (the crate spacepackets).

use arbitrary_int::{traits::Integer, u11, u14};
use cobs::encode_vec;
use spacepackets::{CcsdsPacket, CcsdsPacketCreator, CcsdsPacketReader, PacketType, SequenceFlags, SpHeader};
use std::time::Duration;
use stillframe::flight::build::build;
use stillframe_controller::{Controller, io::Sensors, programme::load::Load};
use stillframe_hil::{
    line::{Line, stand_in::StandIn},
    scenario,
    wiring::still,
};
use stillframe_wire::{FromBoard, ToBoard, Unframer, frame, packet, settings::SettingsRow};

/// Asks a board, and its answer.
fn ask(board: &mut StandIn, message: &ToBoard) -> FromBoard {
    board.send(&frame(message).unwrap()).unwrap();
    let (mut bytes, mut unframer) = ([0; 4_096], Unframer::new());
    let count = board.receive(&mut bytes, Duration::ZERO).unwrap();
    bytes[..count].iter().find_map(|&byte| unframer.push(byte)).expect("an answer").unwrap()
}

#[test]
fn telemetry_is_read_by_another_library() {
    let built = build(&scenario::edge().unwrap(), 1).unwrap();
    let mut board = StandIn::new();
    ask(&mut board, &ToBoard::Settings(SettingsRow::write(&built.settings).unwrap()));
    assert_eq!(ask(&mut board, &ToBoard::Begin), FromBoard::Done);
    let mut desk = Controller::new(built.settings).unwrap();
    let mut heard = 0;
    for tick in 0..500 {
        let sensors = Sensors { tick, ..still() };
        desk.step(&sensors);
        let FromBoard::Answer { telemetry, .. } = ask(&mut board, &ToBoard::Step { sequence: tick, sensors }) else {
            panic!("no answer");
        };
        let Some(bytes) = telemetry else { continue };
        let theirs = CcsdsPacketReader::new_with_checksum(&bytes).expect("a packet with a sound CRC-16");
        assert_eq!(theirs.ccsds_version().as_u8(), 0);
        assert_eq!((theirs.packet_type(), theirs.apid().as_u16()), (PacketType::Tm, 32));
        assert_eq!((theirs.sequence_flags(), theirs.seq_count().as_u16()), (SequenceFlags::Unsegmented, heard));
        assert!(theirs.sec_header_flag());
        assert_eq!(theirs.packet_len(), bytes.len());
        let (time, body) = theirs.user_data().split_at(4);
        assert_eq!(time, tick.to_be_bytes());
        assert_eq!(postcard::from_bytes::<stillframe_controller::telemetry::Telemetry>(body), Ok(*desk.telemetry()));
        heard += 1;
    }
    assert_eq!(heard, 5);
}

fn load() -> Load {
    build(&scenario::edge().unwrap(), 1).unwrap().load
}

#[test]
fn telecommands_are_read_by_another_library() {
    let bytes = packet::telecommand(&load(), 7).unwrap();
    let theirs = CcsdsPacketReader::new_with_checksum(&bytes).expect("a packet with a sound CRC-16");
    assert_eq!((theirs.packet_type(), theirs.apid().as_u16()), (PacketType::Tc, 16));
    assert_eq!((theirs.sec_header_flag(), theirs.seq_count().as_u16()), (false, 7));
    assert_eq!(theirs.user_data(), load().encode().as_slice());
}

/// The flight code takes a load out of a packet that another library made, and none out of one for another process.
#[test]
fn telecommands_of_another_library_are_taken() {
    for (apid, taken) in [(16, true), (17, false)] {
        let built = build(&scenario::edge().unwrap(), 1).unwrap();
        let mut vehicle = Controller::new(built.settings).unwrap();
        let header = SpHeader::new_for_unseg_tc(u11::new(apid), u14::new(1), 0);
        let data = load().encode();
        let packet = CcsdsPacketCreator::new_tc_with_checksum(header, &data).unwrap().to_vec();
        let line = [&[0], encode_vec(&packet).as_slice(), &[0]].concat();
        let mut bytes = line.chunks(32);
        // The next snapshot shows it.
        for tick in 0..=200 {
            let uplink = bytes.next().unwrap_or_default().iter().copied().collect();
            vehicle.step(&Sensors { tick, uplink, ..still() });
        }
        let told = vehicle.telemetry();
        assert_eq!((told.uplink.waiting.is_some(), told.loads_refused != 0), (taken, !taken), "process {apid}");
    }
}

/// Headers of every kind, ours against theirs.
#[test]
fn headers_agree_bit_for_bit() {
    for apid in [0, 1, 16, 1_024, 2_046, 2_047] {
        for count in [0, 1, 255, 256, packet::LAST_COUNT] {
            for data_bytes in [1, 4, 256, 257, 65_536] {
                for (kind, theirs) in
                    [(packet::Kind::Telemetry, PacketType::Tm), (packet::Kind::Telecommand, PacketType::Tc)]
                {
                    for secondary_header in [false, true] {
                        let ours = packet::Header { kind, secondary_header, apid, count, data_bytes };
                        let (apid, count) = (u11::new(apid), u14::new(count));
                        let length = (data_bytes - 1) as u16;
                        let theirs = SpHeader::new_from_fields(
                            theirs,
                            secondary_header,
                            apid,
                            SequenceFlags::Unsegmented,
                            count,
                            length,
                        );
                        assert_eq!(ours.encode().as_slice(), theirs.to_vec().as_slice(), "{ours:?}");
                    }
                }
            }
        }
    }
}
