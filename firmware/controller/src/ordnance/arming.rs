//! Armed by two orders with an echo between them, for a while.

/// How far arming has come.
#[derive(Clone, Copy, Debug, Default, Eq, Hash, PartialEq)]
pub enum Arming {
    /// Not at all; so after every reset.
    #[default]
    Disarmed,
    /// A token came and is echoed; the ground is to read it and confirm.
    Offered {
        /// The token.
        token: u32,
        /// Ticks until the offer lapses.
        left: u32,
    },
    /// Armed for a while.
    Armed {
        /// The token.
        token: u32,
        /// Ticks until it lapses.
        left: u32,
    },
    /// Armed to the end: the capsule has left the vehicle.
    Bound {
        /// The token.
        token: u32,
    },
}

/// Proof that both orders came, the second with the echo, that their time has not run out, and that the relay is closed.
#[derive(Debug)]
pub struct Armed(());

impl Arming {
    /// The proof, if there is one: armed by orders, and the relay's contact seen closed.
    ///
    /// `PLANTED` is the guard taken away on purpose for the search to find: the relay's own contact taken for the
    /// ground's two orders, so that a relay that is welded arms by itself. False wherever it flies.
    pub(super) fn proof<const PLANTED: bool>(&self, relay_closed: bool) -> Option<Armed> {
        ((self.is_armed() || PLANTED) && relay_closed).then_some(Armed(()))
    }

    /// Armed, by orders.
    pub fn is_armed(&self) -> bool {
        matches!(self, Self::Armed { .. } | Self::Bound { .. })
    }

    /// The token in use.
    pub fn token(&self) -> Option<u32> {
        match *self {
            Self::Disarmed => None,
            Self::Offered { token, .. } | Self::Armed { token, .. } | Self::Bound { token } => Some(token),
        }
    }

    /// The token to be echoed, while the ground's answer is awaited; zero otherwise.
    pub fn echo(&self) -> u32 {
        match *self {
            Self::Offered { token, .. } => token,
            _ => 0,
        }
    }

    /// A token comes: offered unless something is under way.
    pub(super) fn offer(&mut self, token: u32, life_ticks: u32) -> bool {
        let free = *self == Self::Disarmed;
        if free {
            *self = Self::Offered { token, left: life_ticks };
        }
        free
    }

    /// The echo comes back: armed if it is right, disarmed if it is not.
    pub(super) fn confirm(&mut self, echoed: u32, life_ticks: u32) -> bool {
        let right = matches!(*self, Self::Offered { token, .. } if token == echoed);
        *self = if right { Self::Armed { token: echoed, left: life_ticks } } else { Self::Disarmed };
        right
    }

    /// A tick goes by; whether a life has run out with it.
    pub(super) fn tick(&mut self) -> bool {
        match self {
            Self::Offered { left, .. } | Self::Armed { left, .. } if *left > 0 => {
                *left -= 1;
                false
            }
            Self::Offered { .. } | Self::Armed { .. } => {
                *self = Self::Disarmed;
                true
            }
            Self::Disarmed | Self::Bound { .. } => false,
        }
    }

    /// No life runs any more: what is armed stays so.
    pub(super) fn bind(&mut self) {
        if let Self::Armed { token, .. } = *self {
            *self = Self::Bound { token };
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn proven(arming: &Arming) -> bool {
        arming.proof::<false>(true).is_some()
    }

    #[test]
    fn armed_by_the_echo_alone_and_for_a_while() {
        let mut arming = Arming::default();
        assert!(!proven(&arming));
        assert!(arming.offer(7, 3));
        assert_eq!((arming.echo(), proven(&arming)), (7, false));
        assert!(!arming.offer(8, 3), "a second offer while one is open");
        assert!(arming.confirm(7, 2));
        assert!(proven(&arming));
        assert_eq!((arming.tick(), arming.tick(), proven(&arming)), (false, false, true));
        assert_eq!((arming.tick(), proven(&arming)), (true, false));
    }

    #[test]
    fn a_wrong_echo_or_a_late_one_disarms() {
        let mut arming = Arming::default();
        arming.offer(7, 1);
        assert!(!arming.confirm(6, 9));
        assert_eq!(arming, Arming::Disarmed);
        arming.offer(7, 1);
        assert_eq!((arming.tick(), arming.tick()), (false, true));
        assert!(!arming.confirm(7, 9) && !proven(&arming));
    }

    #[test]
    fn the_planted_guard_believes_the_relay_and_the_real_one_does_not() {
        let disarmed = Arming::Disarmed;
        assert!(disarmed.proof::<true>(true).is_some());
        assert!(disarmed.proof::<true>(false).is_none() && disarmed.proof::<false>(true).is_none());
    }
}
