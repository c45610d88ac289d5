//! The workload's vehicle integrated the plain way: nalgebra's types and classical Runge–Kutta.

use crate::w1::{INERTIA_KG_M2, ORBIT_RATE_RAD_S, Plant, STEP_S};
use nalgebra::{Matrix3, Quaternion, Vector3};

/// Fourth-order Runge–Kutta on attitude and rates.
pub struct Plain {
    inertia: Matrix3<f64>,
    inverse: Matrix3<f64>,
    q: Quaternion<f64>,
    w: Vector3<f64>,
}

type Derivative = (Quaternion<f64>, Vector3<f64>);

impl Plain {
    fn derivative(&self, q: Quaternion<f64>, w: Vector3<f64>, up: Vector3<f64>, torque_nm: Vector3<f64>) -> Derivative {
        let up = (q.conjugate() * Quaternion::from_imag(up) * q).imag();
        let gradient = 3.0 * ORBIT_RATE_RAD_S.powi(2) * up.cross(&(self.inertia * up));
        let torque_nm = gradient + torque_nm - w.cross(&(self.inertia * w));
        (q * Quaternion::from_imag(w) * 0.5, self.inverse * torque_nm)
    }
}

impl Plant for Plain {
    fn start(q: [f64; 4], w: [f64; 3]) -> Self {
        let inertia = Matrix3::from_diagonal(&Vector3::from(INERTIA_KG_M2));
        Self {
            inertia,
            inverse: inertia.try_inverse().expect("positive moments"),
            q: Quaternion::new(q[0], q[1], q[2], q[3]),
            w: w.into(),
        }
    }

    fn state(&self) -> ([f64; 4], [f64; 3]) {
        let q = &self.q;
        ([q.w, q.i, q.j, q.k], self.w.into())
    }

    fn step(&mut self, torque_nm: [f64; 3], up: &[[f64; 3]; 3]) {
        let torque_nm = Vector3::from(torque_nm);
        let [start, middle, end] = up.map(Vector3::from);
        let (h, q, w) = (STEP_S, self.q, self.w);
        let (q1, w1) = self.derivative(q, w, start, torque_nm);
        let (q2, w2) = self.derivative(q + q1 * (h / 2.0), w + w1 * (h / 2.0), middle, torque_nm);
        let (q3, w3) = self.derivative(q + q2 * (h / 2.0), w + w2 * (h / 2.0), middle, torque_nm);
        let (q4, w4) = self.derivative(q + q3 * h, w + w3 * h, end, torque_nm);
        self.q = (q + (q1 + (q2 + q3) * 2.0 + q4) * (h / 6.0)).normalize();
        self.w = w + (w1 + (w2 + w3) * 2.0 + w4) * (h / 6.0);
    }
}
