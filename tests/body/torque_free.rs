//! Torque-free motion in closed form.

use super::*;

/// Asymmetric body: ω = (a₁ cn, a₂ sn, a₃ dn) of pt (Landau & Lifshitz, *Mechanics*, § 37), with the
/// elliptic functions from scipy 1.17.1's `ellipj`. Given to thirteen digits.
#[test]
fn asymmetric_body_follows_jacobis_functions() {
    let body = diagonal([100.0, 150.0, 220.0]);
    let mut state = State { q: UPRIGHT, w: [0.02, 0.0, 0.05] };
    let rows = [
        (25.0, [0.011_965_108_600_81, 0.017_132_631_393_95, 0.049_159_044_245_32]),
        (60.0, [-0.011_914_302_356_79, 0.017_173_048_630_29, 0.049_155_037_661_30]),
        (100.0, [-0.016_980_964_560_72, -0.011_295_857_272_85, 0.049_636_186_649_80]),
        (200.0, [0.008_952_488_883_916, 0.019_119_263_069_58, 0.048_950_501_958_14]),
    ];
    let mut done = 0;
    for (t_s, w) in rows {
        let steps = (t_s * 50.0) as u32;
        coast(&body, &mut state, 0.02, steps - done);
        done = steps;
        assert_close(state.w, w, 2e-14);
    }
}

/// The same body after one period 4K/p = 170.1721578851 s: the rates are back, the attitude is not.
#[test]
fn asymmetric_body_is_periodic_in_its_rates() {
    let body = diagonal([100.0, 150.0, 220.0]);
    let mut state = State { q: UPRIGHT, w: [0.02, 0.0, 0.05] };
    coast(&body, &mut state, 170.172_157_885_1 / 8509.0, 8509);
    // Rates change by 6e-4 rad/s² at the steepest, and the period is given to 5e-11 s.
    assert_close(state.w, [0.02, 0.0, 0.05], 1e-13);
    assert!(norm(&state.q[1..]) > 0.1);
}

/// Axisymmetric body, I = (1500, 1500, 900) kg m²: rates turn at (Is−It)/It·ωs = −0.02 rad/s in the
/// body, the axis turns about the momentum at H/It = 0.03162277660168 rad/s on a cone of
/// 18.43494882292° (Euler's equations, closed form).
#[test]
fn axisymmetric_body_precesses_and_nutates() {
    let (body, start) = (diagonal([1500.0, 1500.0, 900.0]), [0.01, 0.0, 0.05]);
    let mut state = State { q: UPRIGHT, w: start };
    let momentum = body.angular_momentum_inertial(&state, &[0.0; 3]);
    let axis_0 = state.rotate_to_inertial(&[0.0, 0.0, 1.0]);
    let t_s = 40.0_f64;
    coast(&body, &mut state, 0.02, 2000);

    let (sin, cos) = (-0.02 * t_s).sin_cos();
    assert_close(state.w, [0.01 * cos, 0.01 * sin, 0.05], 1e-15);

    let axis = state.rotate_to_inertial(&[0.0, 0.0, 1.0]);
    let h = norm(&momentum);
    let cone = |a: &[f64; 3]| (dot(a, &momentum) / h).acos().to_degrees();
    assert!((cone(&axis) - 18.434_948_822_92).abs() < 1e-10);
    // Angle between the two positions of the axis about the momentum, from their transverse parts.
    let transverse = |a: &[f64; 3]| {
        let along = dot(a, &momentum) / (h * h);
        std::array::from_fn(|i| a[i] - along * momentum[i])
    };
    let (a, b): ([f64; 3], [f64; 3]) = (transverse(&axis_0), transverse(&axis));
    let turned = (dot(&a, &b) / dot(&a, &a)).acos();
    assert!((turned - 0.031_622_776_601_68 * t_s).abs() < 1e-11, "{turned}");
}

fn dot(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}
