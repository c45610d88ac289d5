//! Telecommands out of the radio's byte stream.
//!
//! They travel in packets ([`crate::packet`]), and that COBS-encoded between zero bytes (S. Cheshire and
//! M. Baker, *Consistent Overhead Byte Stuffing*, IEEE/ACM Trans. Networking 7(2), 1999), so that a torn frame costs only
//! itself.

use super::{
    load::{LoadError, MAX_BYTES, View},
    telecommand::{Order, Telecommand},
};
use crate::packet::{self, Header, Kind};
use cobs::{DecodeResult, DecoderState};
use heapless::Vec;

/// Bytes of the longest packet.
const MAX_PACKET: usize = MAX_BYTES + packet::HEADER_BYTES + packet::CHECKSUM_BYTES;

/// Application processes that take telecommands, each with a sequence count of its own.
pub const PROCESSES: [u16; 3] = [packet::LOADS, packet::ORDERS, packet::ORDNANCE];

/// What a frame turned out to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Frame {
    /// No telecommand of this vehicle's in its turn: the ground may not even be there.
    Nothing(LoadError),
    /// A telecommand, sound, addressed and in sequence: the ground is there, whatever its content is worth.
    Telecommand(Result<Telecommand, LoadError>),
}

/// Collects the bytes of one frame.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Receiver {
    frame: Vec<u8, { MAX_PACKET + MAX_PACKET / 254 + 2 }>,
    overrun: bool,
    /// Where the data of the last packet lie, until the next frame begins.
    data: Option<(usize, usize)>,
    /// The frame has ended: the next byte begins another.
    ended: bool,
    /// Sequence counts taken last, in the order of [`PROCESSES`].
    counts: [Option<u16>; PROCESSES.len()],
}

impl Receiver {
    /// Takes one byte; a whole frame gives what it is. Empty frames (fill) give nothing.
    pub fn push(&mut self, byte: u8) -> Option<Frame> {
        if self.ended {
            self.frame.clear();
            (self.overrun, self.ended, self.data) = (false, false, None);
        }
        if byte != 0 {
            if self.frame.push(byte).is_err() {
                self.overrun = true;
            }
            return None;
        }
        if self.frame.is_empty() {
            return None;
        }
        let length = if self.overrun { Err(LoadError::Length) } else { self.decode() };
        self.ended = true;
        Some(match length {
            Ok(length) => self.unpack(length),
            Err(why) => Frame::Nothing(why),
        })
    }

    /// The load in the telecommand that has just come.
    ///
    /// # Errors
    /// [`LoadError`] if there is none that is well formed.
    pub fn load(&self) -> Result<View<'_>, LoadError> {
        let (from, to) = self.data.ok_or(LoadError::Length)?;
        View::of(self.frame.get(from..to).unwrap_or_default())
    }

    /// Sequence counts taken last, in the order of [`PROCESSES`].
    pub fn counts(&self) -> [Option<u16>; PROCESSES.len()] {
        self.counts
    }

    /// Goes on from sequence counts kept through a reset.
    pub fn take_counts(&mut self, counts: [Option<u16>; PROCESSES.len()]) {
        self.counts = counts;
    }

    /// Takes any sequence count next: after a long silence the ground may have lost its own.
    pub fn forget_counts(&mut self) {
        self.counts = [None; PROCESSES.len()];
    }

    /// Decodes in place: what comes out is never ahead of what went in. Byte by byte, because the library's
    /// own in-place decoder indexes in ways that the compiler cannot prove free of panics.
    fn decode(&mut self) -> Result<usize, LoadError> {
        let mut decoder = DecoderState::default();
        let mut length = 0_usize;
        for at in 0..self.frame.len() {
            let Some(&byte) = self.frame.get(at) else { break };
            match decoder.feed(byte).map_err(|_| LoadError::Length)? {
                DecodeResult::DataContinue(decoded) => {
                    *self.frame.get_mut(length).ok_or(LoadError::Length)? = decoded;
                    length += 1;
                }
                DecodeResult::NoData | DecodeResult::DataStart | DecodeResult::DataComplete => {}
            }
        }
        match decoder.feed(0) {
            Ok(DecodeResult::DataComplete) => Ok(length),
            _ => Err(LoadError::Length),
        }
    }

    /// The telecommand in the packet that fills the frame's first `length` bytes.
    fn unpack(&mut self, length: usize) -> Frame {
        let bytes = self.frame.get(..length).unwrap_or_default();
        let Ok((header, data)) = packet::read(bytes) else { return Frame::Nothing(LoadError::Packet) };
        if let Err(why) = take_in_turn(&header, &mut self.counts) {
            return Frame::Nothing(why);
        }
        self.data = Some((packet::HEADER_BYTES, packet::HEADER_BYTES + data.len()));
        Frame::Telecommand(match header.apid {
            packet::LOADS => Ok(Telecommand::Load),
            packet::ORDNANCE => data.try_into().map(Telecommand::Ordnance).map_err(|_| LoadError::Packet),
            _ => Order::decode(data).map(Telecommand::Order),
        })
    }
}

/// Whether a packet is a telecommand to one of this vehicle's processes and in its turn; then its count is taken.
fn take_in_turn(header: &Header, counts: &mut [Option<u16>; PROCESSES.len()]) -> Result<(), LoadError> {
    if header.kind != Kind::Telecommand || header.secondary_header {
        return Err(LoadError::Packet);
    }
    let mut known = PROCESSES.iter().zip(counts);
    let (_, count) = known.find(|(apid, _)| **apid == header.apid).ok_or(LoadError::Packet)?;
    if count.is_some_and(|last| !packet::count_follows(header.count, last)) {
        return Err(LoadError::Sequence);
    }
    *count = Some(header.count);
    Ok(())
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use crate::{
        attitude::orbit::Ephemeris,
        ordnance::order::ORDER_BYTES,
        programme::load::{Command, Entry, Load},
    };
    use proptest::prelude::*;

    fn load(entries: usize) -> Load {
        let ephemeris = Ephemeris {
            epoch_tick: 0,
            phase: 0,
            phase_per_tick: 527_000_000,
            half_acceleration_rad_s2: 0.0,
            inclination_rad: 1.4,
            radius_ratio2: 0.93,
        };
        let entries = (0..entries).map(|n| Entry { tick: 0x0101_0101 + n as u32, command: Command::Speed(0x0101) });
        Load { counter: 7, ephemeris, entries: entries.collect() }
    }

    fn telecommand(load: &Load, apid: u16, count: u16) -> Vec<u8, MAX_PACKET> {
        packet::write(Header { apid, count, ..packet::TELECOMMAND }, &[&load.encode()]).unwrap()
    }

    fn framed(bytes: &[u8]) -> std::vec::Vec<u8> {
        let mut encoded = std::vec![0; cobs::max_encoding_length(bytes.len()) + 1];
        let length = cobs::encode(bytes, &mut encoded);
        encoded.truncate(length + 1);
        encoded
    }

    fn order(order: Order, count: u16) -> std::vec::Vec<u8> {
        let packet: Vec<u8, 32> = packet::write(Header { count, ..packet::ORDER }, &[&order.encode()]).unwrap();
        framed(&packet)
    }

    #[test]
    fn packets_for_others_and_bare_loads_are_refused() {
        let mut receiver = Receiver::default();
        let sent = load(3);
        for bytes in [telecommand(&sent, packet::SNAPSHOTS, 0).as_slice(), sent.encode().as_slice()] {
            assert_eq!(outcomes(&mut receiver, &framed(bytes)), [Frame::Nothing(LoadError::Packet)]);
        }
        // For this vehicle, but no load: the ground is there.
        let odd: Vec<u8, 16> = packet::write(packet::TELECOMMAND, &[&[1, 2, 3]]).unwrap();
        assert_eq!(outcomes(&mut receiver, &framed(&odd)), [Frame::Telecommand(Ok(Telecommand::Load))]);
        assert_eq!(receiver.load(), Err(LoadError::Length));
    }

    /// Counts by hand: a repeated one and one that falls behind are refused, a gap is not; the two processes count apart.
    #[test]
    fn telecommands_are_taken_once_and_in_order() {
        let mut receiver = Receiver::default();
        let mut hail = |count: u16| {
            let outcome = outcomes(&mut receiver, &order(Order::Hail, count)).pop();
            outcome == Some(Frame::Telecommand(Ok(Telecommand::Order(Order::Hail))))
        };
        let taken: std::vec::Vec<bool> = [7, 7, 8, 8, 7, 10, 9, 11, 0x3fff].into_iter().map(&mut hail).collect();
        assert_eq!(taken, [true, false, true, false, false, true, false, true, false]);
        assert!([0x1000, 0x2fff, 0x3fff, 0].into_iter().all(&mut hail), "the count wraps");
        let sent = load(1);
        let first = framed(&telecommand(&sent, packet::LOADS, 0));
        assert!(matches!(outcomes(&mut receiver, &first)[..], [Frame::Telecommand(Ok(_))]));
        assert_eq!(outcomes(&mut receiver, &first), [Frame::Nothing(LoadError::Sequence)]);
        assert_eq!(receiver.counts(), [Some(0), Some(0), None]);
        receiver.forget_counts();
        assert!(matches!(outcomes(&mut receiver, &first)[..], [Frame::Telecommand(Ok(_))]));
    }

    #[test]
    fn direct_orders_are_handed_on_as_they_are() {
        let mut receiver = Receiver::default();
        let packet: Vec<u8, 32> = packet::write(packet::ORDNANCE_ORDER, &[&[7; ORDER_BYTES]]).unwrap();
        let taken = Frame::Telecommand(Ok(Telecommand::Ordnance([7; ORDER_BYTES])));
        assert_eq!(outcomes(&mut receiver, &framed(&packet)), [taken]);
        let short: Vec<u8, 32> =
            packet::write(Header { count: 1, ..packet::ORDNANCE_ORDER }, &[&[7; ORDER_BYTES - 1]]).unwrap();
        assert_eq!(outcomes(&mut receiver, &framed(&short)), [Frame::Telecommand(Err(LoadError::Packet))]);
    }

    fn outcomes(receiver: &mut Receiver, bytes: &[u8]) -> std::vec::Vec<Frame> {
        bytes.iter().filter_map(|&byte| receiver.push(byte)).collect()
    }

    /// Frames as the library encodes them, of every length up to the longest, come back whole; a torn frame
    /// before them costs only itself.
    #[test]
    fn what_the_library_encodes_is_decoded_and_a_torn_frame_costs_only_itself() {
        let mut receiver = Receiver::default();
        for (count, entries) in [0, 1, 30, 31, 32, 100, 319, 320].into_iter().enumerate() {
            let sent = load(entries);
            let bytes = telecommand(&sent, packet::LOADS, count as u16);
            let mut encoded = std::vec![0; cobs::max_encoding_length(bytes.len())];
            let length = cobs::encode(&bytes, &mut encoded);
            encoded.truncate(length);
            outcomes(&mut receiver, encoded.get(..encoded.len() / 2).unwrap());
            let torn = receiver.push(0);
            assert!(matches!(torn, Some(Frame::Nothing(_))), "{torn:?}");
            let whole = outcomes(&mut receiver, &[encoded.as_slice(), &[0]].concat());
            assert_eq!(whole, [Frame::Telecommand(Ok(Telecommand::Load))]);
            let mut store = load(3);
            receiver.load().unwrap().copy_into(&mut store);
            assert_eq!(store, sent);
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn no_stream_of_bytes_does_harm(bytes in prop::collection::vec(prop_oneof![Just(0_u8), Just(255), any::<u8>()], 0..6_000)) {
            let mut receiver = Receiver::default();
            for outcome in outcomes(&mut receiver, &bytes) {
                prop_assert!(matches!(outcome, Frame::Nothing(_)));
            }
        }
    }
}
