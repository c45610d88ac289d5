//! The reference workload: counts exact, states to the digits on which independent codes agree.

use super::{assert_close, ours::Ours, w1};

#[test]
fn forty_seconds() {
    let outcome = w1::controlled::<Ours>(w1::SHORT.steps);
    w1::SHORT.check_counts(&outcome);
    assert_close(outcome.q, w1::SHORT.q, 1e-12);
}

#[test]
fn an_hour_under_control() {
    let outcome = w1::controlled::<Ours>(w1::HOUR.steps);
    w1::HOUR.check_counts(&outcome);
    assert_close(outcome.q, w1::HOUR.q, 2e-12);
    assert_close(outcome.w, w1::HOUR.w.unwrap(), 1e-11);
    assert_close([outcome.peak_rad, outcome.settled_peak_rad], w1::PEAKS_RAD, 1e-9);
}

/// A crossing may fall one sample later by rounding within a day, so that codes which agree on every
/// count still differ by 1e-6 in attitude and 2e-9 rad/s; the rate about x is given to 5e-9.
#[test]
fn a_day_under_control() {
    let outcome = w1::controlled::<Ours>(w1::DAY.steps);
    w1::DAY.check_counts(&outcome);
    assert_close(outcome.q, w1::DAY.q, 2e-6);
    assert_close(outcome.w, w1::DAY.w.unwrap(), 5e-9);
}

#[test]
fn an_hour_alone() {
    let (q, w) = w1::free::<Ours>(w1::HOUR.steps);
    assert_close(q, w1::FREE_HOUR.0, 1e-12);
    assert_close(w, w1::FREE_HOUR.1, 1e-14);
}

/// The steady torque spins the body up to 0.11 rad/s in a day, so that 3,000 rad of turn multiply
/// any error of rate.
#[test]
fn a_day_alone() {
    let (q, w) = w1::free::<Ours>(w1::DAY.steps);
    assert_close(q, w1::FREE_DAY.0, 1e-9);
    assert_close(w, w1::FREE_DAY.1, 1e-11);
}
