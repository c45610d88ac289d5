//! What no step may change.

use super::*;
use proptest::prelude::*;

const SKEW: [[f64; 3]; 3] = [[1500.0, 40.0, -25.0], [40.0, 1400.0, 60.0], [-25.0, 60.0, 900.0]];

fn relative_change(before: &[f64; 3], after: &[f64; 3]) -> f64 {
    let change: [f64; 3] = std::array::from_fn(|i| after[i] - before[i]);
    norm(&change) / norm(before)
}

/// Reels spin up, run and stop: the momentum they take from the body and give back is never lost. An
/// hour of steps; a control run without the reaction shows that the check can fail.
#[test]
fn momentum_is_conserved_while_reels_exchange_it() {
    let change = |reaction: f64| {
        let body = RigidBody::new(SKEW).unwrap();
        let mut state = State { q: UPRIGHT, w: [2.1e-3, -3.4e-3, 1.7e-3] };
        let mut reel = [0.0, 0.02, 0.0];
        let before = body.angular_momentum_inertial(&state, &reel);
        for k in 0..180_000 {
            let gain = [0.0, 4e-4 * (k as f64 * 2e-3).sin(), 1e-5];
            let forcing = Forcing {
                reel_momentum_nms: reel,
                reel_reaction_nms: gain.map(|g| -reaction * g),
                ..Forcing::default()
            };
            body.advance(&mut state, 0.02, &forcing);
            reel = std::array::from_fn(|i| reel[i] + gain[i]);
        }
        relative_change(&before, &body.angular_momentum_inertial(&state, &reel))
    };
    assert!(change(1.0) < 1e-12, "{:e}", change(1.0));
    assert!(change(0.0) > 1e-3);
}

#[test]
fn energy_is_conserved_without_torque() {
    let body = RigidBody::new(SKEW).unwrap();
    let mut state = State { q: UPRIGHT, w: [0.02, -0.03, 0.015] };
    let before = body.kinetic_energy_j(&state);
    coast(&body, &mut state, 0.02, 180_000);
    let change = body.kinetic_energy_j(&state) / before - 1.0;
    // An error of fourth order: (|ω|·dt)⁴ times a turn of 140 rad gives 4e-11 at most.
    assert!(change.abs() < 1e-11, "{change:e}");
}

#[test]
fn mass_that_moves_inside_keeps_the_momentum() {
    let mut body = RigidBody::new(SKEW).unwrap();
    let mut state = State { q: [0.5, -0.5, 0.5, 0.5], w: [2.1e-3, -3.4e-3, 1.7e-3] };
    let before = body.angular_momentum_inertial(&state, &[0.0; 3]);
    let rates = state.w;
    body.set_inertia(&mut state, [[1510.0, 30.0, 0.0], [30.0, 1400.0, 10.0], [0.0, 10.0, 880.0]]).unwrap();
    let after = body.angular_momentum_inertial(&state, &[0.0; 3]);
    assert!(relative_change(&before, &after) < 1e-15);
    assert_ne!(state.w, rates);
    let unchanged = (body, state);
    body.set_inertia(&mut state, [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 3.0]]).unwrap_err();
    assert_eq!((body, state), unchanged);
}

#[test]
fn a_quaternion_off_by_rounding_is_pulled_back() {
    let body = RigidBody::new(SKEW).unwrap();
    let mut state = State { q: [1.0 + 1e-9, 0.0, 0.0, 0.0], w: [2.1e-3, -3.4e-3, 1.7e-3] };
    coast(&body, &mut state, 0.02, 2);
    assert!((norm(&state.q) - 1.0).abs() < 1e-15);
}

proptest! {
    #[test]
    fn any_body_keeps_its_momentum_and_a_unit_quaternion(
        moments in (200.0..2000.0, 200.0..2000.0, 0.1..0.9),
        w in prop::array::uniform3(-0.02..0.02_f64),
        reel in prop::array::uniform3(-1.0..1.0_f64),
    ) {
        let (a, b, between) = moments;
        // Any third moment between |a−b| and a+b obeys the triangle rule.
        let c = f64::abs(a - b) + between * (a + b - f64::abs(a - b));
        let body = diagonal([a, b, c]);
        let mut state = State { q: [0.5, 0.5, -0.5, 0.5], w };
        let before = body.angular_momentum_inertial(&state, &reel);
        let forcing = Forcing { reel_momentum_nms: reel, ..Forcing::default() };
        for _ in 0..500 {
            body.advance(&mut state, 0.02, &forcing);
            prop_assert!((norm(&state.q) - 1.0).abs() < 1e-15);
        }
        let change = relative_change(&before, &body.angular_momentum_inertial(&state, &reel));
        prop_assert!(change < 1e-12, "{change:e}");
    }
}
