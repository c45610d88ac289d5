//! The mechanism as long as it is linear: a whole base tick in one exact step.
//!
//! While every shaft goes on turning its way or stays held, both loops are taut, the arms are off their stops and
//! no motor is at its current limit, the equations of [`super::mechanism`] are linear with constant
//! coefficients. Over a step h their solution is then exact, whatever the stiffness:
//!
//! ```text
//! z(h) = Φ z + Ψ f,   Δθ = ∫ω = Ψ z + Ξ f,   Φ = exp(Ah),   Ψ = ∫Φ,   Ξ = ∫Ψ
//! ```
//!
//! with z the three rates, both arms' speeds and places, and the stretch of both loops; f what stays constant
//! over the step (drives, friction, springs). What departs a little from the matrices' own numbers enters as
//! such a constant too: the reels' growth since the matrices were made, the roller's eccentricity, slip, a
//! splice under the roller. Φ, Ψ and Ξ are made by scaling and squaring and last for a second or more of
//! running film; four sets are kept, one for each combination of held and driven shafts.

use nalgebra::{SMatrix, SVector};

use super::mechanism::{Constants, Held};
use super::parameters::FilmParameters;

/// ω supply, roller, take-up; arm speeds; arm places; stretches.
pub(super) const STATES: usize = 9;
pub(super) type State = SVector<f64, STATES>;
type Square = SMatrix<f64, STATES, STATES>;
type Rates = SMatrix<f64, 3, STATES>;

/// Share by which a reel's radius may have changed before the matrices are made anew.
const STALE: f64 = 3e-4;
/// Sets of matrices kept.
const KEPT: usize = 4;
/// Most of ‖A‖·h before squaring; with the series to its eighth term rounding is what is left.
const SMALL: f64 = 0.05;

/// Which shafts are held still by friction, and which have a voltage on their motor: supply, roller, take-up.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
pub(super) struct Shafts {
    pub held: [bool; 3],
    pub driven: [bool; 3],
}

/// Φ, Ψ, Ξ for one step length, one pair of reels and one combination of shafts.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Propagator {
    shafts: Shafts,
    step_s: f64,
    pub supply_radius_m: f64,
    pub take_up_radius_m: f64,
    pub supply_inertia: f64,
    pub take_up_inertia: f64,
    phi: Square,
    psi: Square,
    xi: Rates,
    /// Tension of either loop as a function of the state.
    pub tension: [State; 2],
}

/// Propagators in use. A mechanism that sub-steps only never fills it.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Kept {
    sets: Vec<Propagator>,
    next: usize,
}

impl Kept {
    /// The propagator for this step, made if there is none or the reels have outgrown it.
    pub fn get(&mut self, film: &FilmParameters, constants: &Constants, held: &Held, shafts: Shafts) -> &Propagator {
        let step_s = held.step_s * f64::from(held.steps);
        let fits = |set: &Propagator| set.shafts == shafts && set.step_s == step_s;
        let index = match self.sets.iter().position(fits) {
            Some(index) if self.sets[index].fresh(held) => return &self.sets[index],
            Some(index) => index,
            None if self.sets.len() < KEPT => {
                self.sets.push(Propagator::new(film, constants, held, shafts, step_s));
                return &self.sets[self.sets.len() - 1];
            }
            None => {
                self.next = (self.next + 1) % KEPT;
                self.next
            }
        };
        self.sets[index] = Propagator::new(film, constants, held, shafts, step_s);
        &self.sets[index]
    }
}

impl Propagator {
    fn fresh(&self, held: &Held) -> bool {
        (held.supply_radius_m - self.supply_radius_m).abs() < STALE * self.supply_radius_m
            && (held.take_up_radius_m - self.take_up_radius_m).abs() < STALE * self.take_up_radius_m
    }

    fn new(film: &FilmParameters, constants: &Constants, held: &Held, shafts: Shafts, step_s: f64) -> Self {
        let (a, tension) = coefficients(film, constants, held, shafts);
        let norm = a.abs().row_sum().amax() * step_s;
        let doublings = (norm / SMALL).log2().ceil().clamp(0.0, 40.0) as i32;
        let [phi, psi, xi] = series(&a, step_s * 0.5_f64.powi(doublings), doublings);
        Self {
            shafts,
            step_s,
            supply_radius_m: held.supply_radius_m,
            take_up_radius_m: held.take_up_radius_m,
            supply_inertia: held.supply_inertia,
            take_up_inertia: held.take_up_inertia,
            phi,
            psi,
            xi: xi.fixed_rows::<3>(0).into_owned(),
            tension,
        }
    }

    /// State after the step, and the angles turned in it, with `f` constant.
    #[inline]
    pub fn advance(&self, z: &State, f: &State) -> (State, [f64; 3]) {
        let after = self.phi * z + self.psi * f;
        let turned = self.psi.fixed_rows::<3>(0) * z + self.xi * f;
        (after, [turned[0], turned[1], turned[2]])
    }
}

/// Matrix of the linear mechanism, and both tensions as rows.
fn coefficients(film: &FilmParameters, constants: &Constants, held: &Held, shafts: Shafts) -> (Square, [State; 2]) {
    let (rs, r, rt) = (held.supply_radius_m, film.roller.radius_m, held.take_up_radius_m);
    let mut supply_growth = State::zeros();
    (supply_growth[0], supply_growth[1], supply_growth[3]) = (-rs, r, 2.0);
    let mut take_up_growth = State::zeros();
    (take_up_growth[1], take_up_growth[2], take_up_growth[4]) = (-r, rt, 2.0);
    let (one, two) = (&constants.supply, &constants.take_up);
    let mut tension = [supply_growth * one.damping_n_s_m, take_up_growth * two.damping_n_s_m];
    tension[0][7] += one.stiffness_n_m;
    tension[1][8] += two.stiffness_n_m;

    let mut rows = [State::zeros(); STATES];
    let pulls = [tension[0] * rs, (tension[1] - tension[0]) * r, tension[1] * -rt];
    let shaft = [
        (&film.supply.motor, film.supply.viscous_nm_s, held.supply_inertia),
        (&film.roller.motor, film.roller.viscous_nm_s, film.roller.inertia_kg_m2),
        (&film.take_up.motor, film.take_up.viscous_nm_s, held.take_up_inertia),
    ];
    for (index, ((motor, viscous_nm_s, inertia), pull)) in shaft.into_iter().zip(pulls).enumerate() {
        if shafts.held[index] {
            continue;
        }
        let back_nm_s = if shafts.driven[index] { motor.constant_nm_a.powi(2) / motor.resistance_ohm } else { 0.0 };
        rows[index] = pull / inertia;
        rows[index][index] -= (viscous_nm_s + back_nm_s) / inertia;
    }
    for (side, arm) in [&film.supply_arm, &film.take_up_arm].into_iter().enumerate() {
        rows[3 + side] = tension[side] * (-2.0 / arm.mass_kg);
        rows[3 + side][3 + side] -= arm.damping_n_s_m / arm.mass_kg;
        rows[3 + side][5 + side] -= arm.stiffness_n_m / arm.mass_kg;
        rows[5 + side][3 + side] = 1.0;
    }
    (rows[7], rows[8]) = (supply_growth, take_up_growth);
    (Square::from_fn(|row, column| rows[row][column]), tension)
}

/// exp(At), its integral and the integral of that, by Taylor's series over `t_s` and `doublings` doublings.
fn series(a: &Square, t_s: f64, doublings: i32) -> [Square; 3] {
    // Ξ = Σ Aᵏ t^(k+2)/(k+2)!, Ψ = t + A Ξ, Φ = 1 + A Ψ.
    let mut term = Square::identity() * (0.5 * t_s * t_s);
    let mut xi = term;
    for k in 3..10 {
        term = a * term * (t_s / f64::from(k));
        xi += term;
    }
    let mut psi = Square::identity() * t_s + a * xi;
    let mut phi = Square::identity() + a * psi;
    let mut t_s = t_s;
    for _ in 0..doublings {
        xi = xi + psi * t_s + phi * xi;
        psi += phi * psi;
        phi = phi * phi;
        t_s *= 2.0;
    }
    [phi, psi, xi]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A swinging spring and a decaying shaft have closed forms.
    #[test]
    fn the_series_is_the_exponential() {
        let mut a = Square::zeros();
        (a[(0, 0)], a[(3, 5)], a[(5, 3)]) = (-2.0, -25.0e4, 1.0);
        let t = 0.01_f64;
        let [phi, psi, xi] = series(&a, t / 256.0, 8);
        assert!((phi[(0, 0)] - (-0.02_f64).exp()).abs() < 1e-13);
        assert!((psi[(0, 0)] - (1.0 - (-0.02_f64).exp()) / 2.0).abs() < 1e-15);
        let twice = (t - (1.0 - (-0.02_f64).exp()) / 2.0) / 2.0;
        assert!((xi[(0, 0)] - twice).abs() < 1e-15);
        assert!((phi[(5, 5)] - 5.0_f64.cos()).abs() < 1e-11);
        assert!((psi[(3, 5)] - (5.0_f64.cos() - 1.0)).abs() < 1e-9);
    }
}
