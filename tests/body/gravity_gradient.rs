//! Gravity-gradient torque and the librations it makes.

use super::*;
use nalgebra::{Quaternion, UnitQuaternion, Vector3};

/// Orbital rate of a circular orbit at 200 km, rad/s.
const RATE_RAD_S: f64 = 0.001_183_353_546_538;

/// 3/2 n²|Iz−Ix| sin 2θ: 1.318703990486e-4 N m at 2°, 1.890439581742e-3 N m at 45°, for Ix = 900 and
/// Iz = 1800 kg m² at 200 km (Wertz, ed., *Spacecraft Attitude Determination and Control*, ch. 17).
#[test]
fn torque_has_the_textbook_size_and_no_part_about_the_vertical() {
    let body = diagonal([900.0, 1300.0, 1800.0]);
    for (angle_deg, expected_nm) in [(2.0_f64, 1.318_703_990_486e-4), (45.0, 1.890_439_581_742e-3)] {
        let (sin, cos) = angle_deg.to_radians().sin_cos();
        let up = [sin, 0.0, -cos];
        let torque = body.gravity_gradient_torque_nm(3.0 * RATE_RAD_S * RATE_RAD_S, &up);
        assert!((norm(&torque) / expected_nm - 1.0).abs() < 1e-11, "{torque:?}");
        assert_eq!([torque[0], torque[2]], [0.0; 2]);
    }
}

/// Pitch at n√(3(Ix−Iz)/Iy) = 1.410651056014e-3 rad/s for (roll, pitch, yaw) = (1800, 1900, 900) kg m²;
/// roll–yaw at the roots of s⁴+(1+3k₁+k₁k₃)n²s²+4k₁k₃n⁴, 3.622623581755e-4 and 1.920783038149e-3 rad/s
/// (Wie 1998, ch. 6; Hughes 1986; eigenvalues of the full equations agree).
#[test]
fn libration_frequencies_are_those_of_the_linear_theory() {
    let moments = [1800.0, 1900.0, 900.0];
    assert_frequency(moments, 1, 1.410_651_056_014e-3);
    let (slow, fast) = (3.622_623_581_755e-4, 1.920_783_038_149e-3);
    assert_roll_yaw(moments, slow, fast);
}

/// √3 n in pitch and 2 n in roll for a slender body (same sources); here a rod with 1e-6 of its
/// moment about the axis, which shifts both by less than 1e-6 of themselves.
#[test]
fn slender_body_librates_at_root_three_and_two() {
    let rod = [1000.0, 1000.0, 1e-3];
    assert_frequency(rod, 1, 1.732_050_807_569 * RATE_RAD_S);
    assert_frequency(rod, 0, 2.0 * RATE_RAD_S);
}

/// Attitude errors from the local orbital frame (x along track, z down), sampled every 10 s.
fn librate(moments: [f64; 3], axis: usize, samples: usize) -> Vec<[f64; 3]> {
    const DT_S: f64 = 1.0;
    const AMPLITUDE_RAD: f64 = 1e-5;
    let body = diagonal(moments);
    let mut error = Vector3::zeros();
    error[axis] = AMPLITUDE_RAD;
    let tilt = UnitQuaternion::from_scaled_axis(error);
    let q = (local_frame(0.0) * tilt).into_inner();
    let w = tilt.inverse() * Vector3::new(0.0, -RATE_RAD_S, 0.0);
    let mut state = State { q: [q.w, q.i, q.j, q.k], w: w.into() };
    let mut errors = Vec::with_capacity(samples);
    for k in 0..samples * 10 {
        let t_s = k as f64 * DT_S;
        if k % 10 == 0 {
            let [w, x, y, z] = state.q;
            let now = UnitQuaternion::new_unchecked(Quaternion::new(w, x, y, z));
            errors.push((local_frame(t_s).inverse() * now).scaled_axis().into());
        }
        let up = [0.0, 0.5, 1.0].map(|s| {
            let (sin, cos) = (RATE_RAD_S * (t_s + s * DT_S)).sin_cos();
            [cos, sin, 0.0]
        });
        let gravity_gradient_per_s2 = 3.0 * RATE_RAD_S * RATE_RAD_S;
        let forcing = Forcing { gravity_gradient_per_s2, up, ..Forcing::default() };
        body.advance(&mut state, DT_S, &forcing);
    }
    errors
}

fn local_frame(t_s: f64) -> UnitQuaternion<f64> {
    let (sin, cos) = (RATE_RAD_S * t_s).sin_cos();
    let axes = nalgebra::Matrix3::from_columns(&[
        Vector3::new(-sin, cos, 0.0),
        Vector3::new(0.0, 0.0, -1.0),
        Vector3::new(-cos, -sin, 0.0),
    ]);
    UnitQuaternion::from_rotation_matrix(&nalgebra::Rotation3::from_matrix_unchecked(axes))
}

/// A sum of undamped sines of frequencies ωᵢ obeys a three-term (or five-term) recurrence whose
/// coefficients are 2cos(ωᵢΔ): what is left over, relative to the signal's own second difference, is
/// the error of the frequency. Nonlinearity enters at 1e-10, the square of the amplitude.
#[track_caller]
fn assert_frequency(moments: [f64; 3], axis: usize, expected_rad_s: f64) {
    let x: Vec<f64> = librate(moments, axis, 1201).iter().map(|e| e[axis]).collect();
    let found = fitted_frequency(&x);
    assert!((found / expected_rad_s - 1.0).abs() < 1e-6, "{found} for {expected_rad_s}");
}

/// Least squares for c in x(k−m) + x(k+m) = c·x(k), c = 2cos(ω·m·Δ), 200 s apart.
fn fitted_frequency(x: &[f64]) -> f64 {
    const APART: usize = 20;
    let (mut xy, mut xx) = (0.0, 0.0);
    for triple in x.windows(2 * APART + 1) {
        xy += triple[APART] * (triple[0] + triple[2 * APART]);
        xx += triple[APART] * triple[APART];
    }
    (0.5 * xy / xx).acos() / (APART as f64 * 10.0)
}

/// Roll from a roll offset holds both frequencies: takes one out exactly by its recurrence, then fits
/// the other.
#[track_caller]
fn assert_roll_yaw(moments: [f64; 3], slow: f64, fast: f64) {
    let x: Vec<f64> = librate(moments, 0, 3001).iter().map(|e| e[0]).collect();
    for (out, expected) in [(slow, fast), (fast, slow)] {
        let c = 2.0 * (out * 200.0).cos();
        let rest: Vec<f64> = x.windows(41).map(|v| v[0] + v[40] - c * v[20]).collect();
        let found = fitted_frequency(&rest);
        assert!((found / expected - 1.0).abs() < 1e-6, "{found} for {expected}");
    }
}
