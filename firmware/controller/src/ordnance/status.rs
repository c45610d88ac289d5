//! What the sequence says of itself.

/// A set of [`Alarm`]s.
#[derive(Clone, Copy, Debug, Default, Eq, Hash, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Alarms(pub u16);

impl Alarms {
    /// Adds an alarm.
    pub fn raise(&mut self, alarm: Alarm) {
        self.0 |= alarm.bit();
    }

    /// Adds an alarm if something is so.
    pub fn raise_if(&mut self, alarm: Alarm, so: bool) {
        if so {
            self.raise(alarm);
        }
    }

    /// Whether an alarm is among them.
    pub fn has(self, alarm: Alarm) -> bool {
        self.0 & alarm.bit() != 0
    }
}

macro_rules! alarms {
    ($($name:ident = $bit:literal, $text:literal;)*) => {
        /// Something that the ground must know.
        #[derive(Clone, Copy, Debug, Eq, PartialEq)]
        pub enum Alarm {
            $( #[doc = $text] $name, )*
        }

        impl Alarm {
            /// All alarms, in bit order.
            pub const ALL: &'static [Self] = &[$(Self::$name),*];

            /// Its bit in the telemetry word.
            pub const fn bit(self) -> u16 {
                match self { $(Self::$name => 1 << $bit,)* }
            }

            /// One sentence for people.
            pub const fn text(self) -> &'static str {
                match self { $(Self::$name => $text,)* }
            }
        }
    };
}

alarms! {
    Garbled = 0, "An order was none of those there are.";
    Repeated = 1, "An order was repeated or overtaken; it was not carried out.";
    ArmRefused = 2, "Arming was refused: on the pad, after an abort, while a wave-off lasts, or with a closed firing line.";
    WrongEcho = 3, "The token that came back was not the one that was echoed; disarmed.";
    Lapsed = 4, "An offer to arm or an arming ran out.";
    NotArmed = 5, "An event was asked for without arming.";
    OutOfTurn = 6, "An event was asked for that is not the next one, or not possible now.";
    WavedOff = 7, "Attitude, rates, film or capsule were not as they must be at the moment of firing; disarmed for one revolution.";
    NotShown = 8, "An event got current and did not show itself done in time.";
    NotReady = 9, "Spin or retro ignition did not find what it needs in time; the sequence stopped.";
    RelayWelded = 10, "The arming relay is closed though nothing is armed.";
    LineWelded = 11, "A firing line or the commit switch is closed though no event is under way.";
    SensesDisagree = 12, "Bridgewires, contacts and the count on board contradict each other.";
    WordLost = 13, "The word that keeps the count through a reset was spoilt.";
    EarlySwitch = 14, "The deceleration switch was closed when it should not be; it was not listened to.";
    AbortRefused = 15, "An abort came after retro ignition; it was not carried out, for the capsule comes down anyway.";
}

/// Inhibits, as bits of [`Status::inhibits`] while they are in place.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Inhibit {
    /// Contacts that tell the pad, the carrier or the vehicle: in series with the firing lines.
    Clear = 1,
    /// The recovery battery's switch, thrown by the receiver's own decoder.
    Power = 2,
    /// Arming relay: two orders with an echo.
    Arming = 4,
    /// Line and commit switch: the next event, asked for.
    Turn = 8,
    /// Film, attitude, rates, spin, time and deceleration.
    Moment = 16,
}

/// The sequence as telemetry tells it.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Status {
    /// Events behind.
    pub count: u8,
    /// Inhibits in place, [`Inhibit`]; their number is what still stands between the battery and a charge.
    pub inhibits: u8,
    /// Armed.
    pub armed: bool,
    /// Aborted.
    pub aborted: bool,
    /// Token offered, to be read and sent back; zero if none is.
    pub echo: u32,
    /// Alarms since the last order to make safe.
    pub alarms: Alarms,
    /// Orders refused since waking.
    pub refused: u16,
}

impl Status {
    /// Number of inhibits in place.
    pub fn inhibits_left(&self) -> u32 {
        self.inhibits.count_ones()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_alarm_has_its_own_bit() {
        let all = Alarm::ALL.iter().fold(0_u32, |sum, alarm| sum + u32::from(alarm.bit()));
        assert_eq!(all, u32::from(u16::MAX));
    }
}
