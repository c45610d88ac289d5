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

mod exact;
pub mod faults;
mod linear;
pub mod mechanism;
pub mod motor;
pub mod parameters;
pub mod platen;
pub mod reel;
pub mod seal;
pub mod shutter;
pub mod splice;
mod view;
pub mod web;

use std::f64::consts::TAU;

use stillframe_controller::io::{FilmDrive, FilmSample};

pub use faults::{FilmFaults, Jam, Side};
use linear::Kept;
use mechanism::{Constants, Held, Motion, Passed};
pub use parameters::{FilmError, FilmParameters, GaugeParameters, RollerParameters};
use platen::Platen;
use reel::{Pack, Size};
pub use seal::Seal;
use splice::Effect;

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
    /// Sizes of supply and take-up with the film that is on them now.
    sizes: [Size; 2],
    motion: Motion,
    kept: Kept,
    sub_steps_only: bool,
    seal: Seal,
    /// Turning senses wait to be swapped until the film stands.
    swap_due: bool,
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
        let mut plant = Self {
            supply_pack: pack(film.supply.core_radius_m),
            take_up_pack: pack(film.take_up.core_radius_m),
            sizes: [Size::default(); 2],
            motion,
            kept: Kept::default(),
            sub_steps_only: false,
            seal: Seal::Open,
            swap_due: false,
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
        };
        plant.measure_reels();
        plant
    }

    fn measure_reels(&mut self) {
        self.sizes = [
            self.supply_pack.size(self.supply_m, self.film.supply.hub_inertia_kg_m2),
            self.take_up_pack.size(self.wound_m, self.film.take_up.hub_inertia_kg_m2),
        ];
    }

    /// Goes on by `dt_s` with `drive` held; `body_rad_s2` is the body's acceleration about its +y.
    ///
    /// A braked mechanism that has come to rest costs a few comparisons.
    pub fn advance(&mut self, dt_s: f64, drive: &FilmDrive, body_rad_s2: f64) -> Reaction {
        let braked = self.faults.brake_stuck.unwrap_or(drive.brake);
        let idle = braked && drive.roller_duty == 0.0 && drive.supply_duty == 0.0 && drive.take_up_duty == 0.0;
        if self.asleep && idle && drive.platen_step == 0 && body_rad_s2.abs() < 0.1 && !self.severs(drive) {
            return Reaction::default();
        }
        self.asleep = false;
        self.cut_and_seal(drive);
        self.clamped = drive.clamp && self.film.roller.clamp_n > 0.0;
        if let Some(platen) = &self.film.platen {
            self.platen.advance(platen, dt_s, drive.platen_step);
        }
        let held = self.hold(dt_s, drive, braked, body_rad_s2);
        let tension_n = self.motion.supply_loop.tension_n + self.motion.take_up_loop.tension_n;
        let exact = if self.sub_steps_only {
            None
        } else {
            exact::advance(&self.film, &self.constants, &mut self.kept, &held, &mut self.motion)
        };
        let passed = exact.unwrap_or_else(|| mechanism::advance(&self.film, &self.constants, &held, &mut self.motion));
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
        let splices = &self.film.splices;
        let splice = if splices.is_empty() {
            Effect::NONE
        } else {
            Effect::of(splices, self.wound_m + self.motion.take_up_loop.film_m, &self.motion)
        };
        // Whoever puts the brakes on takes the power from the bridges.
        let powered = !drive.brake;
        let roller_duty = self.faults.bridge_stuck.filter(|_| powered).map_or(drive.roller_duty, |duty| duty as f32);
        let supply_duty = if self.faults.supply_free { 0.0 } else { drive.supply_duty };
        let [supply, take_up] = self.sizes;
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
            supply_v: volts(supply_duty),
            roller_v: volts(roller_duty),
            take_up_v: volts(drive.take_up_duty),
            supply_radius_m: supply.radius_m,
            take_up_radius_m: take_up.radius_m,
            supply_inertia: supply.inertia_kg_m2,
            take_up_inertia: take_up.inertia_kg_m2,
            supply_friction_nm,
            roller_friction_nm,
            take_up_friction_nm,
            body_rad_s2,
            jam: self.faults.jam,
            grip: 1.0 - self.faults.slip,
            bump_m: splice.bump_m,
            strength: splice.strength,
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
        self.measure_reels();
        if self.supply_m <= 0.0 {
            // The film is not fastened to the core: its end slips off.
            self.motion.supply_loop.broken = true;
        }
    }

    fn fall_asleep(&mut self) {
        self.swap_if_due();
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
        let [supply, take_up] = self.sizes;
        film.supply.spin * supply.inertia_kg_m2 * self.motion.supply.rate_rad_s
            + film.roller.spin * film.roller.inertia_kg_m2 * self.motion.roller.rate_rad_s
            + film.take_up.spin * take_up.inertia_kg_m2 * self.motion.take_up.rate_rad_s
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

    /// Takes film as threaded the other way round: both reels turn against the sense they had before, as soon as
    /// they stand still.
    pub fn swap_turning_senses(&mut self) {
        self.swap_due = !self.swap_due;
        self.swap_if_due();
    }

    fn swap_if_due(&mut self) {
        let still = self.motion.supply.rate_rad_s == 0.0 && self.motion.take_up.rate_rad_s == 0.0;
        if self.swap_due && still {
            self.film.supply.spin = -self.film.supply.spin;
            self.film.take_up.spin = -self.film.take_up.spin;
            self.swap_due = false;
        }
    }

    /// Leaves out the exact steps: every tick goes by sub-steps, as a check on them.
    pub fn sub_steps_only(&mut self) {
        self.sub_steps_only = true;
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
