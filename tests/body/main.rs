//! The rigid body against what is known of rigid bodies from outside.

mod gravity_gradient;
mod invariants;
mod order;
mod torque_free;
mod workload;

#[path = "../../sim/benches/support/ours.rs"]
mod ours;
#[path = "../../sim/benches/support/w1.rs"]
mod w1;

use stillframe::plant::body::{Forcing, RigidBody, State};

const UPRIGHT: [f64; 4] = [1.0, 0.0, 0.0, 0.0];

fn diagonal([x, y, z]: [f64; 3]) -> RigidBody {
    RigidBody::new([[x, 0.0, 0.0], [0.0, y, 0.0], [0.0, 0.0, z]]).expect("possible moments")
}

fn coast(body: &RigidBody, state: &mut State, dt_s: f64, steps: u32) {
    for _ in 0..steps {
        body.advance(state, dt_s, &Forcing::default());
    }
}

#[track_caller]
fn assert_close<const N: usize>(found: [f64; N], expected: [f64; N], tolerance: f64) {
    for (f, e) in found.iter().zip(expected) {
        assert!((f - e).abs() <= tolerance, "found {found:?}\nexpected {expected:?} ± {tolerance:e}");
    }
}

fn norm(v: &[f64]) -> f64 {
    v.iter().map(|x| x * x).sum::<f64>().sqrt()
}
