//! Space packets: CCSDS 133.0-B-2, *Space Packet Protocol*, June 2020, section 4.1.
//!
//! | bits | field of the primary header |
//! | --- | --- |
//! | 3 | packet version number: 000 |
//! | 1 | type: 0 telemetry, 1 telecommand |
//! | 1 | secondary header: 1 if there is one |
//! | 11 | application process identifier |
//! | 2 | sequence flags: 11, not segmented |
//! | 14 | sequence count, by identifier; wraps |
//! | 16 | octets of the data field less one |
//!
//! The data field follows: 1 to 65,536 octets. Its last two are a check sum over the whole packet before them,
//! CRC-16 with polynomial 1021 and start FFFF. The standard leaves that to the mission; it is common practice.
//!
//! All numbers are big-endian, the first bit is the most significant. On a line that may lose bytes packets travel
//! COBS-encoded between zeros.

use crc::{CRC_16_IBM_3740, Crc};
use heapless::Vec;

/// Octets of the primary header.
pub const HEADER_BYTES: usize = 6;
/// Octets of the check sum.
pub const CHECKSUM_BYTES: usize = 2;
/// Octets of the longest packet that the standard allows.
pub const LONGEST: usize = HEADER_BYTES + 65_536;
/// Application process of the stored programme: telecommands with loads.
pub const LOADS: u16 = 16;
/// Application process of the vehicle itself: commits, clock correlation, receivers.
pub const ORDERS: u16 = 17;
/// Application process of the ordnance sequence: telecommands with direct orders.
pub const ORDNANCE: u16 = 18;
/// Application process of the snapshots: telemetry.
pub const SNAPSHOTS: u16 = 32;
/// Largest sequence count.
pub const LAST_COUNT: u16 = 0x3fff;

/// Header of a telecommand with a load; its length is set when it is written.
pub const TELECOMMAND: Header =
    Header { kind: Kind::Telecommand, secondary_header: false, apid: LOADS, count: 0, data_bytes: 1 };
/// Header of a telecommand to the vehicle itself; its length is set when it is written.
pub const ORDER: Header = Header { apid: ORDERS, ..TELECOMMAND };
/// Header of a telecommand with a direct order to the ordnance sequence; its length is set when it is written.
pub const ORDNANCE_ORDER: Header = Header { apid: ORDNANCE, ..TELECOMMAND };
/// Header of a telemetry packet with a snapshot, whose secondary header is its tick.
pub const TELEMETRY: Header =
    Header { kind: Kind::Telemetry, secondary_header: true, apid: SNAPSHOTS, count: 0, data_bytes: 1 };

const APID_MASK: u16 = 0x07ff;
const TELECOMMAND_BIT: u16 = 1 << 12;
const SECONDARY_BIT: u16 = 1 << 11;
const NOT_SEGMENTED: u16 = 0b11 << 14;
static CHECKSUM: Crc<u16> = Crc::<u16>::new(&CRC_16_IBM_3740);

/// Which way a packet goes.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Kind {
    /// Down.
    Telemetry,
    /// Up.
    Telecommand,
}

/// The primary header of an unsegmented packet.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub struct Header {
    /// Telemetry or telecommand.
    pub kind: Kind,
    /// The data field begins with a secondary header.
    pub secondary_header: bool,
    /// Application process identifier, 0 to 2047; 2047 is fill.
    pub apid: u16,
    /// Sequence count, 0 to [`LAST_COUNT`].
    pub count: u16,
    /// Octets of the data field, 1 to 65,536.
    pub data_bytes: u32,
}

/// Why bytes are no packet.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum PacketError {
    /// Fewer octets than a header and a check sum.
    Short,
    /// Version number other than 000.
    Version,
    /// Part of a segmented packet.
    Segmented,
    /// The header tells another length.
    Length,
    /// Check sum does not match.
    Checksum,
}

impl Header {
    /// The six octets. What is out of its range loses its upper bits.
    pub const fn encode(self) -> [u8; HEADER_BYTES] {
        let kind = match self.kind {
            Kind::Telemetry => 0,
            Kind::Telecommand => TELECOMMAND_BIT,
        };
        let secondary = if self.secondary_header { SECONDARY_BIT } else { 0 };
        let [a, b] = (kind | secondary | self.apid & APID_MASK).to_be_bytes();
        let [c, d] = (NOT_SEGMENTED | self.count & LAST_COUNT).to_be_bytes();
        let [e, f] = (self.data_bytes.wrapping_sub(1) as u16).to_be_bytes();
        [a, b, c, d, e, f]
    }

    /// Reads a header.
    ///
    /// # Errors
    /// [`PacketError::Version`], [`PacketError::Segmented`].
    pub const fn decode([a, b, c, d, e, f]: [u8; HEADER_BYTES]) -> Result<Self, PacketError> {
        let (identification, sequence) = (u16::from_be_bytes([a, b]), u16::from_be_bytes([c, d]));
        if identification >> 13 != 0 {
            return Err(PacketError::Version);
        }
        if sequence & NOT_SEGMENTED != NOT_SEGMENTED {
            return Err(PacketError::Segmented);
        }
        let kind = if identification & TELECOMMAND_BIT == 0 { Kind::Telemetry } else { Kind::Telecommand };
        Ok(Self {
            kind,
            secondary_header: identification & SECONDARY_BIT != 0,
            apid: identification & APID_MASK,
            count: sequence & LAST_COUNT,
            data_bytes: u16::from_be_bytes([e, f]) as u32 + 1,
        })
    }
}

/// The sequence count that follows another.
pub const fn next_count(count: u16) -> u16 {
    count.wrapping_add(1) & LAST_COUNT
}

/// Whether sequence count `next` follows `last`: ahead of it by less than half the way round. A count that repeats, or
/// falls behind, does not.
pub const fn count_follows(next: u16, last: u16) -> bool {
    let ahead = next.wrapping_sub(last) & LAST_COUNT;
    ahead != 0 && ahead <= LAST_COUNT / 2
}

/// CRC-16 with polynomial 1021, start FFFF, nothing reflected.
pub fn checksum(bytes: &[u8]) -> u16 {
    CHECKSUM.checksum(bytes)
}

/// Writes a packet: header, the parts of its data one after the other, check sum. `None` if it does not fit.
#[inline(never)]
pub fn write<const N: usize>(header: Header, parts: &[&[u8]]) -> Option<Vec<u8, N>> {
    let data: usize = parts.iter().fold(CHECKSUM_BYTES, |sum, part| sum.saturating_add(part.len()));
    if data > LONGEST - HEADER_BYTES {
        return None;
    }
    let mut packet = Vec::new();
    packet.extend_from_slice(&Header { data_bytes: data as u32, ..header }.encode()).ok()?;
    for part in parts {
        packet.extend_from_slice(part).ok()?;
    }
    let sum = checksum(&packet);
    packet.extend_from_slice(&sum.to_be_bytes()).ok()?;
    Some(packet)
}

/// Reads a packet that fills `bytes`; its header, and its data field without the check sum.
///
/// # Errors
/// [`PacketError`]; nothing is half read.
#[inline(never)]
pub fn read(bytes: &[u8]) -> Result<(Header, &[u8]), PacketError> {
    let (header, data) = bytes.split_first_chunk().ok_or(PacketError::Short)?;
    let header = Header::decode(*header)?;
    if header.data_bytes as usize != data.len() {
        return Err(PacketError::Length);
    }
    let (data, sum) = data.split_last_chunk().ok_or(PacketError::Short)?;
    let summed = bytes.get(..HEADER_BYTES + data.len()).ok_or(PacketError::Short)?;
    if checksum(summed) != u16::from_be_bytes(*sum) {
        return Err(PacketError::Checksum);
    }
    Ok((header, data))
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use proptest::prelude::*;

    /// A telecommand header of process 16, count 1, four octets of data: 18 10 C0 01 00 03, the worked example in the
    /// documentation of the crate spacepackets; its CRC-16 by crcmod 1.7.
    #[test]
    fn known_header_and_check_sums() {
        let header = Header { kind: Kind::Telecommand, secondary_header: true, apid: 16, count: 1, data_bytes: 4 };
        let bytes = [0x18, 0x10, 0xc0, 0x01, 0x00, 0x03];
        assert_eq!(header.encode(), bytes);
        assert_eq!(Header::decode(bytes), Ok(header));
        assert_eq!(checksum(&bytes), 0xa97b);
        // CRC catalogue.
        assert_eq!((checksum(b"123456789"), checksum(&[0, 0])), (0x29b1, 0x1d0f));
        assert_eq!(checksum(&[0x41; 256]), 0xea0b);
    }

    #[test]
    fn counts_wrap_after_fourteen_bits_and_lengths_reach_their_ends() {
        assert_eq!((next_count(0), next_count(0x3ffe), next_count(0x3fff)), (1, 0x3fff, 0));
        assert!(count_follows(1, 0) && count_follows(0, 0x3fff) && count_follows(0x1fff, 0));
        assert!(!count_follows(0, 0) && !count_follows(0, 1) && !count_follows(0x2000, 0));
        for (data_bytes, field) in [(1, [0, 0]), (65_536, [0xff, 0xff])] {
            let bytes = Header { data_bytes, ..TELEMETRY }.encode();
            assert_eq!(bytes[4..], field);
            assert_eq!(Header::decode(bytes).map(|header| header.data_bytes), Ok(data_bytes));
        }
        assert_eq!(LONGEST, 65_542);
        // The longest packet is written and read; one octet more is none.
        let most = std::vec![7; LONGEST - HEADER_BYTES - CHECKSUM_BYTES];
        let longest: Vec<u8, LONGEST> = write(TELEMETRY, &[&most]).unwrap();
        assert_eq!((longest.len(), read(&longest).unwrap().1), (LONGEST, most.as_slice()));
        assert_eq!(write::<70_000>(TELEMETRY, &[&most, &[1]]), None);
        assert_eq!(write::<16>(TELEMETRY, &[&[0; 9]]), None);
    }

    #[test]
    fn what_is_no_packet_is_told_by_name() {
        let good: Vec<u8, 32> = write(TELECOMMAND, &[&[1, 2, 3]]).unwrap();
        let changed = |at: usize, to: u8| {
            let mut bytes = good.clone();
            bytes[at] = to;
            read(&bytes).map(|_| ())
        };
        assert_eq!(read(&good[..5]), Err(PacketError::Short));
        assert_eq!(changed(0, 0x30), Err(PacketError::Version));
        assert_eq!(changed(2, 0x40), Err(PacketError::Segmented));
        assert_eq!(changed(5, 9), Err(PacketError::Length));
        assert_eq!(changed(7, 9), Err(PacketError::Checksum));
        assert_eq!(read(&[0x10, 0x10, 0xc0, 0, 0, 0, 9]), Err(PacketError::Short));
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn packets_come_back(up: bool, secondary_header: bool, apid in 0_u16..2_048, count in 0_u16..=LAST_COUNT, data in prop::collection::vec(any::<u8>(), 0..300)) {
            let kind = if up { Kind::Telecommand } else { Kind::Telemetry };
            let data_bytes = data.len() as u32 + 2;
            let header = Header { kind, secondary_header, apid, count, data_bytes };
            let bytes: Vec<u8, 320> = write(header, &[&data]).unwrap();
            prop_assert_eq!(read(&bytes), Ok((header, data.as_slice())));
        }

        #[test]
        fn any_bytes_are_a_packet_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
            if let Ok((header, data)) = read(&bytes) {
                let again: Vec<u8, 320> = write(header, &[data]).unwrap();
                prop_assert_eq!(again.as_slice(), bytes.as_slice());
            }
        }

        #[test]
        fn one_flipped_bit_is_always_refused(data in prop::collection::vec(any::<u8>(), 0..100), bit in 0_usize..8_000) {
            let mut bytes: Vec<u8, 128> = write(TELEMETRY, &[&data]).unwrap();
            let bit = bit % (8 * bytes.len());
            bytes[bit / 8] ^= 1 << (bit % 8);
            prop_assert!(read(&bytes).is_err());
        }
    }
}
