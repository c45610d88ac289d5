//! The film half of the vehicle as it really is.
//!
//! ```text
//! supply reel → supply tension arm → metering roller → platen and slit → take-up arm → take-up reel
//! ```
//!
//! [`FilmPlant::advance`] takes what the flight code drives and gives back what the body feels;
//! [`FilmPlant::sample`] is what the flight code sees. The equations and the reason for the sub-step stand
//! in [`mechanism`]; numbers in [`FilmParameters`]; faults in [`FilmFaults`]; the shutter apart, in
//! [`shutter`].
//!
//! Signs: film forward is positive for every speed, rate, torque and duty. About body +y, the supply reel
//! and the roller turn positive and the take-up reel negative while film runs forward, so the momentum is
//! h = J_s·v/R_s + J_r·v/r − J_t·v/R_t: positive with a full supply, negative with a full take-up, near
//! zero in between.

pub mod faults;
pub mod mechanism;
pub mod motor;
pub mod parameters;
pub mod platen;
pub mod reel;
pub mod shutter;
mod view;
pub mod web;

use std::f64::consts::TAU;

use stillframe_controller::io::{FilmDrive, FilmSample};

pub use faults::{FilmFaults, Jam, Side};
use mechanism::{Constants, Held, Motion, Passed};
pub use parameters::{FilmError, FilmParameters, GaugeParameters, RollerParameters};
use platen::Platen;
use reel::Pack;

/// What the body feels of one step of the film.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Reaction {
    /// Change of the angular momentum of reels and roller about body +y, relative to the body, N·m·s.
    /// The body, with its inertia counted as if they were locked, takes exactly the opposite.
    pub momentum_change_nms: f64,
}

/// Reels, arms, roller and platen in motion. `Clone` gives a second plant that goes on from here.
#[derive(Clone, Debug, PartialEq)]
pub struct FilmPlant {
    film: FilmParameters,
    constants: Constants,
    supply_pack: Pack,
    take_up_pack: Pack,
    motion: Motion,
    platen: Platen,
    faults: FilmFaults,
    clamped: bool,
    supply_m: f64,
    wound_m: f64,
    gate_m: f64,
    momentum_nms: f64,
    end: EndSpeeds,
    power_w: f64,
    /// Roller counts at which a dead encoder stopped.
    dead_counts: Option<u32>,
    roller_current_a: f64,
    asleep: bool,
}

/// Speeds at the end of the last step, m/s.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct EndSpeeds {
    supply_m_s: f64,
    gate_m_s: f64,
    take_up_m_s: f64,
    tension_rate_n_s: f64,
}

/// Arm speed below which a braked mechanism counts as at rest, m/s.
const STILL_M_S: f64 = 1e-6;

impl FilmPlant {
    /// A threaded mechanism at rest: arms in their middles, film at the arms' tension.
    ///
    /// `film` must pass [`FilmParameters::check`]; otherwise results are not numbers.
    pub fn new(film: &FilmParameters) -> Self {
        let constants = Constants::new(film);
        let line_density_kg_m = film.web.line_density_kg_m();
        let thickness_m = film.web.thickness_m;
        let pack = |core_radius_m| Pack { core_radius_m, thickness_m, line_density_kg_m };
        let mut motion = Motion::default();
        for (span, rate, arm) in [
            (&mut motion.supply_loop, &constants.supply, &film.supply_arm),
            (&mut motion.take_up_loop, &constants.take_up, &film.take_up_arm),
        ] {
            span.film_m = rate.path_m - arm.middle_tension_n / rate.stiffness_n_m;
            span.tension_n = arm.middle_tension_n;
        }
        let threaded_m = motion.supply_loop.film_m + motion.take_up_loop.film_m;
        Self {
            supply_pack: pack(film.supply.core_radius_m),
            take_up_pack: pack(film.take_up.core_radius_m),
            motion,
            platen: Platen::default(),
            faults: FilmFaults::default(),
            clamped: film.roller.clamp_n > 0.0,
            supply_m: film.load_m - film.wound_m - threaded_m,
            wound_m: film.wound_m,
            gate_m: 0.0,
            momentum_nms: 0.0,
            end: EndSpeeds::default(),
            power_w: 0.0,
            dead_counts: None,
            roller_current_a: 0.0,
            asleep: false,
            constants,
            film: film.clone(),
        }
    }

    /// Goes on by `dt_s` with `drive` held; `body_rad_s2` is the body's acceleration about its +y.
    ///
    /// A braked mechanism that has come to rest costs a few comparisons.
    pub fn advance(&mut self, dt_s: f64, drive: &FilmDrive, body_rad_s2: f64) -> Reaction {
        let braked = self.faults.brake_stuck.unwrap_or(drive.brake);
        let idle = braked && drive.roller_duty == 0.0 && drive.supply_duty == 0.0 && drive.take_up_duty == 0.0;
        if self.asleep && idle && drive.platen_step == 0 && body_rad_s2.abs() < 0.1 {
            return Reaction::default();
        }
        self.asleep = false;
        self.clamped = drive.clamp && self.film.roller.clamp_n > 0.0;
        if let Some(platen) = &self.film.platen {
            self.platen.advance(platen, dt_s, drive.platen_step);
        }
        let held = self.hold(dt_s, drive, braked, body_rad_s2);
        let tension_n = self.motion.supply_loop.tension_n + self.motion.take_up_loop.tension_n;
        let passed = mechanism::advance(&self.film, &self.constants, &self.faults, &held, &mut self.motion);
        let tension_now_n = self.motion.supply_loop.tension_n + self.motion.take_up_loop.tension_n;
        self.book(dt_s, &passed, (tension_now_n - tension_n) / dt_s);
        self.power_w = passed.energy_j / dt_s + if drive.brake { 0.0 } else { self.film.brake_release_w };
        let momentum_nms = self.momentum_from_motion();
        let momentum_change_nms = momentum_nms - self.momentum_nms;
        self.momentum_nms = momentum_nms;
        if idle {
            self.fall_asleep();
        }
        Reaction { momentum_change_nms }
    }

    fn hold(&self, dt_s: f64, drive: &FilmDrive, braked: bool, body_rad_s2: f64) -> Held {
        let steps = (dt_s / self.constants.longest_step_s).ceil().max(1.0);
        let [supply_friction_nm, roller_friction_nm, take_up_friction_nm] =
            Held::friction(&self.film, &self.faults, braked, self.clamped);
        let volts = |duty: f32| {
            let duty = f64::from(duty);
            // A bridge cannot do more than its whole supply, and a word that is no number drives nothing.
            if duty.is_nan() { 0.0 } else { self.film.bus_v * duty.clamp(-1.0, 1.0) }
        };
        Held {
            step_s: dt_s / steps,
            steps: steps as u32,
            supply_v: volts(drive.supply_duty),
            roller_v: volts(drive.roller_duty),
            take_up_v: volts(drive.take_up_duty),
            supply_radius_m: self.supply_radius_m(),
            take_up_radius_m: self.take_up_radius_m(),
            supply_inertia: self.supply_inertia_kg_m2(),
            take_up_inertia: self.take_up_inertia_kg_m2(),
            supply_friction_nm,
            roller_friction_nm,
            take_up_friction_nm,
            body_rad_s2,
        }
    }

    /// Enters what went by into the ledger. Small sums first: 10⁻⁵ m added to 900 m a thousand times a
    /// second would lose digits.
    fn book(&mut self, dt_s: f64, passed: &Passed, tension_rate_n_s: f64) {
        self.supply_m -= passed.supply_m;
        self.gate_m += passed.gate_m;
        self.wound_m += passed.take_up_m;
        self.end = EndSpeeds {
            supply_m_s: passed.supply_speed_m_s,
            gate_m_s: passed.gate_speed_m_s,
            take_up_m_s: passed.take_up_speed_m_s,
            tension_rate_n_s: if dt_s > 0.0 { tension_rate_n_s } else { 0.0 },
        };
        self.roller_current_a = passed.roller_current_a;
        if self.supply_m <= 0.0 {
            // The film is not fastened to the core: its end slips off.
            self.motion.supply_loop.broken = true;
        }
    }

    fn fall_asleep(&mut self) {
        let m = &mut self.motion;
        let still = m.supply.rate_rad_s == 0.0
            && m.roller.rate_rad_s == 0.0
            && m.take_up.rate_rad_s == 0.0
            && m.supply_arm.speed_m_s.abs() < STILL_M_S
            && m.take_up_arm.speed_m_s.abs() < STILL_M_S
            && self.end.tension_rate_n_s.abs() < 1e-2
            && self.platen.at_rest();
        if still {
            m.supply_arm.speed_m_s = 0.0;
            m.take_up_arm.speed_m_s = 0.0;
            self.power_w = 0.0;
            self.asleep = true;
        }
    }

    fn momentum_from_motion(&self) -> f64 {
        let film = &self.film;
        film.supply.spin * self.supply_inertia_kg_m2() * self.motion.supply.rate_rad_s
            + film.roller.spin * film.roller.inertia_kg_m2 * self.motion.roller.rate_rad_s
            + film.take_up.spin * self.take_up_inertia_kg_m2() * self.motion.take_up.rate_rad_s
    }

    /// What the gauges show. `shutter_open` is passed on from the shutter's light sensor.
    pub fn sample(&self, shutter_open: bool) -> FilmSample {
        let gauges = &self.film.gauges;
        let m = &self.motion;
        let step = |value: f64, step: f64| ((value / step).round() * step) as f32;
        let roller_counts = counts(m.roller.angle_rad, gauges.roller_counts_per_turn);
        FilmSample {
            roller_counts: self.dead_counts.unwrap_or(roller_counts),
            supply_counts: counts(m.supply.angle_rad, gauges.reel_counts_per_turn),
            take_up_counts: counts(m.take_up.angle_rad, gauges.reel_counts_per_turn),
            supply_arm_m: step(m.supply_arm.at_m, gauges.arm_step_m),
            take_up_arm_m: step(m.take_up_arm.at_m, gauges.arm_step_m),
            roller_current_a: step(self.roller_current_a, gauges.current_step_a),
            shutter_open,
            sweep_rad: 0.0,
        }
    }

    /// Sets the faults that are present from now on.
    pub fn set_faults(&mut self, faults: FilmFaults) {
        self.asleep = false;
        self.dead_counts = match (faults.encoder_dead, self.dead_counts) {
            (true, None) => Some(counts(self.motion.roller.angle_rad, self.film.gauges.roller_counts_per_turn)),
            (true, dead) => dead,
            (false, _) => None,
        };
        self.faults = faults;
    }

    /// Faults present now.
    pub fn faults(&self) -> FilmFaults {
        self.faults
    }

    /// Parts the film in one loop. It does not mend.
    pub fn break_film(&mut self, side: Side) {
        self.asleep = false;
        match side {
            Side::Supply => self.motion.supply_loop.broken = true,
            Side::TakeUp => self.motion.take_up_loop.broken = true,
        }
    }

    /// Gives the supply arm a speed, m/s, as a knock would.
    pub fn pluck_supply_arm(&mut self, speed_m_s: f64) {
        self.asleep = false;
        self.motion.supply_arm.speed_m_s = speed_m_s;
    }

    /// Whether the film has parted, on either side or off the supply core.
    pub fn broken(&self) -> bool {
        self.motion.supply_loop.broken || self.motion.take_up_loop.broken
    }
}

/// An encoder of `per_turn` counts, wrapping at 32 bits.
fn counts(angle_rad: f64, per_turn: f64) -> u32 {
    (angle_rad / TAU * per_turn).floor() as i64 as u32
}
