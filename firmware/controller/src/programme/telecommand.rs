//! Telecommands to the vehicle itself, beside loads.
//!
//! | octets | data of a telecommand packet to process 17 |
//! | --- | --- |
//! | `01` counter (2) check sum (2) | commit: the waiting load that bears both comes into force |
//! | `02` | drop the waiting load |
//! | `03` clock (4) true (4) | correlation: when the on-board clock reads the first, the tick is the second |
//! | `04` | hail: nothing but a sign that the ground is there |
//! | `05` which (1) | listen with receiver 0 (main) or 1 (alternate) |
//!
//! All numbers are big-endian.

use super::load::LoadError;
use crate::{contact::Which, ordnance::order::ORDER_BYTES};
use heapless::Vec;

/// Octets of the longest of these telecommands.
pub const MAX_ORDER: usize = 9;

/// What a telecommand asks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Telecommand {
    /// A load, to be held until it is committed. It stays where its bytes lie
    /// ([`Receiver::load`](super::receiver::Receiver::load)): a load that is moved about takes its room on the stack each
    /// time.
    Load,
    /// A direct order to the ordnance sequence, which reads it itself.
    Ordnance([u8; ORDER_BYTES]),
    /// Anything else.
    Order(Order),
}

/// A telecommand of a few octets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Order {
    /// The waiting load with this counter and check sum comes into force.
    Commit {
        /// Its counter.
        counter: u16,
        /// Its check sum.
        sum: u16,
    },
    /// The waiting load is dropped.
    Drop,
    /// Clock correlation.
    Correlate(Correlation),
    /// Nothing but a sign that the ground is there.
    Hail,
    /// Listen with this receiver.
    Listen(Which),
}

/// What the on-board clock reads, and what it should.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Correlation {
    /// Reading of the clock, ticks.
    pub clock_tick: u32,
    /// True tick at that moment.
    pub true_tick: u32,
}

impl Order {
    /// Reads one.
    ///
    /// # Errors
    /// [`LoadError::Packet`] if it is none.
    pub fn decode(data: &[u8]) -> Result<Self, LoadError> {
        let word = |a: u8, b: u8| u16::from_be_bytes([a, b]);
        match *data {
            [1, a, b, c, d] => Ok(Self::Commit { counter: word(a, b), sum: word(c, d) }),
            [2] => Ok(Self::Drop),
            [3, a, b, c, d, e, f, g, h] => Ok(Self::Correlate(Correlation {
                clock_tick: u32::from_be_bytes([a, b, c, d]),
                true_tick: u32::from_be_bytes([e, f, g, h]),
            })),
            [4] => Ok(Self::Hail),
            [5, 0] => Ok(Self::Listen(Which::Main)),
            [5, 1] => Ok(Self::Listen(Which::Alternate)),
            _ => Err(LoadError::Packet),
        }
    }

    /// Writes one; the ground and tests use it.
    pub fn encode(self) -> Vec<u8, MAX_ORDER> {
        let mut out = Vec::new();
        // The buffer holds the longest, so no write can fail.
        let mut put = |bytes: &[u8]| {
            let _ = out.extend_from_slice(bytes);
        };
        match self {
            Self::Commit { counter, sum } => {
                put(&[1]);
                put(&counter.to_be_bytes());
                put(&sum.to_be_bytes());
            }
            Self::Drop => put(&[2]),
            Self::Correlate(Correlation { clock_tick, true_tick }) => {
                put(&[3]);
                put(&clock_tick.to_be_bytes());
                put(&true_tick.to_be_bytes());
            }
            Self::Hail => put(&[4]),
            Self::Listen(which) => put(&[5, which as u8]),
        }
        out
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn orders_come_back_and_their_bytes_are_the_handbooks() {
        let orders: [(Order, &[u8]); 6] = [
            (Order::Commit { counter: 0x0102, sum: 0xe298 }, &[1, 1, 2, 0xe2, 0x98]),
            (Order::Drop, &[2]),
            (
                Order::Correlate(Correlation { clock_tick: 706_000, true_tick: 705_000 }),
                &[3, 0, 0x0a, 0xc5, 0xd0, 0, 0x0a, 0xc1, 0xe8],
            ),
            (Order::Hail, &[4]),
            (Order::Listen(Which::Main), &[5, 0]),
            (Order::Listen(Which::Alternate), &[5, 1]),
        ];
        for (order, bytes) in orders {
            assert_eq!((order.encode().as_slice(), Order::decode(bytes)), (bytes, Ok(order)));
        }
    }

    proptest! {
        #[test]
        fn any_bytes_are_an_order_or_refused(bytes in proptest::collection::vec(0..9_u8, 0..12)) {
            if let Ok(order) = Order::decode(&bytes) {
                let again = order.encode();
                prop_assert_eq!(again.as_slice(), bytes.as_slice());
            }
        }
    }
}
