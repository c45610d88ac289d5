//! `[[surface]]`: the outside of the vehicle, where air and sunlight meet it.

use crate::scenario::read::context::Context;
use crate::scenario::read::spec::number;
use crate::scenario::read::tagged::Tagged;
use crate::scenario::read::unit::{METRE, NONE, PERCENT, SQUARE_METRE};
use crate::{record, union};

/// A piece of the outside: what all kinds have, and the kind.
pub type Surface = Tagged<Skin, Shape>;

record! {
    /// A piece of the outside. None shades another.
    Skin checked by check_light {
        /// Middle, from the dry mass centre.
        centre_m: [f64; 3] = "centre_m", number(METRE, -20.0, 20.0);
        /// Share of light that it mirrors.
        mirrored: f64 = "mirrored_percent", number(PERCENT, 0.0, 100.0).or(20.0);
        /// Share of light that it scatters evenly; the rest is absorbed.
        scattered: f64 = "scattered_percent", number(PERCENT, 0.0, 100.0).or(40.0);
    }
}

union! {
    /// Shape of a surface.
    Shape by "kind" {
        /// A flat plate; only its front meets air and light.
        Plate(Plate) = "plate",
        /// A closed cylinder.
        Cylinder(Cylinder) = "cylinder",
    }
}

record! {
    /// Flat plate.
    Plate checked by check_normal {
        /// Where its front faces; any length.
        normal: [f64; 3] = "normal", number(NONE, -1e3, 1e3);
        /// Area.
        area_m2: f64 = "area_m2", number(SQUARE_METRE, 1e-4, 500.0);
    }
}

record! {
    /// Closed cylinder.
    Cylinder checked by check_axis {
        /// Direction of its axis; any length.
        axis: [f64; 3] = "axis", number(NONE, -1e3, 1e3);
        /// Diameter.
        diameter_m: f64 = "diameter_m", number(METRE, 0.01, 20.0);
        /// Length.
        length_m: f64 = "length_m", number(METRE, 0.01, 50.0);
    }
}

fn check_light(skin: &Skin, key: &str, cx: &mut Context) {
    let both = skin.mirrored + skin.scattered;
    if both > 1.0 {
        let key = format!("{key}.scattered_percent");
        let message = format!("{key}: mirrored and scattered light together make {:.0} %", both * 1e2);
        cx.refuse(
            &key,
            message,
            "allowed: at most 100 % together",
            "A surface cannot send back more light than it gets.",
        );
    }
}

fn check_normal(plate: &Plate, key: &str, cx: &mut Context) {
    points_somewhere(&plate.normal, &format!("{key}.normal"), "Where the front faces; any length but zero.", cx);
}

fn check_axis(cylinder: &Cylinder, key: &str, cx: &mut Context) {
    points_somewhere(&cylinder.axis, &format!("{key}.axis"), "The direction of the axis; any length but zero.", cx);
}

fn points_somewhere(direction: &[f64; 3], key: &str, help: &str, cx: &mut Context) {
    if direction.iter().all(|part| part.abs() < 1e-6) {
        cx.refuse(key, format!("{key} points nowhere"), "allowed: at least one part other than 0", help);
    }
}
