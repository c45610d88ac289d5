//! Steady-state gains of a discrete filter: the small discrete algebraic Riccati equation.
//!
//! Solved by doubling, which squares the remaining error in every round: B. D. O. Anderson, "Second-order
//! convergent algorithms for the steady-state Riccati equation", Int. J. Control 28 (1978); structure of the
//! rounds after E. K.-W. Chu, H.-Y. Fan and W.-W. Lin, Linear Algebra Appl. 396 (2005). The states here number
//! two or three, so nothing cleverer is worth its length.

use nalgebra::{SMatrix, SVector};
use std::cmp::Ordering;
use thiserror::Error;

/// Most doubling rounds: 2^60 steps of the plain recursion.
const ROUNDS: usize = 60;
/// Covariance beyond which a state is taken to grow for ever, in the states' own units.
const LARGEST: f64 = 1e100;

/// A filter in its steady state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SteadyFilter<const N: usize> {
    /// Covariance of the state before a measurement is taken in, squared units of the states.
    pub before: SMatrix<f64, N, N>,
    /// Covariance after a measurement.
    pub after: SMatrix<f64, N, N>,
    /// Gain on the innovation, units of each state over the measurement's.
    pub gain: SVector<f64, N>,
}

/// Why there is no steady state.
#[derive(Clone, Copy, Debug, Eq, Error, PartialEq)]
pub enum RiccatiError {
    /// A matrix that must be inverted cannot be.
    #[error("the Riccati equation has a singular step: is every state seen, and is there measurement noise?")]
    Singular,
    /// The covariance keeps growing.
    #[error("the filter has no steady state: some state grows and is never seen")]
    Diverges,
}

/// Steady filter of x⁺ = A·x + w, y = hᵀ·x + v with covariances Q of w and r of v.
///
/// # Errors
/// [`RiccatiError`] where no steady state exists.
pub fn steady_filter<const N: usize>(
    a: &SMatrix<f64, N, N>,
    h: &SVector<f64, N>,
    q: &SMatrix<f64, N, N>,
    r: f64,
) -> Result<SteadyFilter<N>, RiccatiError> {
    let before = covariance(a, h, q, r)?;
    let seen = (h.transpose() * before * h).x + r;
    let gain = before * h / seen;
    let kept = SMatrix::identity() - gain * h.transpose();
    let after = kept * before;
    Ok(SteadyFilter { before, after: (after + after.transpose()) * 0.5, gain })
}

fn covariance<const N: usize>(
    a: &SMatrix<f64, N, N>,
    h: &SVector<f64, N>,
    q: &SMatrix<f64, N, N>,
    r: f64,
) -> Result<SMatrix<f64, N, N>, RiccatiError> {
    // The filter's equation is the regulator's for the transposed system.
    let mut step = a.transpose();
    let mut input = h * h.transpose() / r;
    let mut found = *q;
    for _ in 0..ROUNDS {
        let inner = (SMatrix::identity() + input * found).try_inverse().ok_or(RiccatiError::Singular)?;
        let grown = found + step.transpose() * found * inner * step;
        input += step * inner * input * step.transpose();
        step = step * inner * step;
        let change = (grown - found).amax();
        found = (grown + grown.transpose()) * 0.5;
        // Not a number is as bad as too large.
        if found.amax().partial_cmp(&LARGEST) != Some(Ordering::Less) {
            return Err(RiccatiError::Diverges);
        }
        if change <= 1e-15 * found.amax() {
            return Ok(found);
        }
    }
    Err(RiccatiError::Diverges)
}
