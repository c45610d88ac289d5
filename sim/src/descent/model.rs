//! One capsule, one return: from a state at ignition and what is off, to a fall.

use nalgebra::{Rotation3, Unit};

use super::air::{Planet, Winds};
use super::dispersions::{Off, Quantity};
use super::fall::{Body, Fall, Faller};
use super::integrate::{Closeness, Point};
use super::recovery::{Canopies, Timers};
use super::retro::{Burn, mean_thrust};
use crate::scenario::Scenario;
use crate::scenario::parts::capsule::Capsule;
use crate::scenario::parts::descent::Return;
use crate::world::Vec3;
use crate::world::frames::EarthRotation;

/// The capsule at ignition.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AtRetro {
    /// Time from the start of the run, s.
    pub time_s: f64,
    /// Inertial position, m.
    pub position_m: Vec3,
    /// Inertial velocity, m/s.
    pub velocity_m_s: Vec3,
    /// Unit vector that thrust pushes along, inertial.
    pub axis: Vec3,
    /// Spin about it, rad/s.
    pub spin_rad_s: f64,
}

impl AtRetro {
    /// With the thrust at `angle_rad` from the inertial velocity, towards the ground.
    pub fn at_angle(time_s: f64, position_m: Vec3, velocity_m_s: Vec3, angle_rad: f64, spin_rad_s: f64) -> Self {
        let normal = Unit::new_normalize(position_m.cross(&velocity_m_s));
        // A turn about the orbit normal takes the velocity towards the ground.
        let axis = Rotation3::from_axis_angle(&normal, angle_rad) * velocity_m_s.normalize();
        Self { time_s, position_m, velocity_m_s, axis, spin_rad_s }
    }

    /// Angle between thrust and inertial velocity, rad.
    pub fn angle_rad(&self) -> f64 {
        self.axis.angle(&self.velocity_m_s)
    }

    /// The same, further along the orbit.
    pub fn shifted(&self, along_m: f64) -> Self {
        self.off(&Off::default().with(Quantity::OrbitAlong, along_m))
    }

    /// The same, off by what `off` says of orbit, time and pointing.
    fn off(&self, off: &Off) -> Self {
        let mut at = *self;
        let radius_m = at.position_m.norm();
        let normal = Unit::new_normalize(at.position_m.cross(&at.velocity_m_s));
        // The vehicle holds the local frame: along the orbit, its attitude goes with the place.
        let along = Rotation3::from_axis_angle(&normal, off.get(Quantity::OrbitAlong) / radius_m);
        let ahead = Unit::new_normalize(normal.cross(&at.position_m));
        let across = Rotation3::from_axis_angle(&ahead, off.get(Quantity::OrbitAcross) / radius_m);
        let turn = across * along;
        (at.position_m, at.velocity_m_s, at.axis) = (turn * at.position_m, turn * at.velocity_m_s, turn * at.axis);
        let higher_m = off.get(Quantity::OrbitHeight);
        at.position_m *= 1.0 + higher_m / radius_m;
        // Speed of another circle: √(GM/r).
        at.velocity_m_s *= 1.0 - 0.5 * higher_m / radius_m;
        // A late ignition finds the capsule further on, its axis held by spin.
        let late_s = off.get(Quantity::RetroTime);
        let rate = at.position_m.cross(&at.velocity_m_s).norm() / at.position_m.norm_squared();
        let later = Rotation3::from_axis_angle(&normal, rate * late_s);
        (at.position_m, at.velocity_m_s) = (later * at.position_m, later * at.velocity_m_s);
        at.time_s += late_s;
        at.axis = Rotation3::from_axis_angle(&normal, off.get(Quantity::Pitch)) * at.axis;
        let sideways = Unit::new_normalize(normal.cross(&at.axis));
        at.axis = Rotation3::from_axis_angle(&sideways, off.get(Quantity::Yaw)) * at.axis;
        at.spin_rad_s *= 1.0 + off.get(Quantity::Spin);
        at
    }
}

/// Failures that a descent may be asked to suffer.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Faults {
    /// Retro attitude off in the plane, rad; more is further back.
    pub pitch_rad: f64,
    /// Retro attitude off out of the plane, rad.
    pub yaw_rad: f64,
    /// Share of the impulse that is missing: so much of the propellant does not burn, and leaves with the motor.
    pub impulse_missing: f64,
    /// Spin in place of the scenario's, rad/s.
    pub spin_rad_s: Option<f64>,
    /// Drogue so much before its time, s.
    pub early_drogue_s: f64,
    /// The g-switch never closes.
    pub g_switch_dead: bool,
    /// The drogue does not come out.
    pub drogue_dead: bool,
    /// The main does not come out.
    pub main_dead: bool,
}

impl Faults {
    /// Whether there is any.
    pub fn any(&self) -> bool {
        *self != Self::default()
    }
}

/// A return, ready to be flown as often as wanted.
#[derive(Clone, Debug)]
pub struct Model {
    /// Capsule.
    pub capsule: Capsule,
    /// Return.
    pub plan: Return,
    /// The Earth as predicted: standard air, the winds of the scenario.
    pub planet: Planet,
    /// Earth's turning.
    pub earth: EarthRotation,
    /// Faults suffered by every descent.
    pub faults: Faults,
}

impl Model {
    /// From the scenario; `None` if it has no `[capsule]` or no `[return]`.
    pub fn new(scenario: &Scenario, earth: EarthRotation) -> Option<Self> {
        let (capsule, plan) = (scenario.capsule.clone()?, scenario.descent.clone()?);
        let planet = Planet { winds: Winds::new(&scenario.winds), ..Planet::standard() };
        Some(Self { capsule, plan, planet, earth, faults: Faults::default() })
    }

    /// The same without faults.
    pub fn healthy(&self) -> Self {
        Self { faults: Faults::default(), ..self.clone() }
    }

    /// The state at ignition on a path, with the plan's attitude and the capsule's spin.
    pub fn at_retro(&self, time_s: f64, position_m: Vec3, velocity_m_s: Vec3) -> AtRetro {
        AtRetro::at_angle(time_s, position_m, velocity_m_s, self.plan.retro_angle_rad, self.capsule.spin_rad_s)
    }

    /// Mass of the propellant as loaded, kg.
    pub fn propellant_kg(&self) -> f64 {
        Burn::new(&self.capsule.retro, 1.0).used_kg(f64::INFINITY)
    }

    /// The body that flies, its state at ignition among it.
    fn body(&self, at: &AtRetro, off: &Off) -> Body {
        let capsule = &self.capsule;
        let burn = Burn::new(&capsule.retro, (1.0 + off.get(Quantity::Impulse)) * (1.0 - self.faults.impulse_missing));
        let offset_m = [capsule.retro.offset_m + off.get(Quantity::OffsetX), off.get(Quantity::OffsetY)];
        let mean = mean_thrust(capsule, &burn, at.spin_rad_s, offset_m);
        let normal = at.position_m.cross(&at.velocity_m_s).normalize();
        let x = (normal - at.axis * normal.dot(&at.axis)).normalize();
        let y = at.axis.cross(&x);
        let factor = 1.0 + off.get(Quantity::Mass);
        let drag = 1.0 + off.get(Quantity::Drag);
        Body {
            start_kg: capsule.mass_kg * factor,
            entry_kg: (capsule.mass_kg - capsule.motor_kg) * factor - self.propellant_kg(),
            canopy_kg: capsule.canopy_kg * factor,
            nose_radius_m: capsule.nose_radius_m,
            mach: capsule.mach.clone(),
            drag_area_m2: capsule.drag_area_m2.iter().map(|area| area * drag).collect(),
            burn,
            thrust: x * mean.x + y * mean.y + at.axis * mean.z,
        }
    }

    fn planet_off(&self, off: &Off) -> Planet {
        let mut planet = self.planet.clone();
        let sigmas = off.get(Quantity::Density);
        if sigmas != 0.0 {
            planet.density_height_m = self.plan.density_height_m.clone();
            planet.density_off = self.plan.density_sigma.iter().map(|sigma| sigma * sigmas).collect();
        }
        planet.wind_off = [off.get(Quantity::WindEast), off.get(Quantity::WindNorth)];
        planet
    }

    fn timers_off(&self, timers: &Timers, off: &Off) -> Timers {
        let late_s = off.get(Quantity::Timers);
        let faults = &self.faults;
        let shift = |timer: Option<f64>, by_s: f64| timer.map(|s| (s + by_s).max(0.0));
        Timers {
            drogue_after_g_s: shift(timers.drogue_after_g_s, late_s - faults.early_drogue_s),
            drogue_backup_s: shift(timers.drogue_backup_s, late_s),
            main_after_drogue_s: shift(timers.main_after_drogue_s, late_s),
            main_backup_s: shift(timers.main_backup_s, late_s),
            g_switch_dead: faults.g_switch_dead,
            drogue_dead: faults.drogue_dead,
            main_dead: faults.main_dead,
            ..*timers
        }
    }

    /// One descent from `at`, off by `off`.
    pub fn fall(&self, at: &AtRetro, off: &Off, timers: &Timers, closeness: Closeness, rows: bool) -> Fall {
        let faults = &self.faults;
        let off = off.with(Quantity::Pitch, faults.pitch_rad).with(Quantity::Yaw, faults.yaw_rad);
        let mut aimed = *at;
        aimed.spin_rad_s = faults.spin_rad_s.unwrap_or(aimed.spin_rad_s);
        let at = aimed.off(&off);
        let planet = self.planet_off(&off);
        let (body, canopies) = (self.body(&at, &off), Canopies::new(&self.plan, 1.0 + off.get(Quantity::Canopy)));
        let timers = self.timers_off(timers, &off);
        let faller =
            Faller { surroundings: &planet, body: &body, canopies: &canopies, timers: &timers, closeness, rows };
        faller.fall(Point::new(at.time_s, &at.position_m, &at.velocity_m_s, 0.0))
    }

    /// The timers of the sequence: those of the plan, or fitted so that the nominal descent from `at` opens its
    /// canopies at the heights wanted; backups follow by their margins. `None` if it does not come down.
    pub fn timers(&self, at: &AtRetro) -> Option<Timers> {
        use super::fall::What;
        let healthy = self.healthy();
        let plan = &self.plan;
        let found = healthy.fall(at, &Off::default(), &Timers::by_height(plan), Closeness::COUNTED, false);
        let switch_s = found.at(What::GSwitch)?.at.t_s;
        let fitted_s = (found.at(What::Drogue)?.at.t_s - switch_s).max(0.0);
        let after_g_s = plan.drogue.after_g_s.unwrap_or(fitted_s);
        let drogue_s = switch_s + after_g_s;
        let after_drogue_s = match plan.main.after_drogue_s {
            Some(given_s) => given_s,
            // Fitted beneath the drogue as it will be timed.
            None => {
                let timers =
                    Timers { drogue_after_g_s: Some(after_g_s), drogue_height_m: None, ..Timers::by_height(plan) };
                let found = healthy.fall(at, &Off::default(), &timers, Closeness::COUNTED, false);
                found.at(What::Main)?.at.t_s - found.at(What::Drogue)?.at.t_s
            }
        };
        let separation_s = at.time_s - plan.separation_s;
        Some(Timers {
            separation_s: plan.separation_s,
            drogue_after_g_s: Some(after_g_s),
            drogue_backup_s: Some(drogue_s + plan.drogue.backup_margin_s - separation_s),
            main_after_drogue_s: Some(after_drogue_s),
            main_backup_s: Some(drogue_s + after_drogue_s + plan.main.backup_margin_s - separation_s),
            ..Timers::default()
        })
    }
}
