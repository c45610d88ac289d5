//! The film's kick on the body: told to the rate estimate before the gyros can show it, and checked against what
//! they then show.
//!
//! Reels that gain momentum h about +y take it from the body: its rate changes by −h/I. The rate estimate is
//! told so at once, as it is told of the jets' impulses; without it the estimate would trail the kick by its
//! smoothing time, and the law would place a state that is no longer there.
//!
//! A reel that turns the other way than it is believed to kicks the other way too, and then telling makes things
//! worse: the estimate goes wrong by twice the kick, and the state placed for it doubles the kick instead of
//! meeting it. That shows: what the gyros take back is then twice what was told. A start-up that shows it
//! switches the telling off until the ground has looked.

use super::settings::SteeringSettings;
use crate::{
    io::ATTITUDE_STEP_S,
    math::{self, DEG},
};

/// Share of the rate told that the gyros must have taken back for the sense to be wrong. Told rightly they take
/// back nothing; told with the wrong sign, twice of it, less what the smoothing still holds.
const REVERSED_SHARE: f32 = 1.0;

/// The film's kick about body +y.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Kick {
    momentum_nms: f32,
    moving: bool,
    since_s: f32,
    told_rad_s: f32,
    taken_back_rad_s: f32,
    judged: bool,
    /// The kick came with the other sign than the one told: nothing is told any more.
    pub reversed: bool,
}

impl Kick {
    /// Change of the pitch rate in the step just passed, rad/s, by the film's momentum `momentum_nms` (N·m·s
    /// about +y). `moving`: film is off its brakes.
    pub fn told(&mut self, momentum_nms: f32, moving: bool, inertia_kg_m2: f32, steering: &SteeringSettings) -> f32 {
        let gained_nms = momentum_nms - self.momentum_nms;
        self.momentum_nms = momentum_nms;
        if moving && !self.moving {
            *self = Self { momentum_nms, moving, reversed: self.reversed, ..Self::default() };
        }
        self.moving = moving;
        if steering.film_feed_forward == 0 || self.reversed || !gained_nms.is_finite() {
            return 0.0;
        }
        let told_rad_s = -gained_nms / inertia_kg_m2;
        if moving && !self.judged {
            self.told_rad_s += told_rad_s;
        }
        told_rad_s
    }

    /// What the gyro then added to the estimate, rad/s. Judges a start-up once its time is over; a kick too
    /// small to be told from noise is not judged.
    pub fn answered(&mut self, correction_rad_s: f32, steering: &SteeringSettings) {
        if !self.moving || self.judged {
            return;
        }
        self.since_s += ATTITUDE_STEP_S;
        self.taken_back_rad_s += correction_rad_s;
        if self.since_s < steering.kick_watch_s {
            return;
        }
        self.judged = true;
        let told = math::abs(self.told_rad_s);
        let against = if self.told_rad_s > 0.0 { -self.taken_back_rad_s } else { self.taken_back_rad_s };
        if told > steering.kick_least_deg_s * DEG && against > REVERSED_SHARE * told {
            self.reversed = true;
        }
    }
}

#[cfg(test)]
mod tests {
    extern crate std;
    use super::*;

    /// One start-up of 0.03 N·m·s in half a second on 310 kg·m², the gyros taking back `share` of the kick with
    /// a second's smoothing; gives whether it was taken for reversed, and the rate told.
    fn start_up(share: f32, steering: &SteeringSettings) -> (bool, f32) {
        let mut kick = Kick::default();
        let (mut told, mut owed) = (0.0, 0.0);
        for step in 0..200 {
            let momentum_nms = 0.03 * (step as f32 / 25.0).min(1.0);
            let now = kick.told(momentum_nms, true, 310.0, steering);
            told += now;
            owed -= share * now;
            kick.answered(0.02 * owed, steering);
            owed *= 0.98;
        }
        (kick.reversed, told)
    }

    #[test]
    fn the_body_loses_what_the_reels_gain() {
        let (reversed, told) = start_up(0.0, &SteeringSettings::default());
        assert!(!reversed);
        assert!((told + 0.03 / 310.0).abs() < 1e-9, "{told}");
    }

    #[test]
    fn a_wrong_sign_is_seen_and_an_inertia_wrong_by_half_is_not_taken_for_one() {
        let steering = SteeringSettings::default();
        assert!(start_up(2.0, &steering).0);
        assert!(!start_up(0.5, &steering).0);
        assert!(!start_up(-0.5, &steering).0);
    }

    #[test]
    fn what_is_switched_off_is_not_told() {
        let off = SteeringSettings { film_feed_forward: 0, ..SteeringSettings::default() };
        assert_eq!(start_up(2.0, &off), (false, 0.0));
    }
}
