//! Loads out of the radio's byte stream.
//!
//! A load travels in a telecommand packet ([`crate::packet`]), and that COBS-encoded between zero bytes (S. Cheshire and
//! M. Baker, *Consistent Overhead Byte Stuffing*, IEEE/ACM Trans. Networking 7(2), 1999), so that a torn frame costs only
//! itself.

use super::load::{Load, LoadError, MAX_BYTES};
use crate::{
    ordnance::order::ORDER_BYTES,
    packet::{self, Kind},
};
use cobs::{DecodeResult, DecoderState};
use heapless::Vec;

/// Bytes of the longest packet.
const MAX_PACKET: usize = MAX_BYTES + packet::HEADER_BYTES + packet::CHECKSUM_BYTES;

/// Collects the bytes of one frame.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Receiver {
    frame: Vec<u8, { MAX_PACKET + MAX_PACKET / 254 + 2 }>,
    overrun: bool,
    /// Direct orders that wait to be handed on, the first to come in front.
    orders: [Option<[u8; ORDER_BYTES]>; 2],
}

impl Receiver {
    /// Takes one byte; a whole frame gives a load or the reason it is none. Empty frames (fill) give nothing.
    pub fn push(&mut self, byte: u8) -> Option<Result<Load, LoadError>> {
        if byte != 0 {
            if self.frame.push(byte).is_err() {
                self.overrun = true;
            }
            return None;
        }
        if self.frame.is_empty() {
            return None;
        }
        let result = if self.overrun { Err(LoadError::Length) } else { self.decode() };
        self.frame.clear();
        self.overrun = false;
        result.transpose()
    }

    /// The direct order that came first, if one waits.
    pub fn take_order(&mut self) -> Option<[u8; ORDER_BYTES]> {
        let [first, second] = self.orders;
        self.orders = [second, None];
        first
    }

    /// Keeps a direct order. A third in one tick, which the link cannot bring, would be lost.
    fn keep(&mut self, order: [u8; ORDER_BYTES]) {
        if let Some(free) = self.orders.iter_mut().find(|place| place.is_none()) {
            *free = Some(order);
        }
    }

    /// Decodes in place: what comes out is never ahead of what went in. Byte by byte, because the library's
    /// own in-place decoder indexes in ways that the compiler cannot prove free of panics.
    fn decode(&mut self) -> Result<Option<Load>, LoadError> {
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
            Ok(DecodeResult::DataComplete) => {}
            _ => return Err(LoadError::Length),
        }
        let packet = self.frame.get(..length).ok_or(LoadError::Length)?;
        if let Some(order) = order(packet) {
            self.keep(order);
            return Ok(None);
        }
        unpack(packet).map(Some)
    }
}

/// The direct order in a telecommand packet, if it holds one.
fn order(bytes: &[u8]) -> Option<[u8; ORDER_BYTES]> {
    let (header, data) = packet::read(bytes).ok()?;
    let ours = header.kind == Kind::Telecommand && header.apid == packet::ORDERS && !header.secondary_header;
    if ours { data.try_into().ok() } else { None }
}

/// The load in a telecommand packet.
fn unpack(bytes: &[u8]) -> Result<Load, LoadError> {
    let (header, data) = packet::read(bytes).map_err(|_| LoadError::Packet)?;
    let ours = header.kind == Kind::Telecommand && header.apid == packet::LOADS && !header.secondary_header;
    if ours { Load::decode(data) } else { Err(LoadError::Packet) }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use crate::{
        attitude::orbit::Ephemeris,
        packet::Header,
        programme::load::{Command, Entry},
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

    fn telecommand(load: &Load, apid: u16) -> Vec<u8, MAX_PACKET> {
        packet::write(Header { apid, ..packet::TELECOMMAND }, &[&load.encode()]).unwrap()
    }

    #[test]
    fn packets_for_others_and_bare_loads_are_refused() {
        let mut receiver = Receiver::default();
        let sent = load(3);
        for bytes in [telecommand(&sent, packet::SNAPSHOTS).as_slice(), sent.encode().as_slice()] {
            let mut encoded = std::vec![0; cobs::max_encoding_length(bytes.len()) + 1];
            let length = cobs::encode(bytes, &mut encoded);
            encoded.truncate(length + 1);
            assert_eq!(outcomes(&mut receiver, &encoded), [Err(LoadError::Packet)]);
        }
    }

    #[test]
    fn direct_orders_are_handed_on_in_order_and_are_no_loads() {
        let mut receiver = Receiver::default();
        for byte in [1_u8, 2] {
            let packet: Vec<u8, 32> = packet::write(packet::ORDER, &[&[byte; ORDER_BYTES]]).unwrap();
            let mut encoded = std::vec![0; cobs::max_encoding_length(packet.len()) + 1];
            let length = cobs::encode(&packet, &mut encoded);
            assert_eq!(outcomes(&mut receiver, encoded.get(..=length).unwrap()), []);
        }
        assert_eq!(receiver.take_order(), Some([1; ORDER_BYTES]));
        assert_eq!(receiver.take_order(), Some([2; ORDER_BYTES]));
        assert_eq!(receiver.take_order(), None);
    }

    fn outcomes(receiver: &mut Receiver, bytes: &[u8]) -> std::vec::Vec<Result<Load, LoadError>> {
        bytes.iter().filter_map(|&byte| receiver.push(byte)).collect()
    }

    /// Frames as the library encodes them, of every length up to the longest, come back whole; a torn frame
    /// before them costs only itself.
    #[test]
    fn what_the_library_encodes_is_decoded_and_a_torn_frame_costs_only_itself() {
        let mut receiver = Receiver::default();
        for entries in [0, 1, 30, 31, 32, 100, 319, 320] {
            let sent = load(entries);
            let bytes = telecommand(&sent, packet::LOADS);
            let mut encoded = std::vec![0; cobs::max_encoding_length(bytes.len())];
            let length = cobs::encode(&bytes, &mut encoded);
            encoded.truncate(length);
            outcomes(&mut receiver, encoded.get(..encoded.len() / 2).unwrap());
            let torn = receiver.push(0);
            assert!(matches!(torn, Some(Err(_))), "{torn:?}");
            assert_eq!(outcomes(&mut receiver, &[encoded.as_slice(), &[0]].concat()), [Ok(sent)]);
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn no_stream_of_bytes_does_harm(bytes in prop::collection::vec(prop_oneof![Just(0_u8), Just(255), any::<u8>()], 0..6_000)) {
            let mut receiver = Receiver::default();
            for outcome in outcomes(&mut receiver, &bytes) {
                prop_assert!(outcome.is_err());
            }
        }
    }
}
