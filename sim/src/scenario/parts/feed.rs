//! `[feed]` and `[jet_spread]`: gas on its way from the tank to the nozzles, and jets as the workshop makes them.

use crate::scenario::read::spec::{number, plain};
use crate::scenario::read::unit::{CUBIC_CM, CUBIC_MM, DEGREE, MPA, MS, PERCENT};
use crate::{choice, record};

choice! {
    /// What sets the pressure before the jets.
    Scheme {
        /// Jets always have the thrust they are given.
        Constant = "constant",
        /// A regulator holds the pressure, within its band.
        Regulator = "regulator",
        /// The lines stand at the tank's pressure, and thrust falls with it.
        Blowdown = "blowdown",
    }
}

record! {
    /// Gas between tank and jets.
    Feed {
        /// What sets the pressure before the jets.
        scheme: Scheme = "scheme", plain().or_text("constant");
        /// Pressure at which jets have their thrust: the regulator's set point. With blowdown it is the tank's at the start.
        pressure_pa: f64 = "pressure_mpa", number(MPA, 0.02, 20.0).or(0.4);
        /// How far above its set point the regulator seats when no gas flows.
        lock_up: f64 = "lock_up_percent", number(PERCENT, 0.0, 30.0).or(0.0);
        /// Fall of the regulated pressure for each jet (as the first) that is open.
        droop: f64 = "droop_percent", number(PERCENT, 0.0, 30.0).or(0.0);
        /// Width of the band that friction makes: the set point is lower while the flow grows, higher while it falls.
        hysteresis: f64 = "hysteresis_percent", number(PERCENT, 0.0, 20.0).or(0.0);
        /// Inner volume of each bank's line from its latch valve to its jets.
        line_m3: f64 = "line_cm3", number(CUBIC_CM, 0.0, 10_000.0).or(0.0);
        /// Time that a latch valve takes to open or shut.
        latch_delay_s: f64 = "latch_delay_ms", number(MS, 0.0, 1000.0).or(0.0);
        /// Volume of each jet between valve and throat: thrust rises and decays as it fills and empties.
        plenum_m3: f64 = "plenum_mm3", number(CUBIC_MM, 0.0, 100_000.0).or(0.0);
        /// Share of the specific impulse that gas left in there gives once the valve is shut: isentropic emptying
        /// gives 83.3, walls that keep it warm 100.
        tail_share: f64 = "tail_percent", number(PERCENT, 10.0, 100.0).or(83.3);
    }
}

record! {
    /// How far jets as built are from the drawing: standard deviations, drawn once from the seed of the run for each
    /// jet (nothing beyond three of them), and for each pulse.
    JetSpread {
        /// Of the thrust; the flow follows it.
        thrust: f64 = "thrust_percent", number(PERCENT, 0.0, 20.0).or(0.0);
        /// Of the direction of the thrust, about each axis.
        direction_rad: f64 = "direction_deg", number(DEGREE, 0.0, 5.0).or(0.0);
        /// Of the opening delay, from jet to jet.
        open_delay_s: f64 = "open_delay_ms", number(MS, 0.0, 50.0).or(0.0);
        /// Of the closing delay, from jet to jet.
        close_delay_s: f64 = "close_delay_ms", number(MS, 0.0, 50.0).or(0.0);
        /// Of either delay, from pulse to pulse.
        jitter_s: f64 = "jitter_ms", number(MS, 0.0, 20.0).or(0.0);
    }
}
