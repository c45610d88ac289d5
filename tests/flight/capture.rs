//! Captures from tip-offs drawn at random: a part of the sample that `cargo bench --bench attitude` flies whole.

#[allow(dead_code, reason = "the bench looks at more")]
#[path = "../../sim/benches/support/captures.rs"]
mod captures;

/// Gas allowed over the momentum at tip-off, the disturbances' impulse, and one half-turn at the rate limit.
const GAS_FACTOR: f64 = 1.5;

#[test]
fn every_tip_off_of_the_sample_is_captured_on_its_feet_and_facing_ahead() {
    let flown = captures::whimbrel(10.0).captures(1, 0..48);
    for one in &flown {
        assert!(one.upright(), "{one:?}");
    }
    for one in &flown {
        assert!(one.gas_kg < GAS_FACTOR * one.least_kg, "dearer than it should be: {one:?}");
    }
    // The sample must be hard enough: rates on both sides of the gyros' doubt, and Earths out of sight.
    assert!(flown.iter().any(|one| one.searched) && flown.iter().any(|one| !one.searched));
}

#[test]
fn gyros_that_saturate_at_two_degrees_a_second_capture_too() {
    let flown = captures::whimbrel(2.0).captures(2, 0..16);
    let most = |one: &captures::Capture| one.tip_off.rate_rad_s.iter().fold(0.0_f64, |most, rate| most.max(rate.abs()));
    assert!(flown.iter().filter(|one| most(one) > 2.0_f64.to_radians()).count() > 4, "too easy a sample");
    for one in &flown {
        assert!(one.upright(), "{one:?}");
    }
}
