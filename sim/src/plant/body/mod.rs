//! How the vehicle turns: one rigid body with momentum stored in its reels.
//!
//! In body axes, with L = I·ω + h the whole momentum and h the part stored in reels and rollers,
//!
//! ```text
//! L' = M + (3μ/r³)·(r̂ × I·r̂) − ω × L        q' = ½ q·(0, ω)
//! ```
//!
//! which is Euler's equation with the reels' reaction −h' on the body; the middle term is the
//! gravity gradient (Hughes, *Spacecraft Attitude Dynamics*, 1986, ch. 8; checked in `tests/body`
//! against its libration frequencies). M, the jets' and the disturbances' torque, is constant over a
//! step or grows evenly, the torque of the reel drives is constant: a step ends at each valve edge.
//!
//! The quaternion q is scalar first and carries body components to inertial ones, v_i = q v_b q*.
//!
//! # The step
//!
//! A fourth-order step in which nothing is evaluated twice:
//!
//! - *Rates*: the second derivative of ω at the start and at the middle gives ω as a cubic over the
//!   step. This is the two-stage, fourth-order member of the two-derivative Runge–Kutta family
//!   (Chan & Tsai, *Numerical Algorithms* 53, 2010).
//! - *Attitude*: the rotation vector of the step is the integral of that cubic and the first two
//!   terms of the non-commuting part, from Bortz's equation (*IEEE Trans. AES* 7, 1971). It becomes
//!   a quaternion by series that end below rounding for turns under 10 mrad a step (0.5 rad/s at
//!   20 ms); longer turns keep the order of the step.
//! - *Gravity gradient*: evaluated at the start and at two thirds of the step (Radau's nodes), so
//!   its impulse is right through the second power of time. What is left out is of order
//!   3n²·|ω|³·dt⁴/24: 2e-21 rad/s in a step of 20 ms at 4 mrad/s.
//!
//! Both papers are cited from memory; `tests/body` measures the orders. Increments are summed before
//! they are added to q and ω, so that each is rounded once a step: over 180,000 steps rounding, not
//! the step, is what shows.
//!
//! The cubic is also the answer between the ends of the step, for exposures: [`Motion`].

mod algebra;
mod inertia;
mod motion;
mod rigid_body;

pub use inertia::InertiaError;
pub use motion::Motion;
pub use rigid_body::RigidBody;

/// Attitude and rates of the body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct State {
    /// Unit quaternion, scalar first, body to inertial.
    pub q: [f64; 4],
    /// Body rates in body axes, rad/s.
    pub w: [f64; 3],
}

impl State {
    /// Inertial components of a vector given in body axes.
    #[inline]
    pub fn rotate_to_inertial(&self, body: &[f64; 3]) -> [f64; 3] {
        algebra::transposed_apply(&algebra::inertial_to_body(&self.q), body)
    }

    /// Body components of a vector given in inertial axes.
    #[inline]
    pub fn rotate_to_body(&self, inertial: &[f64; 3]) -> [f64; 3] {
        algebra::apply(&algebra::inertial_to_body(&self.q), inertial)
    }
}

/// What acts on the body during one step.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Forcing {
    /// Torque of jets and disturbances in body axes at the start of the step, N m.
    pub torque_nm: [f64; 3],
    /// What that torque gains by the end of the step, evenly, N m.
    pub torque_growth_nm: [f64; 3],
    /// Momentum stored in reels and rollers at the start of the step, body axes, N m s.
    pub reel_momentum_nms: [f64; 3],
    /// Impulse of the reels on the body over the step, N m s: minus the change of their momentum,
    /// taken to grow evenly.
    pub reel_reaction_nms: [f64; 3],
    /// 3μ/r³ at the middle of the step, 1/s². Zero switches the gravity gradient off.
    pub gravity_gradient_per_s2: f64,
    /// Inertial unit vector from the Earth's centre to the body at the start, the middle and the end
    /// of the step.
    pub up: [[f64; 3]; 3],
}
