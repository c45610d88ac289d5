//! The angular-momentum ledger: change of the vehicle's momentum against every impulse that acted on it.

use nalgebra::Vector3;

/// Impulses in inertial axes since the start, against the momentum at the start.
///
/// The entries are summed independently of the integrator: each step's torque, turned into inertial axes
/// at the middle of the step, times its length. The rule's own error is (ω·dt)²/24 of an impulse: 5e-9 at
/// 1 °/s and 20 ms.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MomentumLedger {
    start_nms: Vector3<f64>,
    jets_nms: Vector3<f64>,
    disturbance_nms: Vector3<f64>,
    through_nms: f64,
    /// ∫|torque| dt of the disturbances about each body axis, N·m·s: what the jets must undo.
    pub disturbance_body_nms: Vector3<f64>,
    /// Angular impulse of the jets about each body axis, magnitudes summed, N·m·s.
    pub jets_body_nms: Vector3<f64>,
}

impl MomentumLedger {
    /// Opens with the momentum at the start, inertial axes, N·m·s.
    pub fn open(start_nms: Vector3<f64>) -> Self {
        Self { start_nms, ..Self::default() }
    }

    /// Enters an impulse of the jets: in inertial axes and in body axes, N·m·s.
    pub fn jets(&mut self, inertial_nms: &Vector3<f64>, body_nms: &Vector3<f64>) {
        self.jets_nms += inertial_nms;
        self.through_nms += inertial_nms.norm();
        self.jets_body_nms += body_nms.abs();
    }

    /// Enters an impulse of the disturbances.
    pub fn disturbance(&mut self, inertial_nms: &Vector3<f64>, body_nms: &Vector3<f64>) {
        self.disturbance_nms += inertial_nms;
        self.through_nms += inertial_nms.norm();
        self.disturbance_body_nms += body_nms.abs();
    }

    /// Everything that went through, magnitudes summed, with the momentum at the start, N·m·s.
    pub fn throughput_nms(&self) -> f64 {
        self.through_nms + self.start_nms.norm()
    }

    /// What is left over when the momentum now is `now_nms`, N·m·s.
    pub fn residual_nms(&self, now_nms: &Vector3<f64>) -> f64 {
        (now_nms - self.start_nms - self.jets_nms - self.disturbance_nms).norm()
    }
}
