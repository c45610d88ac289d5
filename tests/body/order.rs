//! How the error falls with the step.

use super::*;

const W0: [f64; 3] = [0.2, -0.3, 0.15];
const SPAN_S: f64 = 16.0;

/// Jets on, reels running, a gravity gradient a thousand times the Earth's so that its own order
/// shows.
fn run(steps: u32, per_s2: f64) -> State {
    let body = RigidBody::new([[100.0, 4.0, -9.0], [4.0, 150.0, 6.0], [-9.0, 6.0, 220.0]]).unwrap();
    let dt_s = SPAN_S / f64::from(steps);
    let mut state = State { q: UPRIGHT, w: W0 };
    for k in 0..steps {
        let up = [0.0, 0.5, 1.0].map(|s| {
            let (sin, cos) = (0.05 * dt_s * (f64::from(k) + s)).sin_cos();
            [cos, sin, 0.0]
        });
        let run_s = dt_s * f64::from(k);
        let forcing = Forcing {
            torque_nm: [0.3, -0.2, 0.4],
            torque_growth_nm: [0.0; 3],
            reel_momentum_nms: [0.0, 2.0 + 0.1 * run_s, 0.0],
            reel_reaction_nms: [0.0, -0.1 * dt_s, 0.0],
            gravity_gradient_per_s2: per_s2,
            up,
        };
        body.advance(&mut state, dt_s, &forcing);
    }
    state
}

fn observed_order(per_s2: f64) -> f64 {
    let truth = run(3200, per_s2);
    let miss = |steps| {
        let State { q, w } = run(steps, per_s2);
        let q_miss = (0..4).map(|i| (q[i] - truth.q[i]).powi(2)).sum::<f64>();
        let w_miss = (0..3).map(|i| (w[i] - truth.w[i]).powi(2)).sum::<f64>();
        (q_miss + w_miss).sqrt()
    };
    (miss(100) / miss(200)).log2()
}

#[test]
fn fourth_order_under_torque_and_running_reels() {
    let order = observed_order(0.0);
    assert!((3.8..4.6).contains(&order), "{order}");
}

#[test]
fn third_order_in_an_absurdly_strong_gravity_gradient() {
    let order = observed_order(4e-3);
    assert!(order > 2.8, "{order}");
}

/// Inside a step of 20 ms, against a hundred steps of 0.2 ms, at a fast tumble: 1e-12 rad.
#[test]
fn states_inside_a_step_are_as_good_as_its_end() {
    let body = RigidBody::new([[100.0, 4.0, -9.0], [4.0, 150.0, 6.0], [-9.0, 6.0, 220.0]]).unwrap();
    let start = State { q: UPRIGHT, w: W0 };
    let forcing = Forcing { torque_nm: [0.3, -0.2, 0.4], ..Forcing::default() };
    let motion = body.motion(&start, 0.02, &forcing);
    let mut fine = start;
    for k in 1..=100 {
        body.advance(&mut fine, 0.0002, &forcing);
        let inside = motion.state_after(0.0002 * f64::from(k));
        assert_close(inside.q, fine.q, 5e-13);
        assert_close(inside.w, fine.w, 1e-11);
    }
    let mut end = start;
    body.advance(&mut end, 0.02, &forcing);
    assert_eq!(motion.state_after(0.02), end);
}
