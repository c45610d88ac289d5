//! What a plant is built from.

use super::super::{
    body::InertiaError,
    film::{FilmError, FilmParameters, shutter::ShutterParameters},
    jets::{FeedParameters, JetParameters},
    mass::MassParameters,
    sensors::{GyroParameters, HorizonParameters},
    sweep::SweepParameters,
    torque::surface::Facet,
};
use crate::world::{forces::Forces, kepler, orbit::OrbitError, time::Utc};
use nalgebra::Vector3;
use thiserror::Error;

/// Everything a plant is built from, SI.
#[derive(Clone, Debug)]
pub struct PlantParameters {
    /// Start of the run.
    pub start: Utc,
    /// UT1 − UTC, s.
    pub ut1_minus_utc_s: f64,
    /// Position and velocity at the start, inertial.
    pub orbit: kepler::State,
    /// What acts on the orbit; its drag area per mass is set from the vehicle's.
    pub forces: Forces,
    /// Mass and inertia.
    pub mass: MassParameters,
    /// Drag coefficient times area, m².
    pub drag_area_m2: f64,
    /// Place of the centre of pressure in the drawing frame, m.
    pub pressure_centre_m: Vector3<f64>,
    /// Outside of the vehicle; if there is none, the air acts on the drag area at the centre of pressure.
    pub facets: Vec<Facet>,
    /// Share of their energy that molecules leave to the wall, 0…1.
    pub accommodation: f64,
    /// Magnetic dipole, body axes, A·m².
    pub dipole_a_m2: Vector3<f64>,
    /// Air torque on.
    pub air_torque: bool,
    /// Torque of sunlight on.
    pub sunlight: bool,
    /// Gravity-gradient torque on.
    pub gravity_gradient: bool,
    /// Jets push the orbit.
    pub jets_push_orbit: bool,
    /// Roll, pitch, yaw against the local orbital frame at the start (yaw first, then pitch, then roll), rad.
    pub attitude_rad: [f64; 3],
    /// Body rate against inertial space at the start, rad/s.
    pub rate_rad_s: Vector3<f64>,
    /// Jets.
    pub jets: Vec<JetParameters>,
    /// What feeds them.
    pub feed: FeedParameters,
    /// Tank volume, m³.
    pub tank_volume_m3: f64,
    /// Gas loaded, kg.
    pub gas_kg: f64,
    /// Tank temperature, K.
    pub tank_temperature_k: f64,
    /// Time constant of the heat that comes back into the gas, s; 0: the temperature is held.
    pub tank_soak_s: f64,
    /// Leak from the tank, without torque, kg/s.
    pub leak_kg_s: f64,
    /// Film transport.
    pub film: FilmParameters,
    /// Shutter.
    pub shutter: ShutterParameters,
    /// Sweep, if the camera has one.
    pub sweep: Option<SweepParameters>,
    /// Gyros.
    pub gyros: GyroParameters,
    /// Horizon sensor.
    pub horizon: HorizonParameters,
    /// Seed of all noise.
    pub seed: u64,
    /// Number of the run, for campaigns.
    pub run: u32,
}

/// Why a plant cannot go on.
#[derive(Debug, Error)]
pub enum PlantError {
    /// The inertia is impossible.
    #[error(transparent)]
    Inertia(#[from] InertiaError),
    /// The film transport's parameters are impossible.
    #[error(transparent)]
    Film(#[from] FilmError),
    /// The orbit ended.
    #[error(transparent)]
    Orbit(#[from] OrbitError),
}
