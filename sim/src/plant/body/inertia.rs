//! The inertia tensor: what may be one, and its inverse.

use super::algebra::{Matrix, Vector, apply};
use nalgebra::Matrix3;

/// How far a tensor may miss symmetry or the triangle rule, relative to its largest moment: the
/// rounding of one that was added up from parts.
const ROUNDING: f64 = 1e-12;

/// Why [`RigidBody`](super::RigidBody) refused an inertia tensor.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum InertiaError {
    /// An element is infinite or not a number.
    #[error("inertia tensor has an element that is not finite")]
    NotFinite,
    /// The products of inertia differ across the diagonal.
    #[error("inertia tensor is not symmetric")]
    NotSymmetric,
    /// A principal moment is zero or negative.
    #[error("smallest principal moment of inertia is {smallest_kg_m2} kg m², and must be positive")]
    NotPositive {
        /// The smallest principal moment, kg m².
        smallest_kg_m2: f64,
    },
    /// One principal moment exceeds the sum of the two others, which no distribution of mass does.
    #[error("principal moment of inertia {largest_kg_m2} kg m² exceeds the sum of the others, {others_kg_m2} kg m²")]
    Triangle {
        /// The largest principal moment, kg m².
        largest_kg_m2: f64,
        /// The sum of the two others, kg m².
        others_kg_m2: f64,
    },
}

/// A checked inertia tensor about the centre of mass and its inverse, body axes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Inertia {
    tensor: Matrix,
    inverse: Matrix,
}

impl Inertia {
    pub(super) fn new(tensor: Matrix) -> Result<Self, InertiaError> {
        let matrix = Matrix3::from(tensor);
        if !matrix.iter().all(|x| x.is_finite()) {
            return Err(InertiaError::NotFinite);
        }
        let rounding = ROUNDING * matrix.amax();
        if (matrix - matrix.transpose()).amax() > rounding {
            return Err(InertiaError::NotSymmetric);
        }
        check_moments(matrix.symmetric_eigenvalues().into(), rounding)?;
        let inverse = matrix.try_inverse().ok_or(InertiaError::NotPositive { smallest_kg_m2: 0.0 })?;
        Ok(Self { tensor, inverse: inverse.transpose().into() })
    }

    pub(super) fn tensor(&self) -> &Matrix {
        &self.tensor
    }

    /// Momentum of rates: I·ω.
    #[inline(always)]
    pub(super) fn times(&self, w: &Vector) -> Vector {
        apply(&self.tensor, w)
    }

    /// Rates of a momentum: I⁻¹·L.
    #[inline(always)]
    pub(super) fn solve(&self, momentum: &Vector) -> Vector {
        apply(&self.inverse, momentum)
    }
}

fn check_moments(mut moments: [f64; 3], rounding: f64) -> Result<(), InertiaError> {
    moments.sort_by(f64::total_cmp);
    let [smallest, middle, largest] = moments;
    if smallest <= rounding {
        return Err(InertiaError::NotPositive { smallest_kg_m2: smallest });
    }
    if largest > smallest + middle + rounding {
        return Err(InertiaError::Triangle { largest_kg_m2: largest, others_kg_m2: smallest + middle });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turned(moments: [f64; 3]) -> Matrix {
        let turn = nalgebra::Rotation3::from_euler_angles(0.3, -0.7, 1.1).into_inner();
        let tensor = turn * Matrix3::from_diagonal(&moments.into()) * turn.transpose();
        (0.5 * (tensor + tensor.transpose())).into()
    }

    #[test]
    fn the_inverse_undoes_the_tensor() {
        let inertia = Inertia::new(turned([1512.7, 1437.3, 311.9])).unwrap();
        let w = [0.3, -0.2, 0.7];
        let back = inertia.solve(&inertia.times(&w));
        assert!(w.iter().zip(back).all(|(a, b)| (a - b).abs() < 1e-14));
    }

    #[test]
    fn a_flat_plate_is_just_allowed() {
        assert!(Inertia::new(turned([100.0, 200.0, 300.0])).is_ok());
    }

    #[test]
    fn refuses_what_no_mass_can_be() {
        let moments = |m| Inertia::new(turned(m)).unwrap_err();
        assert!(matches!(moments([1.0, 2.0, 3.1]), InertiaError::Triangle { .. }));
        assert!(matches!(moments([0.0, 2.0, 2.0]), InertiaError::NotPositive { .. }));
        assert!(matches!(moments([-1.0, 2.0, 2.0]), InertiaError::NotPositive { .. }));
        let mut tensor = turned([2.0, 2.0, 2.0]);
        tensor[0][1] += 1e-9;
        assert_eq!(Inertia::new(tensor), Err(InertiaError::NotSymmetric));
        tensor[0][1] = f64::NAN;
        assert_eq!(Inertia::new(tensor), Err(InertiaError::NotFinite));
    }
}
