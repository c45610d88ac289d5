//! `[capsule]`: what comes down, and the motor that brings it down.

use crate::record;
use crate::scenario::read::context::Context;
use crate::scenario::read::spec::{number, plain};
use crate::scenario::read::unit::{KG, KG_M2, METRE, MM, NEWTON_SECOND, NONE, RPM, SECOND, SQUARE_METRE};

record! {
    /// Return capsule. Defaults are Whimbrel's.
    Capsule checked by check_capsule {
        /// Mass at ignition of the retro motor.
        mass_kg: f64 = "mass_at_retro_kg", number(KG, 1.0, 10_000.0).or(85.0);
        /// Empty motor with its spin ring, left behind after despin.
        motor_kg: f64 = "motor_kg", number(KG, 0.0, 5_000.0).or(10.0);
        /// Mass under the main canopy, heat shield gone.
        canopy_kg: f64 = "canopy_kg", number(KG, 0.5, 10_000.0).or(60.0);
        /// Inertia about the spin axis at ignition.
        spin_inertia_kg_m2: f64 = "spin_inertia_kg_m2", number(KG_M2, 1e-3, 1e5).or(7.0);
        /// Inertia across it.
        transverse_inertia_kg_m2: f64 = "transverse_inertia_kg_m2", number(KG_M2, 1e-3, 1e5).or(5.0);
        /// Spin before thrust.
        spin_rad_s: f64 = "spin_rpm", number(RPM, 0.0, 300.0).or(60.0);
        /// Radius of the nose, for heating.
        nose_radius_m: f64 = "nose_radius_m", number(METRE, 0.01, 5.0).or(0.3);
        /// Mach numbers of the drag table, rising.
        mach: Vec<f64> = "mach", number(NONE, 0.0, 50.0).list(1, 50).or_all(&[0.0, 0.6, 0.9, 1.2, 2.0, 4.0]);
        /// Drag coefficient times area at those Mach numbers; the last holds beyond. Mass over it is the ballistic
        /// coefficient.
        drag_area_m2: Vec<f64> = "drag_area_m2", number(SQUARE_METRE, 1e-4, 100.0).list(1, 50)
            .or_all(&[0.56, 0.57, 0.60, 0.64, 0.62, 0.601]);
        /// Retro motor.
        retro: Retro = "retro", plain().or_defaults();
    }
}

record! {
    /// Solid retro motor.
    Retro checked by check_retro {
        /// Total impulse in vacuum.
        impulse_n_s: f64 = "impulse_n_s", number(NEWTON_SECOND, 1.0, 1e7).or(20_120.0);
        /// Specific impulse in vacuum.
        isp_s: f64 = "isp_s", number(SECOND, 50.0, 500.0).or(230.0);
        /// Burn time.
        burn_s: f64 = "burn_s", number(SECOND, 0.1, 300.0).or(10.0);
        /// Corners of the thrust curve as shares of the burn time, from 0 to 1, rising.
        curve_share: Vec<f64> = "curve_share", number(NONE, 0.0, 1.0).list(2, 50).or_all(&[0.0, 0.04, 0.7, 1.0]);
        /// Thrust at those corners, to any scale: the total impulse sets it.
        curve_thrust: Vec<f64> = "curve_thrust", number(NONE, 0.0, 1e6).list(2, 50).or_all(&[0.5, 1.0, 1.05, 0.8]);
        /// Distance of the line of thrust from the mass centre that the drawing allows; 0 in the nominal descent.
        offset_m: f64 = "offset_mm", number(MM, 0.0, 100.0).or(0.0);
    }
}

fn check_capsule(capsule: &Capsule, key: &str, cx: &mut Context) {
    if capsule.mach.len() != capsule.drag_area_m2.len() {
        let key = format!("{key}.drag_area_m2");
        let message = format!("{key} has {} entries where mach has {}", capsule.drag_area_m2.len(), capsule.mach.len());
        cx.refuse(&key, message, "allowed: as many as mach", "Give one drag area for each Mach number.");
    }
    rising(&capsule.mach, &format!("{key}.mach"), cx);
    let propellant_kg = capsule.retro.impulse_n_s / (capsule.retro.isp_s * 9.806_65);
    let entry_kg = capsule.mass_kg - propellant_kg - capsule.motor_kg;
    if entry_kg < capsule.canopy_kg {
        let key = format!("{key}.canopy_kg");
        let message = format!(
            "{key}: {:.1} kg hang under the canopy, but only {entry_kg:.1} kg come through entry",
            capsule.canopy_kg
        );
        let help = format!(
            "Mass at retro less {propellant_kg:.2} kg of propellant (impulse ÷ (isp × 9.80665)) and the motor must leave at least what hangs under the canopy."
        );
        cx.refuse(&key, message, format!("allowed: at most {entry_kg:.1} kg"), help);
    }
}

fn check_retro(retro: &Retro, key: &str, cx: &mut Context) {
    if retro.curve_share.len() != retro.curve_thrust.len() {
        let key = format!("{key}.curve_thrust");
        let message = format!("{key} has not as many entries as curve_share");
        cx.refuse(&key, message, "allowed: as many as curve_share", "Give one thrust for each corner of the curve.");
    }
    rising(&retro.curve_share, &format!("{key}.curve_share"), cx);
    let ends = (retro.curve_share.first(), retro.curve_share.last());
    if ends != (Some(&0.0), Some(&1.0)) {
        let key = format!("{key}.curve_share");
        cx.refuse(&key, format!("{key} does not run from 0 to 1"), "must run from 0 to 1", "Shares of the burn time.");
    }
    if retro.curve_thrust.iter().sum::<f64>() <= 0.0 {
        let key = format!("{key}.curve_thrust");
        cx.refuse(&key, format!("{key} has no thrust at all"), "allowed: at least one above 0", "Any scale will do.");
    }
}

/// Refuses a list that does not rise from entry to entry.
pub(super) fn rising(list: &[f64], key: &str, cx: &mut Context) {
    if list.windows(2).any(|pair| pair[1] <= pair[0]) {
        cx.refuse(
            key,
            format!("{key} does not rise from entry to entry"),
            "must rise",
            "Sort it, and name none twice.",
        );
    }
}
