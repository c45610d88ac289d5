//! What is wrong, as bits of one word in telemetry.

/// A set of flags.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Flags(pub u32);

impl Flags {
    /// Sets or clears a flag.
    pub fn put(&mut self, flag: Flag, on: bool) {
        if on {
            self.0 |= flag.bit();
        } else {
            self.0 &= !flag.bit();
        }
    }

    /// Whether a flag is set.
    pub fn has(self, flag: Flag) -> bool {
        self.0 & flag.bit() != 0
    }
}

macro_rules! flags {
    ($($(#[$doc:meta])* $name:ident = $bit:literal, $text:literal;)*) => {
        /// One thing that can be wrong.
        #[derive(Clone, Copy, Debug, Eq, PartialEq)]
        pub enum Flag {
            $( #[doc = $text] $name, )*
        }

        impl Flag {
            /// All flags, in bit order.
            pub const ALL: &'static [Flag] = &[$(Flag::$name),*];

            /// The flag's bit in the telemetry word.
            pub const fn bit(self) -> u32 {
                match self { $(Flag::$name => 1 << $bit,)* }
            }

            /// One sentence for people.
            pub const fn text(self) -> &'static str {
                match self { $(Flag::$name => $text,)* }
            }
        }
    };
}

flags! {
    GyroInvalid = 0, "A gyro reading was not a number or out of range and the last good one was used, or a gyro no longer moves.";
    GyroSaturated = 1, "A gyro is at the end of its range.";
    HorizonInvalid = 2, "A horizon reading was not a number or only repeated itself; it was not used.";
    HorizonDistrusted = 3, "The horizon sensor disagrees with the gyros; attitude is held on the gyros.";
    EarthLost = 4, "No horizon: the vehicle damps its rates and searches.";
    HeadingUnknown = 5, "Yaw is not known yet.";
    BankALost = 6, "Jet bank A was shut off.";
    BankBLost = 7, "Jet bank B was shut off.";
    GasGuard = 8, "Gas was used too fast; the jets are shut until the allowance refills.";
    GasReserve = 9, "Gas is at its reserve; the camera stays off.";
    TankInvalid = 10, "A tank reading was not a number or out of range.";
    FilmStuck = 11, "Film does not move with its motor; the motors are off.";
    FilmBroken = 12, "Film has lost its tension; the motors are off.";
    FilmEmpty = 13, "The film load is used up.";
    ClockJumped = 14, "The on-board clock jumped; the programme waits for a clock correlation or a new load.";
    LoadRefused = 15, "A load or another telecommand was refused since a load was last taken.";
    CameraWithheld = 16, "The camera was commanded on but the vehicle was not fit for it.";
    QuietBroken = 17, "A jet fired inside a quiet time.";
    ShutterFault = 18, "The shutter did not follow its command.";
    FilmImbalance = 19, "Metered film and reel turns disagree.";
    FilmLoop = 20, "A loop of film ran full or empty; the motors are off.";
    FilmRunaway = 21, "Film ran faster than it was asked to; the motors are off.";
    KickReversed = 22, "The film's kick turned the vehicle the wrong way; it is no longer fed forward.";
    SpeedDoubtful = 23, "The film speed of the coming pass does not fit the V/h sent beside it.";
    GyroDoubtful = 24, "A gyro tells nothing or drifts more than it should; what it measured is taken from the horizon sensor where that can be.";
    YawDoubtful = 25, "The gyrocompass moved yaw further than the gyros allow; yaw may be wrong, and hold is coarse until a new load.";
    HorizonNoisy = 26, "The horizon sensor is noisy; the deadbands are wider.";
    PulsesFrequent = 27, "The jets fire more often in hold than they should.";
    ThrustOdd = 28, "The jets give more or less than they were told to.";
    GasTrend = 29, "Gas goes faster than the valves account for, or faster than hold should cost.";
    AttitudeDiverged = 30, "Capture or hold failed again and again; the jets are shut until a new load.";
    CameraLimit = 31, "The camera ran into its limit of time or film and was switched off.";
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_flag_has_its_own_bit() {
        let mut seen = Flags::default();
        for &flag in Flag::ALL {
            assert!(!seen.has(flag));
            seen.put(flag, true);
            assert!(seen.has(flag));
        }
        for &flag in Flag::ALL {
            seen.put(flag, false);
        }
        assert_eq!(seen, Flags::default());
    }
}
