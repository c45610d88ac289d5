//! Image motion left during an exposure, term by term, along and across the track.

use super::geometry::Height;
use super::terms::{Term, Terms};
use super::wants::Smear;

/// Along the track and across it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Axes {
    /// Along the track, body +x.
    pub along: f64,
    /// Across the track, body +y.
    pub across: f64,
}

impl Axes {
    /// Each axis by `f`.
    #[must_use]
    pub fn map(self, f: impl Fn(f64) -> f64) -> Self {
        Self { along: f(self.along), across: f(self.across) }
    }

    /// The larger one.
    pub fn larger(self) -> f64 {
        self.along.max(self.across)
    }
}

/// Number of terms that move the image.
pub const MOTIONS: usize = 7;

/// Travel of the image by each term during an exposure, m on the film; terms that are switched off read zero.
///
/// Rates times focal length times time; errors of speed times the image's travel; relief as `H/h` of that travel, the
/// first order that budgets use (exactly it is `H/(h − H)` and a little more); yaw by its sine. Common practice.
pub fn motions(
    smear: &Smear,
    height: &Height,
    focal_length_m: f64,
    exposure_s: f64,
    terms: Terms,
) -> [(Term, Axes); MOTIONS] {
    let travel_m = height.image_speed_m_s(focal_length_m) * exposure_s;
    let arm = focal_length_m * exposure_s;
    let along = |along: f64| Axes { along, across: 0.0 };
    let across = |across: f64| Axes { along: 0.0, across };
    let shaken = focal_length_m * smear.vibration_rad;
    let all = [
        (Term::VOverH, along(travel_m * smear.v_over_h)),
        (Term::FilmSpeed, along(travel_m * smear.film_speed)),
        (Term::Relief, along(travel_m * smear.relief_m / height.altitude_m)),
        (Term::PitchRate, along(arm * smear.pitch_rate_rad_s)),
        (Term::RollRate, across(arm * smear.roll_rate_rad_s)),
        (Term::Yaw, across(travel_m * smear.yaw_rad.sin())),
        (Term::Vibration, Axes { along: shaken, across: shaken }),
    ];
    all.map(|(term, axes)| (term, if terms.has(term) { axes } else { Axes::default() }))
}

/// Root of the sum of squares of all terms, m.
pub fn total(motions: &[(Term, Axes)]) -> Axes {
    let sum = motions.iter().fold(Axes::default(), |sum, (_, axes)| Axes {
        along: sum.along + axes.along * axes.along,
        across: sum.across + axes.across * axes.across,
    });
    sum.map(f64::sqrt)
}
