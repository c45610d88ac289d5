//! Joins in the film: thicker than film, and weaker.

use super::mechanism::Motion;

/// A join, as the loader's log has it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Splice {
    /// Film between the head of the film (the end on the take-up core) and the middle of the join, m.
    pub at_m: f64,
    /// Length of the overlap or tape, m.
    pub length_m: f64,
    /// Thickness that it adds, m. Film runs over the roller at the middle of its thickness, so half of this is
    /// added to the roller's radius.
    pub thickness_m: f64,
    /// Strength as a share of the film's own, 0…1.
    pub strength: f64,
}

impl Splice {
    /// A taped butt join: 10 mm of tape as thick as the film, half the film's strength (common practice of
    /// film laboratories puts a good tape join between 50 and 80 %; from memory).
    pub const fn taped(at_m: f64) -> Self {
        Self { at_m, length_m: 0.010, thickness_m: 76e-6, strength: 0.5 }
    }
}

/// What the joins do to the mechanism now.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Effect {
    /// Added to the roller's radius, m.
    pub bump_m: f64,
    /// Least strength of what lies in the loops, as a share of the film's own.
    pub strength: f64,
}

impl Effect {
    /// No join near.
    pub const NONE: Self = Self { bump_m: 0.0, strength: 1.0 };

    /// With `at_roller_m` of film from the head of the film to the roller.
    pub fn of(splices: &[Splice], at_roller_m: f64, motion: &Motion) -> Self {
        let mut effect = Self::NONE;
        for splice in splices {
            let ahead_m = splice.at_m - at_roller_m;
            if ahead_m.abs() < 0.5 * splice.length_m {
                effect.bump_m += 0.5 * splice.thickness_m;
            }
            if ahead_m < motion.supply_loop.film_m && -ahead_m < motion.take_up_loop.film_m {
                effect.strength = effect.strength.min(splice.strength);
            }
        }
        effect
    }
}
