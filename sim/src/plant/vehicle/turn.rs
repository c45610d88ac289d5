//! Small conversions between the vector types in use.

use nalgebra::{Matrix3, Vector3};

pub(super) fn array(v: &Vector3<f64>) -> [f64; 3] {
    [v.x, v.y, v.z]
}

pub(super) fn rows(m: &Matrix3<f64>) -> [[f64; 3]; 3] {
    [0, 1, 2].map(|i| [0, 1, 2].map(|j| m[(i, j)]))
}

/// Rotation matrix of a quaternion, used both ways./// Rotation matrix of a quaternion, used both ways.
pub(super) struct Turn(Matrix3<f64>);

impl Turn {
    pub(super) fn of(q: &[f64; 4]) -> Self {
        let [w, x, y, z] = *q;
        Self(Matrix3::new(
            1.0 - 2.0 * (y * y + z * z),
            2.0 * (x * y - w * z),
            2.0 * (x * z + w * y),
            2.0 * (x * y + w * z),
            1.0 - 2.0 * (x * x + z * z),
            2.0 * (y * z - w * x),
            2.0 * (x * z - w * y),
            2.0 * (y * z + w * x),
            1.0 - 2.0 * (x * x + y * y),
        ))
    }

    pub(super) fn to_inertial(&self, body: &Vector3<f64>) -> Vector3<f64> {
        self.0 * body
    }

    pub(super) fn to_body(&self, inertial: &Vector3<f64>) -> Vector3<f64> {
        self.0.tr_mul(inertial)
    }
}
