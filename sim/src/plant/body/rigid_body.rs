//! The body and its step.

use super::algebra::{add, apply, cross, dot, each, inertial_to_body, scale};
use super::inertia::{Inertia, InertiaError};
use super::{Forcing, Motion, State};

/// A rigid body that turns about its centre of mass.
///
/// ```
/// use stillframe::plant::body::{Forcing, RigidBody, State};
///
/// let body = RigidBody::new([[1500.0, 0.0, 5.0], [0.0, 1450.0, 0.0], [5.0, 0.0, 320.0]])?;
/// let mut state = State { q: [1.0, 0.0, 0.0, 0.0], w: [0.0, 0.01, 0.0] };
/// let before = body.angular_momentum_inertial(&state, &[0.0; 3]);
/// for _ in 0..50 {
///     body.advance(&mut state, 0.02, &Forcing::default());
/// }
/// let after = body.angular_momentum_inertial(&state, &[0.0; 3]);
/// assert!(before.iter().zip(after).all(|(b, a)| (b - a).abs() < 1e-12));
/// # Ok::<(), stillframe::plant::body::InertiaError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RigidBody {
    inertia: Inertia,
}

impl RigidBody {
    /// A body with the given inertia tensor about its centre of mass, body axes, kg m².
    ///
    /// # Errors
    /// If the tensor is not symmetric and positive definite, or breaks the triangle rule.
    pub fn new(inertia_kg_m2: [[f64; 3]; 3]) -> Result<Self, InertiaError> {
        Ok(Self { inertia: Inertia::new(inertia_kg_m2)? })
    }

    /// The inertia tensor, body axes, kg m².
    pub fn inertia_kg_m2(&self) -> &[[f64; 3]; 3] {
        self.inertia.tensor()
    }

    /// Changes the inertia by mass that moves inside the body, and the rates with it, so that the
    /// momentum I·ω stays. Mass that leaves (gas, a capsule) takes its own momentum along and leaves
    /// the rates as they are: make a new body for that.
    ///
    /// # Errors
    /// As for [`RigidBody::new`]; body and state are then unchanged.
    pub fn set_inertia(&mut self, state: &mut State, inertia_kg_m2: [[f64; 3]; 3]) -> Result<(), InertiaError> {
        let inertia = Inertia::new(inertia_kg_m2)?;
        state.w = inertia.solve(&self.inertia.times(&state.w));
        self.inertia = inertia;
        Ok(())
    }

    /// Whole angular momentum I·ω + h in the inertial frame, N m s, with h the momentum stored in
    /// reels and rollers, body axes.
    pub fn angular_momentum_inertial(&self, state: &State, reel_nms: &[f64; 3]) -> [f64; 3] {
        state.rotate_to_inertial(&add(&self.inertia.times(&state.w), reel_nms))
    }

    /// Energy of rotation ½ ω·I·ω, J, without the reels' own.
    pub fn kinetic_energy_j(&self, state: &State) -> f64 {
        0.5 * dot(&state.w, &self.inertia.times(&state.w))
    }

    /// Gravity-gradient torque in body axes, N m, for 3μ/r³ (1/s²) and the unit vector from the
    /// Earth's centre in body axes.
    #[inline(always)]
    pub fn gravity_gradient_torque_nm(&self, per_s2: f64, up_body: &[f64; 3]) -> [f64; 3] {
        cross(&scale(per_s2, up_body), &self.inertia.times(up_body))
    }

    /// Advances the state by `dt_s`.
    #[inline]
    pub fn advance(&self, state: &mut State, dt_s: f64, forcing: &Forcing) {
        *state = self.motion(state, dt_s, forcing).at(1.0);
    }

    /// The motion over the next `dt_s` (positive), for states inside the step.
    #[inline(always)]
    pub fn motion(&self, state: &State, dt_s: f64, forcing: &Forcing) -> Motion {
        let h = dt_s;
        let (gradient, growth) = self.gravity_gradient(state, h, forcing);
        let impulse = scale(h, &add(&forcing.torque_nm, &gradient));
        let reaction = &forcing.reel_reaction_nms;

        // Derivatives of momentum and rates with time counted in steps. `turn` is h·ω. The
        // gradient's slope joins at the middle: its effect on where the middle is lies beyond the
        // order of the step.
        let turn = scale(h, &state.w);
        let l = add(&self.inertia.times(&state.w), &forcing.reel_momentum_nms);
        let l1 = add(&impulse, &cross(&l, &turn));
        let w1 = self.inertia.solve(&add(&l1, reaction));
        let gradient_slope = scale(1.5 * h, &growth(&w1));
        let slope = each(|i| gradient_slope[i] + h * forcing.torque_growth_nm[i]);
        let l2 = add(&cross(&l1, &turn), &cross(&scale(h, &l), &w1));
        let w2 = self.inertia.solve(&l2);

        // The same at the middle.
        let (half, eighth) = (0.5 * h, 0.125 * h);
        let turn = each(|i| turn[i] + half * w1[i] + eighth * w2[i]);
        let l = each(|i| l[i] + 0.5 * l1[i] + 0.125 * l2[i]);
        let l1 = add(&each(|i| impulse[i] + 0.5 * slope[i]), &cross(&l, &turn));
        let w1m = self.inertia.solve(&add(&l1, reaction));
        let l2 = add(&cross(&l1, &turn), &cross(&scale(h, &l), &w1m));
        let w2m = self.inertia.solve(&l2);

        let w2_slope = self.inertia.solve(&slope);
        Motion { start: *state, dt_s, first: w1, second: add(&w2, &w2_slope), growth: each(|i| w2m[i] - w2[i]) }
    }

    /// Gravity-gradient torque at the start, and how much it has grown at two thirds of the step as
    /// a function of the first derivative of the rates, in rad/s a step.
    #[inline(always)]
    fn gravity_gradient(
        &self,
        state: &State,
        dt_s: f64,
        forcing: &Forcing,
    ) -> ([f64; 3], impl Fn(&[f64; 3]) -> [f64; 3]) {
        let k = forcing.gravity_gradient_per_s2;
        let to_body = inertial_to_body(&state.q);
        let up0 = apply(&to_body, &forcing.up[0]);
        let start = self.gravity_gradient_torque_nm(k, &up0);

        // The parabola through the three positions, at two thirds; then turned into the axes the
        // body has by that time, through the second power of the turn.
        let [a, b, c] = &forcing.up;
        let at_two_thirds = each(|i| (8.0 / 9.0) * b[i] + ((2.0 / 9.0) * c[i] - (1.0 / 9.0) * a[i]));
        let up = apply(&to_body, &at_two_thirds);
        let turn = scale(2.0 / 3.0 * dt_s, &state.w);
        let once = cross(&up, &turn);
        let twice = cross(&once, &turn);
        let up = each(|i| up[i] + (once[i] + 0.5 * twice[i]));
        let lever = scale(2.0 / 9.0 * dt_s, &up);
        let grown = move |w1: &[f64; 3]| {
            let up = add(&up, &cross(&lever, w1));
            let later = self.gravity_gradient_torque_nm(k, &up);
            each(|i| later[i] - start[i])
        };
        (start, grown)
    }
}
