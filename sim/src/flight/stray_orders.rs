//! Orders to the ordnance sequence that nobody meant: a fault of whoever holds the transmitter.

use super::link::framed;
use crate::{
    plant::faults::FaultSchedule,
    scenario::parts::fault::{FaultKind, OrdnanceOrders},
};
use stillframe_controller::ordnance::order::Order;
use stillframe_wire::packet::{self, Count};

/// Bytes that go up in a tick.
const BYTES_PER_TICK: usize = 2;
/// Fill between two orders: a second and a half, in which telemetry could have shown an echo.
const FILL_BYTES: usize = 300;
/// The token that they bear.
const TOKEN: u32 = 0x0bad_0bad;

/// The bytes of one row of stray orders, on their way.
#[derive(Clone, Debug, Default)]
pub struct StrayOrders {
    bytes: Vec<u8>,
    sent: usize,
    under_way: bool,
    counter: u16,
}

impl StrayOrders {
    /// Bytes that reach the vehicle in this tick, if the link brings none of its own.
    pub fn uplink(&mut self, faults: &FaultSchedule) -> heapless::Vec<u8, 32> {
        let acting =
            faults.find(|kind| if let FaultKind::OrdnanceOrders(orders) = kind { Some(orders.clone()) } else { None });
        let begins = acting.is_some() && !self.under_way;
        self.under_way = acting.is_some();
        if let Some(orders) = acting.filter(|_| begins) {
            self.begin(&orders);
        }
        let rest = self.bytes.get(self.sent..).unwrap_or_default();
        let now: heapless::Vec<u8, 32> = rest.iter().take(BYTES_PER_TICK).copied().collect();
        self.sent += now.len();
        now
    }

    fn begin(&mut self, orders: &OrdnanceOrders) {
        let go = Order::Go(orders.event.event(), TOKEN);
        let row = if orders.armed { vec![Order::Arm(TOKEN), Order::Confirm(TOKEN), go] } else { vec![go] };
        let mut count = Count::FIRST;
        (self.bytes, self.sent) = (Vec::new(), 0);
        for order in row {
            self.counter += 1;
            let packet = packet::ordnance_order(order, self.counter, count.take()).unwrap_or_default();
            self.bytes.extend(framed(&packet));
            self.bytes.extend([0; FILL_BYTES]);
        }
    }
}
