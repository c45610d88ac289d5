//! The relay's describing function against its published formula and against its own Fourier integral.
//!
//! Formula: Gelb and Vander Velde 1968, appendix B. Values computed from it apart from this program; python-control
//! 0.10.2 (`relay_hysteresis_nonlinearity`) agrees for hysteresis alone.

use proptest::prelude::*;
use stillframe::design::attitude::describing::{Relay, size};

#[track_caller]
fn is(value: f64, wanted: f64) {
    assert!((value - wanted).abs() < 1e-9, "{value} for {wanted}");
}

#[test]
fn dead_zone_with_hysteresis() {
    let gain = Relay { level: 1.0, on: 1.0, off: 0.8 }.gain(2.0);
    is(gain.re, 0.567_400_277_288_9);
    is(gain.im, -0.031_830_988_618_38);
}

#[test]
fn dead_zone_alone() {
    let relay = Relay { level: 1.0, on: 1.0, off: 1.0 };
    for (amplitude, wanted) in [
        (1.2, 0.586_508_033_073_5),
        (std::f64::consts::SQRT_2, std::f64::consts::FRAC_2_PI),
        (3.0, 0.400_140_584_958_7),
        (10.0, 0.126_685_735_143_9),
    ] {
        is(relay.gain(amplitude).re, wanted);
        is(relay.gain(amplitude).im, 0.0);
    }
    let (at, largest) = relay.largest();
    // The maximum is flat: its place is known to the root of the rounding.
    assert!((at - std::f64::consts::SQRT_2).abs() < 1e-6, "{at}");
    is(largest, std::f64::consts::FRAC_2_PI);
    is(relay.gain(0.999).re, 0.0);
}

#[test]
fn hysteresis_alone() {
    // A relay that goes over from one side straight to the other: off at minus on.
    is(size(Relay { level: 1.0, on: 0.5, off: -0.5 }.gain(2.0)), std::f64::consts::FRAC_2_PI);
}

proptest! {
    #[test]
    fn the_fourier_integral_agrees(level in 0.1..10.0, on in 0.1..2.0, keep in -0.9..1.0_f64, times in 1.05..20.0_f64) {
        let relay = Relay { level, on, off: keep * on };
        let amplitude = times * on;
        let (formula, integral) = (relay.gain(amplitude), relay.gain_by_integration(amplitude, 100_000));
        // Switching falls between two of 100,000 points: 6e-5 rad of each of four edges.
        prop_assert!(size(formula - integral) < 4e-4 * level / amplitude, "{formula} {integral}");
    }
}
