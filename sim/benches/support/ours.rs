//! The workload's vehicle on our rigid body.

use crate::w1::{INERTIA_KG_M2, ORBIT_RATE_RAD_S, Plant, STEP_S};
use std::hint::black_box;
use stillframe::plant::body::{Forcing, RigidBody, State};

/// Our rigid body. The step is kept from the optimiser: a real run's is not a constant either.
pub struct Ours {
    body: RigidBody,
    state: State,
}

impl Plant for Ours {
    fn start(q: [f64; 4], w: [f64; 3]) -> Self {
        let [x, y, z] = INERTIA_KG_M2;
        let body =
            RigidBody::new([[x, 0.0, 0.0], [0.0, y, 0.0], [0.0, 0.0, z]]).expect("the workload's inertia is possible");
        Self { body, state: State { q, w } }
    }

    fn state(&self) -> ([f64; 4], [f64; 3]) {
        (self.state.q, self.state.w)
    }

    fn step(&mut self, torque_nm: [f64; 3], up: &[[f64; 3]; 3]) {
        let forcing = Forcing {
            torque_nm,
            gravity_gradient_per_s2: 3.0 * ORBIT_RATE_RAD_S * ORBIT_RATE_RAD_S,
            up: *up,
            ..Forcing::default()
        };
        self.body.advance(&mut self.state, black_box(STEP_S), &forcing);
    }
}
