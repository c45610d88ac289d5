//! The reels: how big they are, and what their motors must do to hold tension.

use super::settings::FilmSettings;
use crate::io::TICK_S;
use crate::math;
use core::f32::consts::{PI, TAU};

/// Slots of the short memory; a power of two.
const SLOTS: usize = 16;

/// Film speed below which friction is fed forward in part only, so that it does not flip at rest, m/s.
const CREEP_M_S: f32 = 2e-3;

/// Which end of the film a reel holds.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub(crate) enum End {
    /// Gives film.
    Supply,
    /// Takes film.
    TakeUp,
}

/// What is known and done about one reel.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Reel {
    end: End,
    /// Film measured on it lies close to the bare core.
    pub empty: bool,
    last: Option<u32>,
    /// Counts since start.
    counts: i32,
    /// Counts and arm over the last ticks, newest at `at`.
    history: [(i32, f32); SLOTS],
    at: usize,
    /// Radius that the film counted so far should have left, m.
    expected_radius_m: f32,
    expected_for: i32,
    /// Radius measured, m.
    pub radius_m: f32,
    pub inertia_kg_m2: f32,
    since: Option<Since>,
    /// Share by which the film counted exceeds what the reel shows, once known.
    pub residual: Option<f32>,
    integral_n: f32,
    arm_before_m: f32,
    arm_speed_m_s: f32,
}

#[derive(Clone, Copy, Debug, PartialEq)]
struct Since {
    metered: i32,
    counts: i32,
    arm_m: f32,
}

impl Reel {
    pub fn new(end: End, settings: &FilmSettings, metered: i32) -> Self {
        let mut reel = Self {
            end,
            empty: false,
            last: None,
            counts: 0,
            history: [(0, 0.0); SLOTS],
            at: 0,
            expected_radius_m: settings.core_radius_m,
            expected_for: metered,
            radius_m: settings.core_radius_m,
            inertia_kg_m2: settings.hub_inertia_kg_m2,
            since: None,
            residual: None,
            integral_n: 0.0,
            arm_before_m: 0.0,
            arm_speed_m_s: 0.0,
        };
        reel.expect(settings, metered);
        reel.radius_m = reel.expected_radius_m;
        reel
    }

    /// Film that should be on the reel after `metered` counts, and so its radius and inertia.
    fn expect(&mut self, settings: &FilmSettings, metered: i32) {
        let metered_m = metered as f32 * settings.count_m();
        let length_m = match self.end {
            End::Supply => settings.load_length_m - settings.threaded_length_m - metered_m,
            End::TakeUp => metered_m,
        };
        let length_m = math::clamp(length_m, 0.0, settings.load_length_m);
        let core2 = settings.core_radius_m * settings.core_radius_m;
        let square = core2 + length_m * settings.film_thickness_m / PI;
        self.expected_radius_m = math::sqrt(square);
        self.inertia_kg_m2 = settings.hub_inertia_kg_m2 + 0.5 * settings.film_kg_m * length_m * (square + core2);
        self.expected_for = metered;
        self.correct_radius();
    }

    /// Takes in the reel's counter and arm for this tick.
    pub fn read(&mut self, raw: u32, arm_m: f32, metered: i32, settings: &FilmSettings) {
        let delta = self.last.map_or(0, |last| raw.wrapping_sub(last) as i32);
        self.last = Some(raw);
        if delta.unsigned_abs() < settings.reel_counts_per_turn {
            self.counts = self.counts.wrapping_add(delta);
        } else {
            self.since = None;
        }
        self.at = (self.at + 1) & (SLOTS - 1);
        if let Some(slot) = self.history.get_mut(self.at) {
            *slot = (self.counts, arm_m);
        }
        // The gauge's steps would shake the reel; a filter of three ticks takes them off.
        self.arm_speed_m_s += ((arm_m - self.arm_before_m) / TICK_S - self.arm_speed_m_s) * 0.3;
        self.arm_before_m = arm_m;
        if metered.wrapping_sub(self.expected_for).unsigned_abs() > settings.roller_counts_per_turn / 4 {
            self.expect(settings, metered);
        }
        self.balance(arm_m, metered, settings);
    }

    /// Compares the film that this reel gave or took with the film counted, over a stretch of reel counts.
    fn balance(&mut self, arm_m: f32, metered: i32, settings: &FilmSettings) {
        let Since { metered: then, counts, arm_m: arm_then_m } =
            *self.since.get_or_insert(Since { metered, counts: self.counts, arm_m });
        let turned = self.counts.wrapping_sub(counts);
        if turned.unsigned_abs() < settings.residual_counts {
            return;
        }
        self.since = Some(Since { metered, counts: self.counts, arm_m });
        let counted_m = metered.wrapping_sub(then) as f32 * settings.count_m();
        // Film that stayed in the loop left the supply uncounted, or was counted and not wound.
        let looped_m = 2.0 * (arm_m - arm_then_m);
        let film_m = match self.end {
            End::Supply => counted_m + looped_m,
            End::TakeUp => counted_m - looped_m,
        };
        let turns = turned as f32 / settings.reel_counts_per_turn.max(1) as f32;
        // Film counted is believed: if the reel turned less than it should have, its radius must be larger.
        let radius_m = film_m / (TAU * turns);
        // A reel that has turned without the film that belongs to it has not been measured.
        if radius_m.is_nan() || radius_m <= 0.5 * self.expected_radius_m {
            return;
        }
        if radius_m < (1.0 + settings.empty_share) * settings.core_radius_m {
            self.empty = true;
        }
        let share = radius_m / self.expected_radius_m - 1.0;
        self.residual = Some(self.residual.map_or(share, |before| 0.5 * (before + share)));
        self.correct_radius();
    }

    /// The radius that film counted makes of the reel's turns, within reason.
    fn correct_radius(&mut self) {
        let share = self.residual.unwrap_or(0.0);
        self.radius_m = self.expected_radius_m * (1.0 + math::clamp(share, -0.1, 0.1));
    }

    /// Film that the reel gave or took in the last `ticks` ticks (at most 15), m.
    pub fn gave_m(&self, ticks: usize, settings: &FilmSettings) -> f32 {
        let (then, _) = self.before(ticks);
        let turns = self.counts.wrapping_sub(then) as f32 / settings.reel_counts_per_turn.max(1) as f32;
        turns * TAU * self.radius_m
    }

    /// Film that passed the roller in the last `ticks` ticks as this side shows it, m: what the reel gave
    /// or took, less what its loop took in or gave up.
    pub fn passed_m(&self, ticks: usize, settings: &FilmSettings) -> f32 {
        let (_, then_m) = self.before(ticks);
        let looped_m = 2.0 * (self.arm_before_m - then_m);
        match self.end {
            End::Supply => self.gave_m(ticks, settings) - looped_m,
            End::TakeUp => self.gave_m(ticks, settings) + looped_m,
        }
    }

    /// Which end of the film it holds.
    pub fn end(&self) -> End {
        self.end
    }

    /// Counts since start.
    pub fn counts(&self) -> i32 {
        self.counts
    }

    /// How far the arm has moved in the last `ticks` ticks (at most 15), m.
    pub fn arm_moved_m(&self, ticks: usize) -> f32 {
        let (_, then_m) = self.before(ticks);
        self.arm_before_m - then_m
    }

    /// Film in one count at the present radius, m.
    pub fn count_m(&self, settings: &FilmSettings) -> f32 {
        TAU * self.radius_m / settings.reel_counts_per_turn.max(1) as f32
    }

    fn before(&self, ticks: usize) -> (i32, f32) {
        let back = ticks.min(SLOTS - 1);
        let then = self.history.get((self.at + SLOTS - back) & (SLOTS - 1)).copied();
        then.unwrap_or((self.counts, self.arm_before_m))
    }

    /// Forgets what the loop has learnt about friction.
    pub fn relax(&mut self) {
        self.integral_n = 0.0;
        self.arm_speed_m_s = 0.0;
    }

    /// Duty that holds tension while the reel's film should move at `speed_m_s` and gain
    /// `acceleration_m_s2`: torque for tension, inertia and friction, corrected by the arm, and the
    /// voltage that the turning motor makes.
    pub fn duty(&mut self, settings: &FilmSettings, arm_m: f32, speed_m_s: f32, acceleration_m_s2: f32) -> f32 {
        let off_m = arm_m - arm_place_m(settings);
        let most_n = settings.arm_integral_limit_n;
        self.integral_n = math::clamp(self.integral_n + settings.arm_integral_n_m_s * TICK_S * off_m, -most_n, most_n);
        // Positive pull takes film out of the loop.
        let pull_n = settings.tension_n
            + settings.arm_gain_n_m * off_m
            + settings.arm_damping_n_s_m * self.arm_speed_m_s
            + self.integral_n;
        let towards = match self.end {
            End::Supply => -1.0,
            End::TakeUp => 1.0,
        };
        // A reel clears its loop's surplus (an arm takes in twice its travel) at a rate of its own.
        let speed_m_s = speed_m_s + towards * 2.0 * settings.arm_rate_1_s * off_m;
        let rate_rad_s = speed_m_s / self.radius_m;
        let friction_nm = settings.reel_drag_nm * math::clamp(speed_m_s / CREEP_M_S, -1.0, 1.0);
        let torque_nm =
            towards * pull_n * self.radius_m + self.inertia_kg_m2 * acceleration_m_s2 / self.radius_m + friction_nm;
        let volts = settings.reel_resistance_ohm / settings.reel_constant_nm_a * torque_nm
            + settings.reel_constant_nm_a * rate_rad_s;
        math::clamp(volts / settings.bus_v, -1.0, 1.0)
    }

    /// Speed of the film on this reel, m/s: the film's own where the reel follows it at once. A reel that runs
    /// evenly behind its loop while film is stepped, or that turns by itself after a break or with a brake that
    /// does not hold, is told by its own coarse counts.
    pub fn speed_m_s(&self, film_m_s: f32, settings: &FilmSettings) -> f32 {
        let own_m_s = self.gave_m(SLOTS - 1, settings) * (1.0 / ((SLOTS - 1) as f32 * TICK_S));
        let apart = math::abs(own_m_s - film_m_s) > settings.free_reel_m_s;
        if apart || settings.reel_smoothing_s >= TICK_S { own_m_s } else { film_m_s }
    }

    /// Angular momentum about body +y with film moving at `speed_m_s`, N·m·s: the supply turns about +y,
    /// the take-up about −y.
    pub fn momentum_nms(&self, speed_m_s: f32) -> f32 {
        let size = self.inertia_kg_m2 * speed_m_s / self.radius_m;
        match self.end {
            End::Supply => size,
            End::TakeUp => -size,
        }
    }
}

/// Where the arms belong: in the middle, or off it by what a tension other than the spring's needs.
pub(crate) fn arm_place_m(settings: &FilmSettings) -> f32 {
    if settings.arm_stiffness_n_m > 1.0 {
        let place_m = 2.0 * (settings.arm_middle_tension_n - settings.tension_n) / settings.arm_stiffness_n_m;
        math::clamp(place_m, -0.5 * settings.arm_travel_m, 0.5 * settings.arm_travel_m)
    } else {
        0.0
    }
}

/// Tension that an arm at rest at `arm_m` shows, N; none on its outer stop.
pub(crate) fn arm_tension_n(settings: &FilmSettings, arm_m: f32) -> f32 {
    if arm_m >= settings.arm_travel_m {
        return 0.0;
    }
    let tension_n = settings.arm_middle_tension_n - 0.5 * settings.arm_stiffness_n_m * arm_m;
    if tension_n > 0.0 { tension_n } else { 0.0 }
}

pub(crate) fn sign(x: f32) -> f32 {
    if x > 0.0 {
        1.0
    } else if x < 0.0 {
        -1.0
    } else {
        0.0
    }
}
