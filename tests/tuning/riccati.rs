//! Steady filters against a general-purpose library.
//!
//! Figures: scipy 1.17.1, `scipy.linalg.solve_discrete_are(A.T, H.T, Q, R)` on CPython 3 with numpy; gain
//! K = P·Hᵀ/(H·P·Hᵀ + R). Transition matrices of continuous systems were taken with `scipy.linalg.expm`.

use nalgebra::{Matrix2, Matrix3, SMatrix, SVector, Vector2, Vector3};
use stillframe::design::attitude::riccati::{RiccatiError, steady_filter};

/// Both solve the same equation in doubles; the library's own residual is of the order of 1e-12.
const CLOSE: f64 = 1e-9;

#[track_caller]
fn agrees<const N: usize>(
    a: &SMatrix<f64, N, N>,
    h: &SVector<f64, N>,
    q: &SMatrix<f64, N, N>,
    r: f64,
    covariance: &SMatrix<f64, N, N>,
    gain: &SVector<f64, N>,
) {
    let found = steady_filter(a, h, q, r).expect("a steady state");
    let scale = covariance.diagonal().map(f64::sqrt);
    for (index, wanted) in covariance.iter().enumerate() {
        let (row, column) = (index % N, index / N);
        let off = (found.before[(row, column)] - wanted) / (scale[row] * scale[column]);
        assert!(off.abs() < CLOSE, "P[{row}][{column}]: {} for {wanted}", found.before[(row, column)]);
    }
    for (index, wanted) in gain.iter().enumerate() {
        assert!((found.gain[index] / wanted - 1.0).abs() < CLOSE, "K[{index}]: {} for {wanted}", found.gain[index]);
    }
    // A control of the check itself: five per cent more noise is seen.
    let other = steady_filter(a, h, q, 1.05 * r).expect("a steady state");
    assert!((other.gain[0] / gain[0] - 1.0).abs() > 1e3 * CLOSE);
}

#[test]
fn rate_and_disturbance_from_a_gyro() {
    agrees(
        &Matrix2::new(1.0, 0.02, 0.0, 1.0),
        &Vector2::new(1.0, 0.0),
        &Matrix2::from_diagonal(&Vector2::new(4e-14, 1e-18)),
        1.7e-9,
        &Matrix2::new(8.435345054176926e-12, 4.1333223260099784e-14, 4.1333223260099784e-14, 1.0205073610666868e-14),
        &Vector2::new(0.004937468121692033, 2.4193612816403688e-05),
    );
}

#[test]
fn tilt_and_drift_from_a_horizon_sensor() {
    agrees(
        &Matrix2::new(1.0, -0.1, 0.0, 1.0),
        &Vector2::new(1.0, 0.0),
        &Matrix2::from_diagonal(&Vector2::new(3.4e-12, 3.3e-18)),
        7.6e-7,
        &Matrix2::new(1.682548977396005e-09, -1.5854186865374552e-12, -1.5854186865374552e-12, 3.502503698690142e-14),
        &Vector2::new(0.0022089897945737715, -2.081469095840483e-06),
    );
}

#[test]
fn roll_and_yaw_coupled_by_the_orbital_rate() {
    agrees(
        &Matrix2::new(0.999999993038, 0.00011799999972616133, -0.00011799999972616134, 0.999999993038),
        &Vector2::new(1.0, 0.0),
        &Matrix2::from_diagonal(&Vector2::new(3.4e-12, 3.4e-12)),
        7.6e-7,
        &Matrix2::new(1.6920524889601015e-09, 1.521993538628574e-09, 1.521993538628574e-09, 3.0344370847746065e-08),
        &Vector2::new(0.0022214390755831417, 0.001998174371985631),
    );
}

#[test]
fn roll_yaw_and_a_drifting_yaw_gyro() {
    agrees(
        &Matrix3::new(
            0.999999993038,
            0.00011799999972616133,
            -5.8999999931540335e-06,
            -0.00011799999972616134,
            0.999999993038,
            -0.09999999976793333,
            0.0,
            0.0,
            1.0,
        ),
        &Vector3::new(1.0, 0.0, 0.0),
        &Matrix3::from_diagonal(&Vector3::new(3.4e-12, 3.4e-12, 3.3e-16)),
        7.6e-7,
        &Matrix3::new(
            1.9788807633829753e-09,
            7.379114508849755e-09,
            -1.5857270592912948e-11,
            7.379114508849755e-09,
            1.5099595702789585e-07,
            -3.490749295196993e-10,
            -1.5857270592912948e-11,
            -3.490749295196993e-10,
            1.554658469991997e-12,
        ),
        &Vector3::new(0.002597028360419186, 0.00968414570946775, -2.0810643172979355e-05),
    );
}

#[test]
fn a_system_with_a_growing_state_and_a_mixed_measurement() {
    agrees(
        &Matrix2::new(1.1, 0.3, 0.0, 0.9),
        &Vector2::new(1.0, 0.5),
        &Matrix2::new(2.0, 0.5, 0.5, 1.0),
        3.0,
        &Matrix2::new(4.07877410176493, 0.7325860452522694, 0.7325860452522694, 2.8921368030144463),
        &Vector2::new(0.5208415434367781, 0.255279327153257),
    );
}

#[test]
fn a_state_that_grows_unseen_is_refused() {
    let unseen = steady_filter(
        &Matrix2::from_diagonal(&Vector2::new(0.9, 1.2)),
        &Vector2::new(1.0, 0.0),
        &Matrix2::identity(),
        1.0,
    );
    assert!(matches!(unseen, Err(RiccatiError::Diverges | RiccatiError::Singular)), "{unseen:?}");
    let walking = steady_filter(&Matrix3::identity(), &Vector3::x(), &Matrix3::identity(), 1.0);
    assert!(walking.is_err(), "{walking:?}");
}
