//! Direct orders: eight octets in a telecommand packet of their own application process.
//!
//! | octets | field |
//! | --- | --- |
//! | 1 | kind |
//! | 1 | event (go), else zero |
//! | 2 | counter: must follow the one before, and may wrap; safe and abort are carried out whatever it is |
//! | 4 | token: chosen by the ground when it arms, repeated in what follows; zero in safe and abort |
//!
//! Kinds differ from each other in at least four bits, so that no single, double or triple bit error makes one
//! of another, even where a check sum failed to tell.

use super::event::Event;
use crate::programme::check::follows;

/// Octets of an order.
pub const ORDER_BYTES: usize = 8;

/// What the ground asks of a sequencer.
#[derive(Clone, Copy, Debug, Eq, Hash, PartialEq)]
pub enum Order {
    /// Offer to arm: answered by the token's echo in telemetry.
    Arm(u32),
    /// The echo was read and is right: arm.
    Confirm(u32),
    /// Fire this event, or go on with the sequence from it.
    Go(Event, u32),
    /// Disarm. Can be followed by a new arming.
    Safe,
    /// Never fire. Cannot be taken back.
    Abort,
}

/// What came in.
#[derive(Clone, Copy, Debug, Eq, Hash, PartialEq)]
pub enum Arrival {
    /// An order.
    Order(Order),
    /// Eight octets that are none.
    Garbled,
    /// An order whose counter does not follow: a repetition, or one that was overtaken.
    Repeated,
}

const ARM: u8 = 0x0f;
const CONFIRM: u8 = 0x33;
const GO: u8 = 0x55;
const SAFE: u8 = 0x69;
const ABORT: u8 = 0x96;

impl Order {
    /// The octets of an order.
    pub fn encode(self, counter: u16) -> [u8; ORDER_BYTES] {
        let (kind, event, token) = match self {
            Self::Arm(token) => (ARM, 0, token),
            Self::Confirm(token) => (CONFIRM, 0, token),
            Self::Go(event, token) => (GO, event.index(), token),
            Self::Safe => (SAFE, 0, 0),
            Self::Abort => (ABORT, 0, 0),
        };
        let ([c, d], [e, f, g, h]) = (counter.to_be_bytes(), token.to_be_bytes());
        [kind, event, c, d, e, f, g, h]
    }

    /// The order and its counter; none if the octets are no order.
    pub fn decode([kind, event, c, d, e, f, g, h]: [u8; ORDER_BYTES]) -> Option<(Self, u16)> {
        let (counter, token) = (u16::from_be_bytes([c, d]), u32::from_be_bytes([e, f, g, h]));
        let order = match (kind, event, token) {
            (ARM, 0, 1..) => Self::Arm(token),
            (CONFIRM, 0, 1..) => Self::Confirm(token),
            (GO, _, 1..) => Self::Go(Event::at(event)?, token),
            (SAFE, 0, 0) => Self::Safe,
            (ABORT, 0, 0) => Self::Abort,
            _ => return None,
        };
        Some((order, counter))
    }

    /// Makes safe; never refused for its counter.
    pub const fn makes_safe(self) -> bool {
        matches!(self, Self::Safe | Self::Abort)
    }
}

/// Lets each order through once and in the order in which they were given.
///
/// The sequencer does not rely on it: what is shown of the sequencer is shown with orders repeated and out of
/// order. After a reset the counter is forgotten and any is taken. No counter is the last one: they follow each other as
/// those of loads do, and an order that makes safe, which is taken with any, moves none.
#[derive(Clone, Copy, Debug, Default, Eq, Hash, PartialEq)]
pub struct Doorkeeper {
    last: Option<u16>,
}

impl Doorkeeper {
    /// Judges eight octets.
    pub fn admit(&mut self, bytes: [u8; ORDER_BYTES]) -> Arrival {
        let Some((order, counter)) = Order::decode(bytes) else { return Arrival::Garbled };
        if order.makes_safe() {
            return Arrival::Order(order);
        }
        if self.last.is_some_and(|last| !follows(counter, last)) {
            return Arrival::Repeated;
        }
        self.last = Some(counter);
        Arrival::Order(order)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [Order; 5] = [
        Order::Arm(0x0102_0304),
        Order::Confirm(0x0102_0304),
        Order::Go(Event::CapsuleSeparation, 0x0102_0304),
        Order::Safe,
        Order::Abort,
    ];

    #[test]
    fn orders_come_back_and_three_wrong_bits_make_no_kind_of_another() {
        for order in ALL {
            assert_eq!(Order::decode(order.encode(513)), Some((order, 513)));
        }
        assert_eq!(Order::decode([ARM, 0, 0, 1, 0, 0, 0, 0]), None, "a token of zero");
        assert_eq!(Order::decode([GO, 8, 0, 1, 0, 0, 0, 7]), None, "a ninth event");
        assert_eq!(Order::decode([SAFE, 0, 0, 1, 0, 0, 0, 7]), None, "safe with a token");
        let kinds = [ARM, CONFIRM, GO, SAFE, ABORT];
        for (number, a) in kinds.iter().enumerate() {
            for b in kinds.iter().skip(number + 1) {
                assert!((a ^ b).count_ones() >= 4, "{a:02x} {b:02x}");
            }
        }
    }

    #[test]
    fn an_order_is_admitted_once_but_safe_always() {
        let mut door = Doorkeeper::default();
        let [arm, confirm, _, safe, _] = ALL;
        assert_eq!(door.admit(arm.encode(5)), Arrival::Order(arm));
        assert_eq!(door.admit(arm.encode(5)), Arrival::Repeated);
        assert_eq!(door.admit(confirm.encode(4)), Arrival::Repeated);
        assert_eq!(door.admit(safe.encode(1)), Arrival::Order(safe));
        assert_eq!(door.admit(confirm.encode(6)), Arrival::Order(confirm));
        assert_eq!(door.admit([0; 8]), Arrival::Garbled);
    }

    #[test]
    fn no_counter_bars_the_orders_after_it() {
        let [arm, confirm, go, safe, abort] = ALL;
        let mut door = Doorkeeper::default();
        assert_eq!(door.admit(arm.encode(5)), Arrival::Order(arm));
        for makes_safe in [safe, abort] {
            assert_eq!(door.admit(makes_safe.encode(u16::MAX)), Arrival::Order(makes_safe));
        }
        assert_eq!(door.admit(confirm.encode(6)), Arrival::Order(confirm));
        let mut door = Doorkeeper::default();
        assert_eq!(door.admit(arm.encode(u16::MAX)), Arrival::Order(arm));
        assert_eq!(door.admit(confirm.encode(0)), Arrival::Order(confirm));
        assert_eq!(door.admit(arm.encode(u16::MAX)), Arrival::Repeated);
        assert_eq!(door.admit(go.encode(1)), Arrival::Order(go));
    }
}
