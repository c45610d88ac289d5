//! From a validated scenario to plant, camera, controller and load.

use super::{home::plan::HomePlan, load_faults, settings};
use crate::{
    descent::DescentError,
    imaging::{
        budget::Budget,
        camera::{Camera, CameraKind as ImagingKind, SweepGeometry},
    },
    nitrogen,
    noise::NoiseSource,
    passes::{
        prediction::Prediction,
        programme::{self, ProgrammeError, Tools},
        rate_fit::Grid,
    },
    plant::{
        Plant, PlantError, PlantParameters,
        film::{FilmParameters, platen::PlatenParameters, shutter::ShutterParameters, splice::Splice},
        jets::{FeedParameters, JetParameters, Scheme, Workmanship},
        mass::MassParameters,
        sensors::{GyroParameters, HorizonParameters, limb::LimbParameters},
        sweep::SweepParameters,
        torque::{
            air::Stream,
            surface::{self, Facet},
        },
    },
    scenario::{
        Loaded, Refusal, Scenario,
        parts::{
            camera::{CameraKind, SmearBudget},
            feed,
            run::LoadBy,
            surface::{Shape, Surface},
            vehicle::{Bank, Jet},
        },
    },
    world::{
        atmosphere::Atmosphere,
        elements::{StartError, check_start},
        ellipsoid,
        forces::Forces,
        frames::{EarthRotation, OrbitalFrame},
        kepler::{Elements, State},
        mean_elements::MeanElements,
        orbit::OrbitError,
        time::{TimeError, Utc},
    },
};
use nalgebra::{Matrix3, Vector3};
use stillframe_controller::{
    Controller,
    io::TICKS_PER_S,
    programme::load::{Load, LoadError},
    settings::{Settings, SettingsError},
};
use thiserror::Error;

/// Why a validated scenario still cannot fly.
#[derive(Debug, Error)]
pub enum BuildError {
    /// The settings file was refused.
    #[error("the settings were refused")]
    Refused(Box<Refusal>),
    /// The controller refused its settings.
    #[error("the controller refused its settings: {0:?}")]
    Settings(SettingsError),
    /// The orbit's start is refused.
    #[error("the orbit's start is refused: {0}")]
    Start(#[from] StartError),
    /// The predicted orbit comes down within the run.
    #[error("the predicted orbit ends within the run: {0}")]
    Orbit(#[from] OrbitError),
    /// The plant cannot be built.
    #[error(transparent)]
    Plant(#[from] PlantError),
    /// The programme cannot be made into a load.
    #[error("the programme cannot be loaded: {0}")]
    Programme(#[from] ProgrammeError),
    /// The controller refused the load.
    #[error("the controller refused the load made from the programme: {0:?}")]
    Load(LoadError),
    /// The start is outside the time table.
    #[error(transparent)]
    Time(#[from] TimeError),
    /// The return cannot be planned.
    #[error("the return cannot be planned: {0}")]
    Return(Box<DescentError>),
}

impl From<DescentError> for BuildError {
    fn from(error: DescentError) -> Self {
        Self::Return(Box::new(error))
    }
}

/// Everything a flight starts from.
pub struct Built {
    /// Plant.
    pub plant: Plant,
    /// Controller, loaded.
    pub controller: Controller,
    /// Settings in force.
    pub settings: Settings,
    /// Their digest.
    pub settings_digest: u32,
    /// Camera, for judging frames.
    pub camera: Camera,
    /// Shutter.
    pub shutter: ShutterParameters,
    /// The load.
    pub load: Load,
    /// The way home, if the run has one.
    pub home: Option<HomePlan>,
    /// Orbit as the ground predicts it.
    pub prediction: Prediction,
    /// Start of the run.
    pub start: Utc,
    /// State at the start.
    pub start_state: State,
}

impl Built {
    /// What the settings file says of the way home that the plan of the return has otherwise, a sentence each: it is flown
    /// as written.
    pub fn strays(&self) -> Vec<String> {
        self.home.as_ref().map_or_else(Vec::new, |home| home.strays(&self.settings))
    }
}

/// Builds it all.
///
/// # Errors
/// [`BuildError`].
pub fn build(loaded: &Loaded, seed: u64) -> Result<Built, BuildError> {
    let scenario = &loaded.scenario;
    let start = Utc::parse(&scenario.run.start.to_string())?;
    let state = start_state(loaded, start)?;
    let mass = mass_parameters(scenario);
    let home = HomePlan::of(loaded)?;
    let (settings, settings_digest) = settings::for_flight(loaded, home.as_ref())?;
    let camera = camera(scenario);
    let parameters = plant_parameters(scenario, start, state, mass, seed);
    let shutter = parameters.shutter;
    let plant = Plant::new(parameters)?;
    let earth = EarthRotation::at_start(start, scenario.run.ut1_minus_utc_s);
    // The ground predicts with the standard atmosphere: it does not know the true density.
    let mut forces = forces(scenario, 1.0);
    forces.drag_area_per_mass_m2_kg = drag_area_m2(scenario, &state) / plant.mass().mass_kg;
    let prediction = Prediction::new(forces, state, earth, scenario.run.duration_s + 60.0)?;
    let tools = Tools { prediction: &prediction, camera: &camera, speeds: speeds(&settings), start };
    let planned = match &home {
        Some(home) => programme::load(&home.with_commands(scenario), &tools)?,
        None => programme::load(scenario, &tools)?,
    };
    let load = load_faults::spoil(&planned, scenario, settings.camera.on_limit_ticks);
    let mut controller = Controller::new(settings.clone()).map_err(BuildError::Settings)?;
    // The load is judged here either way: one that would be refused is not worth sending.
    let mut judge = controller.clone();
    judge.load(&load.encode(), 0).map_err(BuildError::Load)?;
    if scenario.run.load_by == LoadBy::Pad {
        controller = judge;
    }
    Ok(Built {
        plant,
        controller,
        settings,
        settings_digest,
        camera,
        shutter,
        load,
        home,
        prediction,
        start,
        start_state: state,
    })
}

/// Lowest and highest geodetic height, m, of the orbit's first revolution: the conic through its start, every degree.
///
/// # Errors
/// [`BuildError`] if the start is refused.
pub fn start_heights_m(loaded: &Loaded) -> Result<(f64, f64), BuildError> {
    let start = Utc::parse(&loaded.scenario.run.start.to_string())?;
    let state = start_state(loaded, start)?;
    check_start(&state)?;
    let elements = Elements::from_state(&state);
    let heights = elements.iter().flat_map(|elements| {
        (0..360).map(|degree| {
            let at = Elements { true_anomaly_rad: f64::from(degree).to_radians(), ..*elements };
            ellipsoid::height_m(&at.to_state().position_m)
        })
    });
    let here_m = ellipsoid::height_m(&state.position_m);
    Ok(heights.fold((here_m, here_m), |(low, high), height_m| (low.min(height_m), high.max(height_m))))
}

/// Speeds that the film drive, or platen, can be asked for.
pub fn speeds(settings: &Settings) -> Grid {
    let camera = &settings.camera;
    let whole = |steps: u32| steps.min(u32::from(u16::MAX)) as u16;
    Grid {
        step_m_s: f64::from(camera.speed_step_m_s),
        least: whole(camera.speed_step_min),
        most: whole(camera.speed_step_max),
    }
}

/// Where the orbit starts.
///
/// # Errors
/// If a published element set cannot be carried to the start.
pub fn start_state(loaded: &Loaded, start: Utc) -> Result<State, BuildError> {
    let orbit = &loaded.scenario.orbit;
    if let Some(state) = &orbit.state {
        return Ok(State { position_m: state.position_m.into(), velocity_m_s: state.velocity_m_s.into() });
    }
    if let Some(e) = &orbit.elements {
        let elements = Elements {
            semi_major_axis_m: e.semi_major_axis_m,
            eccentricity: e.eccentricity,
            inclination_rad: e.inclination_rad,
            node_rad: e.node_rad,
            perigee_rad: e.perigee_rad,
            true_anomaly_rad: e.true_anomaly_rad,
        };
        return Ok(elements.to_state());
    }
    let set = orbit.element_set.as_ref().expect("a validated scenario has one description of its orbit");
    let mean = match (&set.line1, &set.line2) {
        (Some(one), Some(two)) => MeanElements::from_lines(None, one, two)?,
        _ => MeanElements::from_omm_json(loaded.neighbour(set.omm.as_deref().unwrap_or_default()))?,
    };
    Ok(mean.start_at(start)?.0)
}

/// Drag coefficient times area, m²: as given, or of the surfaces as they meet the air at the start with the
/// camera straight down. The coefficient falls by 2 % from 235 to 180 km as the air cools.
pub fn drag_area_m2(scenario: &Scenario, orbit: &State) -> f64 {
    if !scenario.world.aerodynamics {
        return 0.0;
    }
    let given_m2 = scenario.vehicle.drag_area_m2 * scenario.vehicle.drag_coefficient;
    let facets: Vec<Facet> = scenario.surfaces.iter().flat_map(facets).collect();
    let forces = forces(scenario, 1.0);
    let to_orbital = OrbitalFrame::from_state(&orbit.position_m, &orbit.velocity_m_s).from_inertial();
    let velocity_m_s = to_orbital * forces.air_velocity(&orbit.position_m, &orbit.velocity_m_s);
    let air = forces.atmosphere.state(ellipsoid::height_m(&orbit.position_m));
    match Stream::new(&velocity_m_s, &air, scenario.world.accommodation) {
        Some(stream) if !facets.is_empty() => {
            stream.load(&facets, &Vector3::zeros()).0.dot(&stream.direction) / stream.pressure_pa
        }
        _ => given_m2,
    }
}

/// Gravity and air under the scenario's Sun, its density multiplied; no drag area yet.
pub fn forces(scenario: &Scenario, density_factor: f64) -> Forces {
    let factor = if scenario.world.aerodynamics { density_factor } else { 0.0 };
    Forces::new(Atmosphere::new(factor).under_sun(scenario.world.solar_flux_sfu), 0.0)
}

/// Masses and inertia as drawn.
pub fn mass_parameters(scenario: &Scenario) -> MassParameters {
    let v = &scenario.vehicle;
    let i = &v.inertia;
    MassParameters {
        dry_kg: v.dry_mass_kg,
        dry_inertia_kg_m2: Matrix3::new(
            i.xx_kg_m2, i.xy_kg_m2, i.xz_kg_m2, i.xy_kg_m2, i.yy_kg_m2, i.yz_kg_m2, i.xz_kg_m2, i.yz_kg_m2, i.zz_kg_m2,
        ),
        supply_m: v.supply_reel_m.into(),
        take_up_m: v.take_up_reel_m.into(),
        tank_m: v.tank_m.into(),
        moving: scenario.world.moving_mass,
    }
}

/// What the plant is built from, for a start of the orbit.
pub(crate) fn plant_parameters(
    scenario: &Scenario,
    start: Utc,
    orbit: State,
    mass: MassParameters,
    seed: u64,
) -> PlantParameters {
    let v = &scenario.vehicle;
    PlantParameters {
        start,
        ut1_minus_utc_s: scenario.run.ut1_minus_utc_s,
        orbit,
        forces: forces(scenario, scenario.world.density_factor),
        mass,
        drag_area_m2: drag_area_m2(scenario, &orbit),
        pressure_centre_m: v.pressure_centre_m.into(),
        facets: scenario.surfaces.iter().flat_map(facets).collect(),
        accommodation: scenario.world.accommodation,
        dipole_a_m2: if scenario.world.magnetic_field { v.dipole_a_m2.into() } else { Vector3::zeros() },
        air_torque: scenario.world.aerodynamics,
        sunlight: scenario.world.sunlight,
        gravity_gradient: scenario.world.gravity_gradient,
        jets_push_orbit: scenario.world.jets_push_orbit,
        attitude_rad: v.attitude_rad,
        rate_rad_s: v.tip_off_rad_s.into(),
        jets: jets(scenario, seed),
        feed: feed_parameters(scenario),
        tank_volume_m3: scenario.tank.volume_m3,
        gas_kg: scenario.tank.gas_kg,
        tank_temperature_k: scenario.tank.temperature_k,
        tank_soak_s: scenario.tank.soak_s,
        leak_kg_s: scenario.tank.leak_kg_s,
        film: film(scenario),
        shutter: shutter(scenario),
        sweep: sweep(scenario),
        gyros: gyros(scenario),
        horizon: horizon(scenario),
        seed,
        run: RUN,
    }
}

fn facets(surface: &Surface) -> Vec<Facet> {
    let light = [surface.mirrored, surface.scattered];
    let centre_m = surface.centre_m.into();
    match &surface.kind {
        Shape::Plate(plate) => vec![surface::plate(centre_m, plate.normal.into(), plate.area_m2, light)],
        Shape::Cylinder(c) => surface::cylinder(centre_m, c.axis.into(), c.diameter_m, c.length_m, light),
    }
}

/// Run's number, for draws: a campaign changes the seed.
const RUN: u32 = 0;

/// The jets as the workshop made them.
fn jets(scenario: &Scenario, seed: u64) -> Vec<JetParameters> {
    let (feed, pressure_pa) = (&scenario.feed, rated_pa(scenario));
    let s = &scenario.jet_spread;
    let spread = Workmanship {
        thrust: s.thrust,
        direction_rad: s.direction_rad,
        open_delay_s: s.open_delay_s,
        close_delay_s: s.close_delay_s,
        jitter_s: s.jitter_s,
    };
    let made = |(place, drawn): (usize, &Jet)| {
        let drawn = JetParameters { tail_share: feed.tail_share, ..jet(drawn) };
        let drawn = drawn.with_plenum(feed.plenum_m3, pressure_pa, scenario.tank.temperature_k);
        drawn.as_built(place as u32, &spread, seed, RUN)
    };
    scenario.jets.iter().enumerate().map(made).collect()
}

/// Pressure at which the jets have their thrust, Pa.
fn rated_pa(scenario: &Scenario) -> f64 {
    let tank = &scenario.tank;
    match scenario.feed.scheme {
        feed::Scheme::Blowdown => nitrogen::pressure_pa(tank.gas_kg / tank.volume_m3, tank.temperature_k),
        feed::Scheme::Constant | feed::Scheme::Regulator => scenario.feed.pressure_pa,
    }
}

fn feed_parameters(scenario: &Scenario) -> FeedParameters {
    let (feed, pressure_pa, temperature_k) = (&scenario.feed, rated_pa(scenario), scenario.tank.temperature_k);
    // A scenario has at least one jet.
    let one_kg_s = scenario.jets.first().map_or(1.0, |drawn| jet(drawn).flow_kg_s());
    FeedParameters {
        scheme: match feed.scheme {
            feed::Scheme::Constant => Scheme::Constant,
            feed::Scheme::Regulator => Scheme::Regulator,
            feed::Scheme::Blowdown => Scheme::Blowdown,
        },
        pressure_pa,
        lock_up: feed.lock_up,
        slope_s_kg: if feed.scheme == feed::Scheme::Regulator { feed.droop / one_kg_s } else { 0.0 },
        hysteresis: feed.hysteresis,
        line_kg: feed.line_m3 * pressure_pa / (nitrogen::GAS_CONSTANT * temperature_k),
        latch_delay_s: feed.latch_delay_s,
        temperature_k,
    }
}

fn jet(jet: &Jet) -> JetParameters {
    let push = Vector3::from(jet.unit_direction());
    // A small rotation: the push is turned by the misalignment vector.
    let push = (push + Vector3::from(jet.misalignment_rad).cross(&push)).normalize();
    JetParameters {
        name: jet.name.clone(),
        bank: usize::from(jet.bank == Bank::B),
        position_m: jet.position_m.into(),
        push,
        thrust_n: jet.thrust_n,
        specific_impulse_s: jet.specific_impulse_s,
        open_delay_s: jet.open_delay_s,
        close_delay_s: jet.close_delay_s,
        jitter_s: 0.0,
        minimum_pulse_s: jet.minimum_pulse_s,
        plenum_kg: 0.0,
        tail_share: 1.0,
        plume_share: jet.plume_share,
        plume_on_m: jet.plume_on_m.unwrap_or(jet.position_m).into(),
        jitter: NoiseSource::new(0, RUN, "", 0),
    }
}

fn gyros(scenario: &Scenario) -> GyroParameters {
    let g = &scenario.gyro;
    GyroParameters {
        drift_rad_s: g.drift_rad_s.into(),
        random_walk_rad_rts: g.random_walk_rad_rt_s,
        instability_rad_s: g.bias_instability_rad_s,
        rate_walk_rad_s_rts: g.rate_random_walk_rad_s_rt_s,
        scale_error: g.scale_error.into(),
        misalignment_rad: g.misalignment_rad.into(),
        range_rad_s: g.range_rad_s,
        quantum_rad_s: g.quantisation_rad_s,
    }
}

fn horizon(scenario: &Scenario) -> HorizonParameters {
    let h = &scenario.horizon;
    HorizonParameters {
        noise_rad: h.noise_rad,
        bias_rad: [h.bias_roll_rad, h.bias_pitch_rad],
        range_rad: h.range_rad,
        scan_half_angle_rad: h.scan_half_angle_rad,
        sample_ticks: (f64::from(TICKS_PER_S) / h.sample_rate_hz).round() as u64,
        acquire_samples: (h.acquire_s * h.sample_rate_hz).round() as u32,
        oblate: h.oblateness,
        limb: LimbParameters {
            height_m: h.horizon_height_m,
            season_m: h.height_season_m,
            scatter_m: h.height_scatter_m,
            cloud_m: h.cold_cloud_m,
            cloud_cover: h.cold_cloud_cover,
        },
        sun_half_angle_rad: h.sun_half_angle_rad,
        moon_half_angle_rad: h.moon_half_angle_rad,
    }
}

/// The film transport: the project's own mechanism, with the scenario's film, reels and counters.
pub fn film(scenario: &Scenario) -> FilmParameters {
    let from = &scenario.film;
    let mut film = match &scenario.camera.kind {
        CameraKind::Strip(_) => FilmParameters::default(),
        CameraKind::Frame(_) => FilmParameters::framing(),
        CameraKind::Sweep(sweep) => {
            let framing = FilmParameters::framing();
            let platen = framing.platen.map(|platen| PlatenParameters {
                speed_step_m_s: sweep.platen_step_m_s,
                travel_m: sweep.platen_travel_m,
                ..platen
            });
            FilmParameters { platen, ..framing }
        }
    };
    film.load_m = from.load_m;
    film.wound_m = from.wound_m;
    film.web.thickness_m = from.thickness_m;
    film.web.width_m = from.width_m;
    film.web.density_kg_m3 = from.density_kg_m3;
    film.web.modulus_pa = from.modulus_pa;
    film.web.breaking_n = from.break_tension_n;
    for reel in [&mut film.supply, &mut film.take_up] {
        reel.core_radius_m = from.core_radius_m;
        reel.hub_inertia_kg_m2 = from.hub_inertia_kg_m2;
        reel.drag_nm = from.reel_drag_n_m;
        reel.brake_nm = from.reel_brake_n_m;
        reel.motor.constant_nm_a = from.reel_motor_n_m_a;
        reel.motor.resistance_ohm = from.reel_motor_ohm;
        reel.motor.current_limit_a = from.reel_motor_limit_a;
    }
    let roller = &mut film.roller;
    roller.radius_m = from.roller_radius_m;
    roller.inertia_kg_m2 = from.roller_inertia_kg_m2;
    roller.drag_nm = from.roller_drag_n_m;
    roller.motor.constant_nm_a = from.roller_motor_n_m_a;
    roller.motor.resistance_ohm = from.roller_motor_ohm;
    roller.motor.current_limit_a = from.roller_motor_limit_a;
    film.gauges.roller_counts_per_turn = from.roller_counts;
    film.gauges.reel_counts_per_turn = from.reel_counts;
    film.bus_v = from.supply_v;
    for arm in [&mut film.supply_arm, &mut film.take_up_arm] {
        arm.middle_tension_n = from.tension_n;
        // An arm takes in twice its way and is pulled at by two strands.
        arm.stiffness_n_m = from.arm_spring_n_per_m.map_or(arm.stiffness_n_m, |spring| 4.0 * spring);
        arm.travel_m = from.arm_travel_m.unwrap_or(arm.travel_m);
    }
    film.splices = from.splices_m.iter().map(|&at_m| Splice::taped(at_m)).collect();
    film.take_up.spin = if from.counter_rotating { -film.supply.spin } else { film.supply.spin };
    film
}

/// The shutter's own delays are nil: the capping shutter of a strip camera opens well before its first frame
/// is judged, and a framing shutter's delays are part of its setting.
fn shutter(_: &Scenario) -> ShutterParameters {
    ShutterParameters::default()
}

/// The sweep: drive, stops and sensor are the project's own choice of a plausible mechanism.
fn sweep(scenario: &Scenario) -> Option<SweepParameters> {
    let CameraKind::Sweep(sweep) = &scenario.camera.kind else { return None };
    let home_rad = sweep.half_angle_rad + sweep.run_in_rad;
    Some(SweepParameters {
        inertia_kg_m2: sweep.inertia_kg_m2,
        step_rad_s: SWEEP_STEP_RAD_S,
        response_s: 0.01,
        most_rad_s2: 30.0,
        stop_rad: home_rad + 0.1,
        start_rad: -home_rad,
        gauge_rad: 1e-5,
    })
}

/// Rate of one step of the sweep's drive, rad/s.
pub const SWEEP_STEP_RAD_S: f64 = 1e-3;

fn budget(from: &SmearBudget) -> Budget {
    Budget {
        film_rate: from.film_rate,
        film_uneven: from.film_uneven,
        roll_rate_rad_s: from.roll_rate_rad_s,
        pitch_rate_rad_s: from.pitch_rate_rad_s,
        yaw_rad: from.yaw_rad,
        relief_m: from.relief_m,
    }
}

/// The camera for judging frames.
pub fn camera(scenario: &Scenario) -> Camera {
    let from = &scenario.camera;
    let mut camera = Camera {
        focal_length_m: from.focal_length_m,
        f_number: from.f_number,
        format_width_m: from.format_width_m,
        format_length_m: from.frame_length_m,
        lens_resolution_lp_mm: from.lens_lp_m * 1e-3,
        film_resolution_lp_mm: from.film_lp_m * 1e-3,
        vibration_m: from.vibration_m,
        transmission: from.transmission,
        filter_factor: from.filter_factor,
        film_speed_eafs: from.film_speed_eafs,
        film_gamma: from.film_gamma,
        film_granularity: from.film_granularity,
        budget: budget(&from.budget),
        wanted_grd_m: from.wanted_grd_m,
        ..Camera::default()
    };
    match &from.kind {
        CameraKind::Strip(strip) => {
            camera.kind = ImagingKind::Strip;
            camera.slit_widths_m.clone_from(&strip.slit_widths_m);
        }
        CameraKind::Frame(frame) => {
            camera.kind = ImagingKind::Framing;
            camera.shutter_times_s.clone_from(&frame.shutter_s);
            camera.shutter_efficiency = frame.shutter_efficiency;
        }
        CameraKind::Sweep(sweep) => {
            camera.kind = ImagingKind::Sweep;
            camera.slit_widths_m.clone_from(&sweep.slit_widths_m);
            // Film lies across the track.
            (camera.format_length_m, camera.format_width_m) = (from.format_width_m, from.frame_length_m);
            camera.sweep = Some(SweepGeometry { half_angle_rad: sweep.half_angle_rad, rate_rad_s: sweep.rate_rad_s });
        }
    }
    camera
}
