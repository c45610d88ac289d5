extern crate std;
use super::*;
use crate::{
    packet::{self, Header},
    programme::{
        load::{Load, MAX_BYTES},
        tests::load,
    },
};
use heapless::Vec;

fn framed(bytes: &[u8]) -> std::vec::Vec<u8> {
    let mut out = std::vec![0_u8; bytes.len() + bytes.len() / 254 + 3];
    let n = cobs::encode(bytes, &mut out[1..]);
    out.truncate(n + 2);
    out
}

/// A ground with its counts.
#[derive(Default)]
pub(crate) struct Ground {
    loads: u16,
    orders: u16,
}

impl Ground {
    pub(crate) fn load(&mut self, load: &Load) -> std::vec::Vec<u8> {
        self.loads += 1;
        let header = Header { count: self.loads, ..packet::TELECOMMAND };
        let bytes: Vec<u8, { MAX_BYTES + 8 }> = packet::write(header, &[&load.encode()]).unwrap();
        framed(&bytes)
    }

    fn order(&mut self, order: Order) -> std::vec::Vec<u8> {
        self.orders += 1;
        let header = Header { count: self.orders, ..packet::ORDER };
        let bytes: Vec<u8, 32> = packet::write(header, &[&order.encode()]).unwrap();
        framed(&bytes)
    }

    pub(crate) fn commit(&mut self, load: &Load) -> std::vec::Vec<u8> {
        self.order(Order::Commit { counter: load.counter, sum: load.checksum() })
    }
}

fn at(tick: u32) -> Against {
    Against::alone(tick)
}

#[test]
fn a_load_received_byte_by_byte_waits_and_comes_into_force_by_its_commit() {
    let (mut programme, mut ground) = (Programme::default(), Ground::default());
    for byte in ground.load(&load(1)) {
        programme.receive(&[byte], &at(0));
    }
    let name = LoadName { counter: 1, sum: load(1).checksum(), entries: 4 };
    assert_eq!((programme.waiting(), programme.in_force()), (Some(name), None));
    assert!(!programme.loaded() && programme.burst().is_none(), "a load that waits does nothing");
    let received = programme.receive(&ground.commit(&load(1)), &at(5));
    assert_eq!(received, Received { telecommands: 1, in_force: true, ..Received::default() });
    assert_eq!((programme.waiting(), programme.in_force()), (None, Some(name)));
    assert_eq!(programme.burst().map(|burst| burst.on_tick), Some(100));
}

#[test]
fn a_bad_load_leaves_the_one_in_force_and_the_one_that_waits() {
    let (mut programme, mut ground) = (Programme::default(), Ground::default());
    programme.adopt(load(5), &at(0)).unwrap();
    programme.receive(&ground.load(&load(6)), &at(0));
    let before = programme.clone();
    let mut bytes = ground.load(&load(7));
    bytes[20] ^= 4;
    assert_eq!(programme.receive(&bytes, &at(0)).telecommands, 0);
    programme.receive(&ground.load(&load(5)), &at(0));
    assert_eq!((programme.refused, programme.last_refusal), (2, Some(LoadError::Counter)));
    let mut left_on = load(7);
    left_on.entries.pop();
    programme.receive(&ground.load(&left_on), &at(0));
    assert_eq!(programme.last_refusal, Some(LoadError::LeftOn));
    assert_eq!((programme.in_force(), programme.waiting()), (before.in_force(), before.waiting()));
    assert_eq!(programme.burst(), before.burst());
}

#[test]
fn a_commit_that_names_another_load_or_none_is_refused() {
    let (mut programme, mut ground) = (Programme::default(), Ground::default());
    programme.receive(&ground.commit(&load(1)), &at(0));
    assert_eq!(programme.last_refusal, Some(LoadError::Commit), "nothing waits");
    programme.receive(&ground.load(&load(1)), &at(0));
    for order in [
        Order::Commit { counter: 2, sum: load(1).checksum() },
        Order::Commit { counter: 1, sum: load(1).checksum() ^ 1 },
    ] {
        let received = programme.receive(&ground.order(order), &at(0));
        assert_eq!((programme.last_refusal, programme.loaded()), (Some(LoadError::Commit), false));
        assert!(!received.in_force);
    }
    assert!(programme.waiting().is_some());
    programme.receive(&ground.order(Order::Drop), &at(0));
    programme.receive(&ground.commit(&load(1)), &at(0));
    assert!(programme.waiting().is_none() && !programme.loaded());
}

#[test]
fn a_load_is_judged_again_at_its_commit() {
    let (mut programme, mut ground) = (Programme::default(), Ground::default());
    programme.receive(&ground.load(&load(1)), &at(0));
    programme.receive(&ground.commit(&load(1)), &at(50));
    assert_eq!(programme.last_refusal, Some(LoadError::Past(0)));
    assert!(!programme.loaded() && programme.waiting().is_none());
}

#[test]
fn two_loads_interleaved_end_with_the_one_that_is_named() {
    let (mut programme, mut ground) = (Programme::default(), Ground::default());
    programme.receive(&ground.load(&load(1)), &at(0));
    programme.receive(&ground.load(&load(2)), &at(0));
    programme.receive(&ground.commit(&load(1)), &at(0));
    assert!(!programme.loaded(), "the commit of the first must not put the second in force");
    programme.receive(&ground.commit(&load(2)), &at(0));
    assert_eq!(programme.counter(), 2);
    programme.receive(&ground.load(&load(1)), &at(0));
    assert_eq!(programme.last_refusal, Some(LoadError::Counter));
}

#[test]
fn a_load_waits_for_its_time_and_no_longer() {
    let (mut programme, mut ground) = (Programme::default(), Ground::default());
    programme.receive(&ground.load(&load(1)), &at(0));
    (1..WAIT_S).for_each(|_| programme.second());
    assert!(programme.waiting().is_some());
    programme.second();
    assert_eq!((programme.waiting(), programme.last_refusal), (None, Some(LoadError::Expired)));
    programme.receive(&ground.commit(&load(1)), &at(0));
    assert!(!programme.loaded());
}

#[test]
fn the_clock_is_not_corrected_while_the_camera_is_on() {
    let (mut programme, mut ground) = (Programme::default(), Ground::default());
    programme.adopt(load(1), &at(0)).unwrap();
    let correlation = Correlation { clock_tick: 150, true_tick: 140 };
    programme.step(100);
    let received = programme.receive(&ground.order(Order::Correlate(correlation)), &at(150));
    assert_eq!((received.correlation, programme.last_refusal), (None, Some(LoadError::Busy)));
    programme.step(3_100);
    let received = programme.receive(&ground.order(Order::Correlate(correlation)), &at(3_150));
    assert_eq!(received.correlation, Some(correlation));
}
