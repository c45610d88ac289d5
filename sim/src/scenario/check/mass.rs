//! Inertia that a real body can have.

use nalgebra::Matrix3;

use crate::scenario::parts::vehicle::Inertia;
use crate::scenario::read::context::Context;

/// The tensor.
pub fn tensor(inertia: &Inertia) -> Matrix3<f64> {
    let Inertia { xx_kg_m2: xx, yy_kg_m2: yy, zz_kg_m2: zz, xy_kg_m2: xy, xz_kg_m2: xz, yz_kg_m2: yz } = *inertia;
    Matrix3::new(xx, xy, xz, xy, yy, yz, xz, yz, zz)
}

/// Principal moments must be positive, and none may exceed the sum of the others (triangle rule: with
/// ∫x² dm = (B + C − A)/2 ≥ 0 for each axis).
pub fn check_inertia(inertia: &Inertia, key: &str, cx: &mut Context) {
    let mut principal = tensor(inertia).symmetric_eigenvalues().as_slice().to_vec();
    principal.sort_by(f64::total_cmp);
    let [small, middle, large] = principal[..] else {
        return;
    };
    // A flat plate meets the rule with equality; rounding must not refuse it.
    if small > 0.0 && small + middle >= large * (1.0 - 1e-9) {
        return;
    }
    let message =
        format!("{key} has principal moments {small:.3}, {middle:.3}, {large:.3} kg·m², which no body can have");
    let help = "Each principal moment must be positive and none larger than the other two together (triangle rule). \
                Check units (kg·m²) and the signs of xy, xz, yz: they stand here as in the tensor, xy = −∫x·y dm.";
    cx.refuse(key, message, "must be a possible inertia", help);
}
