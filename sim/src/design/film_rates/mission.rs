//! The orbit over its whole life: as it is, and as the ground predicts it from each load on.

use crate::{
    flight::{
        build::{self, BuildError, drag_area_m2, forces, mass_parameters, speeds, start_state},
        settings,
    },
    imaging::camera::Camera,
    passes::{rate_fit::Grid, required::Look},
    scenario::{Loaded, Scenario},
    world::{
        ephemeris::Ephemeris,
        forces::Forces,
        frames::EarthRotation,
        kepler::State,
        orbit::{Orbit, OrbitError},
        time::Utc,
    },
};
use stillframe_controller::settings::Settings;

/// Step of the orbit's integration, s.
const STEP_S: f64 = 10.0;
/// How long before it comes down an orbit is no longer looked at, s: below that nothing is photographed.
const LAST_HOURS_S: f64 = 6.0 * 3600.0;

/// A scenario's vehicle on its true orbit.
#[derive(Debug)]
pub struct Mission<'a> {
    /// The scenario.
    pub scenario: &'a Scenario,
    /// Camera.
    pub camera: Camera,
    /// Settings of the flight code.
    pub settings: Settings,
    /// Speeds that can be asked for.
    pub grid: Grid,
    /// Instant that times count from.
    pub start: Utc,
    /// The Earth's turning.
    pub earth: EarthRotation,
    /// The true orbit.
    pub truth: Ephemeris,
    /// End of what is looked at, s.
    pub end_s: f64,
    /// The orbit comes down before the length asked for; then this is when, s.
    pub down_s: Option<f64>,
    /// Roll and pitch of the line of sight, rad.
    pub tilt_rad: [f64; 2],
    ground: Forces,
}

impl<'a> Mission<'a> {
    /// The mission of a scenario: the orbit without jets, air as the scenario has it.
    ///
    /// # Errors
    /// If settings or start are refused, or the orbit comes down within hours.
    pub fn new(loaded: &'a Loaded, duration_s: f64, tilt_rad: [f64; 2]) -> Result<Self, BuildError> {
        let scenario = &loaded.scenario;
        let start = Utc::parse(&scenario.run.start.to_string())?;
        let state = start_state(loaded, start)?;
        let (settings, _) = settings::for_run(loaded).map_err(BuildError::Refused)?;
        let film_kg = scenario.film.mass_kg(scenario.film.load_m);
        let mass_kg = mass_parameters(scenario).with(film_kg, 0.0, scenario.tank.gas_kg).mass_kg;
        let air = |factor| {
            let mut forces = forces(scenario, factor);
            forces.drag_area_per_mass_m2_kg = drag_area_m2(scenario, &state) / mass_kg;
            forces
        };
        let (truth, end_s, down_s) = true_orbit(air(scenario.world.density_factor), state, duration_s)?;
        Ok(Self {
            scenario,
            camera: build::camera(scenario),
            grid: speeds(&settings),
            settings,
            start,
            earth: EarthRotation::at_start(start, scenario.run.ut1_minus_utc_s),
            truth,
            end_s,
            down_s,
            tilt_rad,
            ground: air(1.0),
        })
    }

    /// The camera as it should be, along the true orbit, over the bare ellipsoid: relief is reported apart.
    pub fn look(&self) -> Look<'_> {
        Look {
            path: &self.truth,
            earth: self.earth,
            start: self.start,
            camera: &self.camera,
            areas: &[],
            tilt_rad: self.tilt_rad,
            relief_m: 0.0,
        }
    }

    /// What the ground predicts from `from_s` to `to_s`: the true state at `from_s` (orbit determination is
    /// not this study's subject) and the standard air times `density`. Times count from `from_s`.
    ///
    /// # Errors
    /// If the predicted orbit comes down.
    pub fn predicted(&self, from_s: f64, to_s: f64, density: f64) -> Result<Ephemeris, OrbitError> {
        let (position_m, velocity_m_s) = self.truth.position_velocity(from_s);
        let mut forces = self.ground;
        forces.drag_area_per_mass_m2_kg *= density;
        let orbit = Orbit::new(forces, State { position_m, velocity_m_s }, 0.0, STEP_S)?;
        Ephemeris::predict(&orbit, to_s - from_s + 60.0)
    }

    /// The camera as it should be along an orbit predicted from `from_s`.
    pub fn look_along<'b>(&'b self, path: &'b Ephemeris, from_s: f64) -> Look<'b> {
        let angle_at_start_rad = self.earth.angle_rad(from_s);
        let earth = EarthRotation { angle_at_start_rad, ..self.earth };
        Look { path, earth, start: self.start.plus_seconds(from_s), ..self.look() }
    }

    /// Time of one revolution at the start, s.
    pub fn period_s(&self) -> f64 {
        let (r, v) = self.truth.position_velocity(0.0);
        std::f64::consts::TAU * r.norm_squared() / r.cross(&v).norm()
    }
}

fn true_orbit(forces: Forces, start: State, duration_s: f64) -> Result<(Ephemeris, f64, Option<f64>), OrbitError> {
    let orbit = Orbit::new(forces, start, 0.0, STEP_S)?;
    match Ephemeris::predict(&orbit, duration_s + 60.0) {
        Ok(path) => Ok((path, duration_s, None)),
        Err(OrbitError::BelowFloor { t_s, .. }) if t_s > 2.0 * LAST_HOURS_S => {
            let end_s = t_s - LAST_HOURS_S;
            Ok((Ephemeris::predict(&orbit, end_s + 60.0)?, end_s, Some(t_s)))
        }
        Err(error) => Err(error),
    }
}

/// The camera along the true orbit with another tilt.
pub(super) fn tilted<'b>(mission: &'b Mission<'_>, tilt_rad: [f64; 2]) -> Look<'b> {
    Look { tilt_rad, ..mission.look() }
}
