//! Quaternion work that needs no elementary function where a series will do.
//!
//! Scalar first, Hamilton. A quaternion `q` of frame B with respect to frame A maps components:
//! `v_A = q v_B q*`. A rotation vector is (axis × angle) in B, rad.

use crate::math;
use nalgebra::{Quaternion, Vector3};

/// Three numbers along body x, y, z.
pub type Vec3 = Vector3<f32>;
/// A quaternion kept near unit length by [`renormalise`].
pub type Quat = Quaternion<f32>;

/// No rotation.
pub fn identity() -> Quat {
    Quat::new(1.0, 0.0, 0.0, 0.0)
}

/// Quaternion of a rotation vector of any size.
pub fn from_rotation_vector(v: &Vec3) -> Quat {
    let angle2 = v.dot(v);
    if angle2 < 1e-4 {
        // Second order is enough below 0.01 rad: the next term is 1e-9.
        let half = v * 0.5;
        return renormalise(&Quat::from_parts(1.0 - angle2 * 0.125, half));
    }
    let angle = math::sqrt(angle2);
    let (s, c) = math::sin_cos(angle * 0.5);
    Quat::from_parts(c, v * (s / angle))
}

/// Rotation by `angle_rad` about z.
pub fn about_z(angle_rad: f32) -> Quat {
    let (s, c) = math::sin_cos(angle_rad * 0.5);
    Quat::new(c, 0.0, 0.0, s)
}

/// `q` turned on by a small rotation vector given in its body frame.
pub fn turned(q: &Quat, v: &Vec3) -> Quat {
    renormalise(&(q * from_rotation_vector(v)))
}

/// First-order return to unit length: exact to 1e-8 while the length is within 1e-4 of one, which every
/// caller ensures by renormalising each step.
pub fn renormalise(q: &Quat) -> Quat {
    q * (1.5 - 0.5 * q.norm_squared())
}

/// Components in A of a vector given in B.
pub fn to_a(q: &Quat, v: &Vec3) -> Vec3 {
    let u = q.imag();
    let t = u.cross(v) * 2.0;
    v + t * q.w + u.cross(&t)
}

/// Components in B of a vector given in A.
pub fn to_b(q: &Quat, v: &Vec3) -> Vec3 {
    to_a(&q.conjugate(), v)
}

/// Small-angle error (roll, pitch, yaw) of `q` against `reference`, rad, by the short way round.
///
/// Twice the vector part of `conj(reference)·q`: equal to the angle to 0.1 % below 9°, and never wrong in
/// sign up to half a turn, which is all that a switching law asks of it.
pub fn error(reference: &Quat, q: &Quat) -> Vec3 {
    let e = reference.conjugate() * q;
    let sign = if e.w < 0.0 { -2.0 } else { 2.0 };
    e.imag() * sign
}

/// Yaw angle of `q` (the turn about z of a roll–pitch–yaw split, yaw first), rad.
pub fn yaw(q: &Quat) -> f32 {
    math::atan2(2.0 * (q.w * q.k + q.i * q.j), 1.0 - 2.0 * (q.j * q.j + q.k * q.k))
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    #[test]
    fn a_quarter_turn_about_z_carries_body_x_to_a_y() {
        let q = from_rotation_vector(&Vec3::new(0.0, 0.0, core::f32::consts::FRAC_PI_2));
        let x = to_a(&q, &Vec3::new(1.0, 0.0, 0.0));
        assert!((x - Vec3::new(0.0, 1.0, 0.0)).norm() < 1e-6, "{x}");
        assert!((yaw(&q) - core::f32::consts::FRAC_PI_2).abs() < 1e-6);
    }

    #[test]
    fn error_takes_the_short_way_and_keeps_its_sign() {
        let q = from_rotation_vector(&Vec3::new(0.01, -0.02, 0.03));
        let e = error(&identity(), &-q);
        assert!((e - Vec3::new(0.01, -0.02, 0.03)).norm() < 1e-5, "{e}");
    }

    #[test]
    fn turning_a_million_times_keeps_unit_length() {
        let mut q = identity();
        for _ in 0..1_000_000 {
            q = turned(&q, &Vec3::new(2e-5, -3e-4, 1e-5));
        }
        assert!((q.norm() - 1.0).abs() < 1e-6);
    }
}
