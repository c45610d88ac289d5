//! Modes of the attitude loop and the only ways between them.
//!
//! ```text
//!   Drift ──separated──► Damp ──Earth seen──► Level ──heading read──► Coarse ──settled──► Fine
//!                        ▲  │                 ▲  │                      ▲                 │
//!                        │  └─slow─► Search ──┘  │                      └──commanded──────┘
//!                        └────────── Earth lost, tilted away ───────────┘
//! ```
//! Coarse and Fine lead to Turned when a turn is commanded and can be paid for, and Turned back to Coarse.
//! Fine falls back to Coarse while something it needs is doubted (a gyro, yaw, the horizon for long).
//! Every mode falls back to Drift (valves shut) when jets may not fire.

use super::{observer::Heading, settings::SteeringSettings};
use crate::{io::TICKS_PER_S, math::DEG};

/// What the attitude loop is doing.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Mode {
    /// Valves shut; the vehicle turns as it will.
    #[default]
    Drift,
    /// Taking off rates by gyro alone.
    Damp,
    /// Turning slowly to find the Earth.
    Search,
    /// Roll and pitch on the horizon; heading being learned.
    Level,
    /// All axes held in the wide deadbands; yaw being turned to its heading.
    Coarse,
    /// All axes held for photography.
    Fine,
    /// Turned away as commanded, held there on the gyros, or on the way there or back.
    Turned,
}

impl Mode {
    /// Code in telemetry and records, 0…5 in the order of the capture, 6 turned.
    pub fn code(self) -> u8 {
        self as u8
    }
}

/// What the programme asks of the attitude loop.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Hold {
    /// Fine hold as soon as it can be had.
    #[default]
    Fine,
    /// Wide deadbands, to save gas.
    Coarse,
    /// Valves shut.
    Drift,
    /// Turned to the attitude in the settings; coarse hold while that cannot be done.
    Turned,
}

/// What a mode change is decided on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// Hold asked for.
    pub wanted: Hold,
    /// Jets may fire.
    pub can_fire: bool,
    /// Some rate is above the damping threshold.
    pub turning: bool,
    /// Some rate is near the end of its gyro's range.
    pub fast: bool,
    /// The horizon sensor has seen the Earth since it was last forgotten: the way down is known.
    pub seen: bool,
    /// Time since the sensor last saw it, s.
    pub unseen_s: f32,
    /// Horizon and gyros contradict each other while levelling.
    pub contradiction: bool,
    /// How far the attitude estimate is.
    pub heading: Heading,
    /// The gyrocompass has had its settling time, and nothing is doubted that fine hold needs.
    pub fit: bool,
    /// Time in the present mode, s.
    pub in_mode_s: f32,
    /// Patience without a horizon, s.
    pub lost_s: f32,
    /// Length of the whole search, s.
    pub search_s: f32,
    /// Roll and pitch error together, rad.
    pub tilt_rad: f32,
    /// All three errors are small enough for fine hold.
    pub near: bool,
    /// The turn that is wanted may begin.
    pub may_turn: bool,
    /// The way back from a turn is done.
    pub turned_back: bool,
}

/// Tilt beyond which hold has plainly failed, rad (30°).
const FALLEN_RAD: f32 = 0.52;
/// A turn of the search and a little more, at the rate about roll, degrees.
const TURN_DEG: f32 = 400.0;
/// Tilt below which a horizon sensor that works must see the Earth, rad (10°).
const IN_SIGHT_RAD: f32 = 0.17;

/// Mode after `now`.
pub fn next(now: Mode, view: &View) -> Mode {
    if !view.can_fire || view.wanted == Hold::Drift {
        return Mode::Drift;
    }
    let blind = view.heading == Heading::Blind;
    match now {
        Mode::Drift => Mode::Damp,
        // Straight from tumbling to turning toward the Earth: stopping between the two would cost gas.
        Mode::Damp if view.seen && !view.fast => Mode::Level,
        Mode::Damp if view.turning => Mode::Damp,
        Mode::Damp if view.in_mode_s > view.lost_s => Mode::Search,
        Mode::Damp => Mode::Damp,
        Mode::Search if view.seen => Mode::Level,
        Mode::Search if view.in_mode_s > view.search_s => Mode::Damp,
        Mode::Search => Mode::Search,
        Mode::Level if view.contradiction || (blind && view.in_mode_s > view.lost_s) => Mode::Damp,
        // Where the Earth ought to be there is none: it was not the Earth, or the gyros have carried it off.
        Mode::Level if view.unseen_s > view.lost_s && view.tilt_rad < IN_SIGHT_RAD => Mode::Damp,
        Mode::Level if matches!(view.heading, Heading::Known(_)) => Mode::Coarse,
        Mode::Level => Mode::Level,
        Mode::Coarse | Mode::Fine | Mode::Turned if blind || view.tilt_rad > FALLEN_RAD => Mode::Damp,
        Mode::Coarse | Mode::Fine if view.may_turn && view.fit && view.near => Mode::Turned,
        Mode::Turned if view.turned_back => Mode::Coarse,
        Mode::Turned => Mode::Turned,
        Mode::Coarse if view.wanted == Hold::Fine && view.fit && view.near => Mode::Fine,
        Mode::Coarse => Mode::Coarse,
        Mode::Fine if view.wanted != Hold::Fine || !view.fit => Mode::Coarse,
        Mode::Fine => Mode::Fine,
    }
}

/// Rate wanted of an axis during the search: about roll for `search_wait_s`; then a turn about pitch, which has more
/// inertia, at half the rate; a quarter about roll; and the turn about pitch again.
///
/// The sensor's band of ±30° about the circle that body z describes leaves out what lies within 60° of the axis of the
/// turn. But the Earth goes round the vehicle once a revolution and crosses the plane across any axis twice: a turning
/// vehicle that waits for half a revolution has it in its band for 60° of that, a quarter of an hour, and for longer
/// where the axis leans out of the orbit. The turns about pitch are for sensors that have missed even that.
pub fn search_rate(axis: usize, since: u32, now: u32, steering: &SteeringSettings) -> f32 {
    let rate = steering.search_rate_deg_s * DEG;
    let beyond_s = now.wrapping_sub(since) as f32 / TICKS_PER_S as f32 - steering.search_wait_s;
    let turned_deg = beyond_s * steering.search_rate_deg_s;
    let about_roll = turned_deg < 0.0 || (2.0 * TURN_DEG..2.0 * TURN_DEG + 90.0).contains(&turned_deg);
    match axis {
        0 if about_roll => rate,
        1 if !about_roll => 0.5 * rate,
        _ => 0.0,
    }
}

/// Length of the whole search, s.
pub fn search_s(steering: &SteeringSettings) -> f32 {
    steering.search_wait_s + (4.0 * TURN_DEG + 90.0) / steering.search_rate_deg_s
}

#[cfg(test)]
mod tests {
    use super::*;

    const CALM: View = View {
        wanted: Hold::Fine,
        can_fire: true,
        turning: false,
        fast: false,
        seen: true,
        unseen_s: 0.0,
        contradiction: false,
        heading: Heading::Known(0),
        fit: true,
        in_mode_s: 1.0,
        lost_s: 20.0,
        search_s: 1000.0,
        tilt_rad: 0.0,
        near: true,
        may_turn: false,
        turned_back: false,
    };

    #[test]
    fn the_way_in_is_damp_level_coarse_fine() {
        assert_eq!(next(Mode::Drift, &CALM), Mode::Damp);
        assert_eq!(next(Mode::Damp, &CALM), Mode::Level);
        assert_eq!(next(Mode::Level, &CALM), Mode::Coarse);
        assert_eq!(next(Mode::Coarse, &CALM), Mode::Fine);
        assert_eq!(next(Mode::Fine, &CALM), Mode::Fine);
    }

    #[test]
    fn a_turn_begins_from_hold_once_it_may_and_ends_in_coarse() {
        let wanted = View { wanted: Hold::Turned, ..CALM };
        assert_eq!(next(Mode::Fine, &wanted), Mode::Coarse);
        assert_eq!(next(Mode::Coarse, &wanted), Mode::Coarse);
        for mode in [Mode::Coarse, Mode::Fine] {
            assert_eq!(next(mode, &View { may_turn: true, ..wanted }), Mode::Turned);
            assert_ne!(next(mode, &View { may_turn: true, fit: false, ..wanted }), Mode::Turned);
        }
        assert_eq!(next(Mode::Level, &View { may_turn: true, ..wanted }), Mode::Coarse);
        assert_eq!(next(Mode::Turned, &wanted), Mode::Turned);
        assert_eq!(next(Mode::Turned, &CALM), Mode::Turned);
        assert_eq!(next(Mode::Turned, &View { turned_back: true, ..CALM }), Mode::Coarse);
        assert_eq!(next(Mode::Turned, &View { tilt_rad: 0.6, ..CALM }), Mode::Damp);
    }

    #[test]
    fn the_search_waits_about_roll_and_then_turns_about_pitch() {
        let steering =
            SteeringSettings { search_wait_s: 3_400.0, search_rate_deg_s: 0.5, ..SteeringSettings::default() };
        let at = |s: u32| [0, 1, 2].map(|axis| search_rate(axis, 0, s * TICKS_PER_S, &steering) / DEG);
        assert_eq!((at(0), at(3_399)), ([0.5, 0.0, 0.0], [0.5, 0.0, 0.0]));
        // 400° at 0.25 °/s, 90° at 0.5 °/s, 400° at 0.25 °/s.
        assert_eq!((at(3_401), at(4_999)), ([0.0, 0.25, 0.0], [0.0, 0.25, 0.0]));
        assert_eq!((at(5_001), at(5_179), at(5_181)), ([0.5, 0.0, 0.0], [0.5, 0.0, 0.0], [0.0, 0.25, 0.0]));
        assert_eq!(search_s(&steering), 6_780.0);
    }

    #[test]
    fn no_earth_leads_to_search_and_back() {
        let lost = View { seen: false, heading: Heading::Blind, in_mode_s: 21.0, ..CALM };
        assert_eq!(next(Mode::Damp, &lost), Mode::Search);
        assert_eq!(next(Mode::Search, &lost), Mode::Search);
        assert_eq!(next(Mode::Search, &View { in_mode_s: 2000.0, ..lost }), Mode::Damp);
        assert_eq!(next(Mode::Fine, &lost), Mode::Damp);
    }

    #[test]
    fn every_mode_drifts_when_jets_may_not_fire() {
        for mode in [Mode::Drift, Mode::Damp, Mode::Search, Mode::Level, Mode::Coarse, Mode::Fine, Mode::Turned] {
            assert_eq!(next(mode, &View { can_fire: false, ..CALM }), Mode::Drift);
            assert_eq!(next(mode, &View { wanted: Hold::Drift, ..CALM }), Mode::Drift);
        }
    }
}
