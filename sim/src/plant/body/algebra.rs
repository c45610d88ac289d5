//! Three-vectors, symmetric matrices and quaternions as plain arrays.
//!
//! Written out in scalars: the step is short enough that how it flattens decides its speed.

/// Three components in one frame.
pub(super) type Vector = [f64; 3];
/// Rows of a matrix.
pub(super) type Matrix = [[f64; 3]; 3];

/// A vector from its components' formula.
#[inline(always)]
pub(super) fn each(component: impl Fn(usize) -> f64) -> Vector {
    [component(0), component(1), component(2)]
}

#[inline(always)]
pub(super) fn cross(a: &Vector, b: &Vector) -> Vector {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

#[inline(always)]
pub(super) fn dot(a: &Vector, b: &Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

#[inline(always)]
pub(super) fn add(a: &Vector, b: &Vector) -> Vector {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

#[inline(always)]
pub(super) fn scale(k: f64, a: &Vector) -> Vector {
    [k * a[0], k * a[1], k * a[2]]
}

#[inline(always)]
pub(super) fn apply(m: &Matrix, v: &Vector) -> Vector {
    [dot(&m[0], v), dot(&m[1], v), dot(&m[2], v)]
}

/// The transpose of `m` times `v`.
#[inline(always)]
pub(super) fn transposed_apply(m: &Matrix, v: &Vector) -> Vector {
    each(|i| m[0][i] * v[0] + m[1][i] * v[1] + m[2][i] * v[2])
}

/// The matrix that carries inertial components to body ones.
#[inline(always)]
pub(super) fn inertial_to_body(q: &[f64; 4]) -> Matrix {
    let [w, x, y, z] = *q;
    let (x2, y2, z2) = (x + x, y + y, z + z);
    let (xx, yy, zz) = (x * x2, y * y2, z * z2);
    let (xy, xz, yz) = (x * y2, x * z2, y * z2);
    let (wx, wy, wz) = (w * x2, w * y2, w * z2);
    [[1.0 - (yy + zz), xy + wz, xz - wy], [xy - wz, 1.0 - (xx + zz), yz + wx], [xz + wy, yz - wx, 1.0 - (xx + yy)]]
}

/// Quaternion times the pure quaternion (0, v).
#[inline(always)]
pub(super) fn times_vector(q: &[f64; 4], v: &Vector) -> [f64; 4] {
    [
        -q[1] * v[0] - q[2] * v[1] - q[3] * v[2],
        q[0] * v[0] + q[2] * v[2] - q[3] * v[1],
        q[0] * v[1] + q[3] * v[0] - q[1] * v[2],
        q[0] * v[2] + q[1] * v[1] - q[2] * v[0],
    ]
}
