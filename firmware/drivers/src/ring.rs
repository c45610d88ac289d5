//! A ring of bytes between one writer and one reader, either of which may be an interrupt.

use core::sync::atomic::{AtomicU8, AtomicU32, AtomicUsize, Ordering};

/// Holds up to `N` − 1 bytes; `N` must be a power of two.
///
/// One context writes and one reads: with two writers bytes could be lost, though nothing worse.
#[derive(Debug)]
pub struct Ring<const N: usize> {
    bytes: [AtomicU8; N],
    /// Place of the next byte to be written. Only the writer moves it.
    head: AtomicUsize,
    /// Place of the next byte to be read. Only the reader moves it.
    tail: AtomicUsize,
    lost: AtomicU32,
}

impl<const N: usize> Default for Ring<N> {
    fn default() -> Self {
        Self::new()
    }
}

impl<const N: usize> Ring<N> {
    const MASK: usize = {
        assert!(N.is_power_of_two(), "a ring's size is a power of two");
        N - 1
    };

    /// An empty ring.
    pub const fn new() -> Self {
        Self {
            bytes: [const { AtomicU8::new(0) }; N],
            head: AtomicUsize::new(0),
            tail: AtomicUsize::new(0),
            lost: AtomicU32::new(0),
        }
    }

    /// Puts a byte in; `false`, and one more lost, if there is no room.
    pub fn push(&self, byte: u8) -> bool {
        let head = self.head.load(Ordering::Relaxed);
        let next = (head + 1) & Self::MASK;
        if next == self.tail.load(Ordering::Acquire) {
            self.lost.store(self.lost.load(Ordering::Relaxed).saturating_add(1), Ordering::Relaxed);
            return false;
        }
        self.bytes[head & Self::MASK].store(byte, Ordering::Relaxed);
        self.head.store(next, Ordering::Release);
        true
    }

    /// Takes the oldest byte out.
    pub fn pop(&self) -> Option<u8> {
        let tail = self.tail.load(Ordering::Relaxed);
        if tail == self.head.load(Ordering::Acquire) {
            return None;
        }
        let byte = self.bytes[tail & Self::MASK].load(Ordering::Relaxed);
        self.tail.store((tail + 1) & Self::MASK, Ordering::Release);
        Some(byte)
    }

    /// Nothing to read.
    pub fn is_empty(&self) -> bool {
        self.tail.load(Ordering::Relaxed) == self.head.load(Ordering::Acquire)
    }

    /// Bytes that can be written now.
    pub fn room(&self) -> usize {
        let used = self.head.load(Ordering::Acquire).wrapping_sub(self.tail.load(Ordering::Acquire)) & Self::MASK;
        Self::MASK - used
    }

    /// Bytes that found no room, since the start; saturates.
    pub fn lost(&self) -> u32 {
        self.lost.load(Ordering::Relaxed)
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;
    use std::{collections::VecDeque, vec::Vec};

    #[test]
    fn a_full_ring_refuses_and_counts() {
        let ring = Ring::<8>::new();
        assert!((0..7).all(|byte| ring.push(byte)));
        assert!(!ring.push(7) && !ring.push(8));
        assert_eq!((ring.lost(), ring.room()), (2, 0));
        assert_eq!(std::iter::from_fn(|| ring.pop()).collect::<Vec<_>>(), [0, 1, 2, 3, 4, 5, 6]);
        assert!(ring.is_empty() && ring.room() == 7);
    }

    proptest::proptest! {
        #[test]
        fn behaves_as_a_queue(moves in proptest::collection::vec(proptest::option::of(0_u8..), 0..300)) {
            let (ring, mut queue) = (Ring::<16>::new(), VecDeque::new());
            for step in moves {
                match step {
                    Some(byte) => {
                        let room = queue.len() < 15;
                        proptest::prop_assert_eq!(ring.push(byte), room);
                        if room {
                            queue.push_back(byte);
                        }
                    }
                    None => proptest::prop_assert_eq!(ring.pop(), queue.pop_front()),
                }
                proptest::prop_assert_eq!(ring.room(), 15 - queue.len());
            }
        }
    }

    #[test]
    fn passes_bytes_between_threads_in_order() {
        let ring = Ring::<64>::new();
        std::thread::scope(|scope| {
            scope.spawn(|| {
                for count in 0..100_000_u32 {
                    while !ring.push(count as u8) {
                        std::thread::yield_now();
                    }
                }
            });
            for count in 0..100_000_u32 {
                let byte = loop {
                    if let Some(byte) = ring.pop() {
                        break byte;
                    }
                    std::thread::yield_now();
                };
                assert_eq!(byte, count as u8);
            }
        });
    }
}
