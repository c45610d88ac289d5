//! Telemetry and telecommands as space packets; the header's code is the flight code's own
//! ([`stillframe_controller::packet`]), which takes telecommands apart itself.
//!
//! | octets | telemetry packet with a snapshot |
//! | --- | --- |
//! | 6 | primary header, process 32, with secondary header |
//! | 4 | secondary header: base tick of the snapshot, big-endian |
//! | n | the snapshot in postcard form |
//! | 2 | CRC-16 over everything before |
//!
//! | octets | telecommand packet |
//! | --- | --- |
//! | 6 | primary header, without secondary header; process 16 for a load, 17 for the vehicle itself, 18 for the ordnance sequence |
//! | n | the load ([`stillframe_controller::programme::load`]), or the order ([`stillframe_controller::programme::telecommand`]) |
//! | 2 | CRC-16 over everything before |

use heapless::Vec;
pub use stillframe_controller::packet::{
    CHECKSUM_BYTES, HEADER_BYTES, Header, Kind, LAST_COUNT, LOADS, ORDER, ORDERS, ORDNANCE, ORDNANCE_ORDER,
    PacketError, SNAPSHOTS, TELECOMMAND, TELEMETRY, checksum, next_count, read, write,
};
use stillframe_controller::{
    ordnance::order::{ORDER_BYTES, Order as OrdnanceOrder},
    programme::{
        load::{Load, MAX_BYTES},
        telecommand::{MAX_ORDER, Order},
    },
    telemetry::Telemetry,
};

/// Octets of the longest telemetry packet.
pub const MAX_SNAPSHOT: usize = 416;
/// Octets of the longest telecommand packet.
pub const MAX_TELECOMMAND: usize = MAX_BYTES + HEADER_BYTES + CHECKSUM_BYTES;
/// Octets of the longest packet with an order.
pub const MAX_ORDER_PACKET: usize = MAX_ORDER + HEADER_BYTES + CHECKSUM_BYTES;
const TICK_BYTES: usize = 4;

/// A telemetry packet.
pub type Packet = Vec<u8, MAX_SNAPSHOT>;

/// A sequence count of one application process.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Count(u16);

impl Count {
    /// Before the first packet.
    pub const FIRST: Self = Self(0);

    /// Goes on after `last`.
    pub const fn after(last: u16) -> Self {
        Self(next_count(last))
    }

    /// The count that the next packet gets.
    pub const fn peek(&self) -> u16 {
        self.0
    }

    /// The count for a packet; the next one gets the next.
    pub const fn take(&mut self) -> u16 {
        let count = self.0;
        self.0 = next_count(count);
        count
    }
}

/// A snapshot as a telemetry packet; `None` if it does not fit, which no snapshot does not.
#[inline(never)]
pub fn snapshot(snapshot: &Telemetry, count: u16) -> Option<Packet> {
    let mut room = [0_u8; MAX_SNAPSHOT - HEADER_BYTES - TICK_BYTES - CHECKSUM_BYTES];
    let body = postcard::to_slice(snapshot, &mut room).ok()?;
    write(Header { count, ..TELEMETRY }, &[&snapshot.tick.to_be_bytes(), body])
}

/// Why a packet holds no snapshot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SnapshotError {
    /// It is no packet.
    Packet(PacketError),
    /// It is one of something else.
    Other(Header),
    /// Its content is no snapshot of this program.
    Content,
}

/// The snapshot in a telemetry packet, and the packet's header.
///
/// # Errors
/// [`SnapshotError`].
pub fn read_snapshot(bytes: &[u8]) -> Result<(Header, Telemetry), SnapshotError> {
    let (header, data) = read(bytes).map_err(SnapshotError::Packet)?;
    if header.kind != Kind::Telemetry || header.apid != SNAPSHOTS || !header.secondary_header {
        return Err(SnapshotError::Other(header));
    }
    let (tick, body) = data.split_first_chunk::<TICK_BYTES>().ok_or(SnapshotError::Content)?;
    match postcard::take_from_bytes::<Telemetry>(body) {
        Ok((telemetry, [])) if telemetry.tick == u32::from_be_bytes(*tick) => Ok((header, telemetry)),
        _ => Err(SnapshotError::Content),
    }
}

/// A load as a telecommand packet.
pub fn telecommand(load: &Load, count: u16) -> Option<Vec<u8, MAX_TELECOMMAND>> {
    write(Header { count, ..TELECOMMAND }, &[&load.encode()])
}

/// An order as a telecommand packet.
pub fn order(order: Order, count: u16) -> Option<Vec<u8, MAX_ORDER_PACKET>> {
    write(Header { count, ..ORDER }, &[&order.encode()])
}

/// Octets of a telecommand packet with a direct order to the ordnance sequence.
pub const ORDNANCE_PACKET: usize = ORDER_BYTES + HEADER_BYTES + CHECKSUM_BYTES;

/// A direct order to the ordnance sequence as a telecommand packet. `counter` is the order's own, which must rise.
pub fn ordnance_order(order: OrdnanceOrder, counter: u16, count: u16) -> Option<Vec<u8, ORDNANCE_PACKET>> {
    write(Header { count, ..ORDNANCE_ORDER }, &[&order.encode(counter)])
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use proptest::prelude::*;
    use stillframe_controller::{
        Controller,
        attitude::turn::Withheld,
        ordnance::{Alarms, Status},
        programme::{load::LoadError, waiting::LoadName},
        telemetry::Uplink,
    };

    fn telemetry() -> Telemetry {
        *Controller::new(crate::server::tests::two_banks()).unwrap().telemetry()
    }

    #[test]
    fn the_longest_snapshot_fits() {
        let mut longest = telemetry();
        (longest.tick, longest.frames, longest.flags.0) = (u32::MAX, u32::MAX, u32::MAX);
        (longest.attitude.pulses, longest.attitude.quiet_broken) = (u32::MAX, u32::MAX);
        (longest.load_counter, longest.loads_refused, longest.speed_step) = (u16::MAX, u16::MAX, u16::MAX);
        longest.last_refusal = Some(LoadError::Entry(u16::MAX));
        longest.film_residual = [Some(1.0); 2];
        longest.attitude.turn.withheld = Some(Withheld::TimeUp);
        let name = Some(LoadName { counter: u16::MAX, sum: u16::MAX, entries: u16::MAX });
        longest.uplink = Uplink {
            silent_s: u32::MAX,
            telecommands: u16::MAX,
            counts: [Some(LAST_COUNT); 3],
            in_force: name,
            waiting: name,
            late: u16::MAX,
            clock_ahead_ticks: i32::MIN,
            ..Uplink::default()
        };
        longest.ordnance = Status {
            count: 8,
            inhibits: 31,
            armed: true,
            aborted: true,
            echo: u32::MAX,
            alarms: Alarms(u16::MAX),
            refused: u16::MAX,
        };
        let packet = snapshot(&longest, LAST_COUNT).unwrap();
        let (header, told) = read_snapshot(&packet).unwrap();
        assert_eq!((header.count, told), (LAST_COUNT, longest));
    }

    #[test]
    fn what_is_no_snapshot_is_told_apart() {
        let telemetry = telemetry();
        let packet = snapshot(&telemetry, 3).unwrap();
        let (header, data) = read(&packet).unwrap();
        let other = |header: Header, data: &[u8]| read_snapshot(&write::<MAX_SNAPSHOT>(header, &[data]).unwrap());
        assert!(matches!(other(Header { apid: LOADS, ..header }, data), Err(SnapshotError::Other(_))));
        assert_eq!(other(header, &data[..data.len() - 1]), Err(SnapshotError::Content));
        assert_eq!(other(header, &[&[1], &data[1..]].concat()), Err(SnapshotError::Content));
        assert!(matches!(read_snapshot(&packet[1..]), Err(SnapshotError::Packet(_))));
        let mut count = Count(LAST_COUNT);
        assert_eq!((count.take(), count.take(), count.take()), (LAST_COUNT, 0, 1));
    }

    proptest! {
        #[test]
        fn any_bytes_are_a_snapshot_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
            prop_assert!(read_snapshot(&bytes).is_err());
            // And with a sound packet around them.
            if let Some(packet) = write::<400>(TELEMETRY, &[&bytes])
                && let Ok((header, told)) = read_snapshot(&packet)
            {
                prop_assert!(snapshot(&told, header.count).is_some());
            }
        }
    }
}
