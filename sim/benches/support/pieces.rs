//! Inner pieces made ready to be timed.

use stillframe::plant::body::{Forcing, RigidBody, State};

/// A body with products of inertia, turning, with a jet on, film running and the gravity gradient.
pub fn body_under_way() -> (RigidBody, State, Forcing) {
    let inertia_kg_m2 = [
        [1512.7, 4.0, -11.0],
        [4.0, 1437.3, 6.0],
        [-11.0, 6.0, 311.9],
    ];
    let body = RigidBody::new(inertia_kg_m2).expect("a possible inertia");
    let state = State {
        q: [0.5, -0.5, -0.5, 0.5],
        w: [2.1e-3, -3.4e-3, 1.7e-3],
    };
    let forcing = Forcing {
        torque_nm: [1.557, -2.3e-3, 0.4e-3],
        reel_momentum_nms: [0.0, 0.12, 0.0],
        reel_reaction_nms: [0.0, -1e-4, 0.0],
        gravity_gradient_per_s2: 4.1e-6,
        up: [[1.0, 0.0, 0.0], [1.0, 1.17e-5, 0.0], [1.0, 2.34e-5, 0.0]],
    };
    (body, state, forcing)
}
