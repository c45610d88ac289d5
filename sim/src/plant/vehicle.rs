//! The vehicle as a whole, one base tick at a time.

use super::{
    body::{Forcing, InertiaError, Motion, RigidBody, State},
    film::{
        FilmError, FilmParameters, FilmPlant,
        shutter::{OpenIntervals, Shutter, ShutterParameters},
    },
    gas::Tank,
    jets::{FlowEdge, JetFault, JetParameters, Jets, Push},
    ledger::MomentumLedger,
    mass::{MassParameters, MassProperties},
    sensors::{GyroParameters, Gyros, Horizon, HorizonParameters, HorizonView},
};
use crate::{
    imaging::sample::TruthSample,
    noise::NoiseSource,
    world::{
        forces::Forces,
        frames::{EarthRotation, OrbitalFrame},
        gravity::GM_M3_S2,
        kepler,
        orbit::{Orbit, OrbitError, Sample},
        sun::Sun,
        time::Utc,
    },
};
use nalgebra::{Matrix3, Quaternion, UnitQuaternion, Vector3};
use stillframe_controller::io::{ATTITUDE_TICKS, Actuators, FilmSample, HorizonSample, Sensors, TankSample};
use thiserror::Error;

/// Length of a base tick, s.
pub const TICK_S: f64 = 0.01;
/// Base ticks between gyro readings: one for each attitude step.
const GYRO_TICKS: u64 = ATTITUDE_TICKS as u64;
/// Base ticks between horizon samples (10 Hz).
const HORIZON_TICKS: u64 = 10;
/// Base ticks between updates of air torque, leak and Sun.
const SLOW_TICKS: u64 = 100;
/// Step of the orbit integration, s.
const ORBIT_STEP_S: f64 = 5.0;

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
    /// Area for drag, m².
    pub drag_area_m2: f64,
    /// Drag coefficient.
    pub drag_coefficient: f64,
    /// Place of the centre of pressure in the drawing frame, m.
    pub pressure_centre_m: Vector3<f64>,
    /// Air torque on.
    pub air_torque: bool,
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
    /// Tank volume, m³.
    pub tank_volume_m3: f64,
    /// Gas loaded, kg.
    pub gas_kg: f64,
    /// Tank temperature, K.
    pub tank_temperature_k: f64,
    /// Leak from the tank, without torque, kg/s.
    pub leak_kg_s: f64,
    /// Film transport.
    pub film: FilmParameters,
    /// Shutter.
    pub shutter: ShutterParameters,
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

/// What is true at one moment; for the record, never for the controller.
#[derive(Clone, Debug)]
pub struct Truth {
    /// Time since the start, s.
    pub time_s: f64,
    /// Surroundings.
    pub orbit: Sample,
    /// Attitude and rates.
    pub state: State,
    /// Local orbital frame.
    pub frame: OrbitalFrame,
    /// Angle of the Earth-fixed axes, rad.
    pub earth_angle_rad: f64,
    /// Torque of air, gravity gradient and leaking jets, N·m, body axes.
    pub disturbance_nm: Vector3<f64>,
}

/// The vehicle in its surroundings.
#[derive(Clone, Debug)]
pub struct Plant {
    parameters: PlantParameters,
    earth: EarthRotation,
    orbit: Orbit,
    sun: Sun,
    mass: MassProperties,
    mass_film_m: f64,
    body: RigidBody,
    state: State,
    /// Ticks gone by, and how far the body's state lags behind them, s.
    tick: u64,
    behind_s: f64,
    /// Position (unit vector) and 3μ/r³ at the body's own time.
    up: [f64; 3],
    /// Momentum of the reels at the body's own time, N·m·s.
    reel_nms: f64,
    jets: Jets,
    edges: Vec<FlowEdge>,
    flowing: u32,
    push: Push,
    /// Torque of the air and of jets that leak, N·m, body axes; moves once a second.
    slow_torque_nm: Vector3<f64>,
    tank: Tank,
    film: FilmPlant,
    shutter: Shutter,
    gyros: Gyros,
    horizon: Horizon,
    gyro_read: [f32; 3],
    horizon_read: HorizonSample,
    film_read: FilmSample,
    tank_read: TankSample,
    /// Gas in the tank when it was last read, kg.
    tank_read_kg: f64,
    /// Ticks by which the on-board clock is ahead of true time, faults included.
    pub clock_ahead: i64,
    ledger: MomentumLedger,
    velocity_due_m_s: Vector3<f64>,
    /// Leaks that faults have opened: from the tank, and at each jet's seat, kg/s.
    fault_leak_kg_s: f64,
    seat_leak_kg_s: Vec<f64>,
    /// Valve edges of the last tick, at true times, for the record.
    pub flow_edges: Vec<FlowEdge>,
}

fn array(v: &Vector3<f64>) -> [f64; 3] {
    [v.x, v.y, v.z]
}

fn rows(m: &Matrix3<f64>) -> [[f64; 3]; 3] {
    [0, 1, 2].map(|i| [0, 1, 2].map(|j| m[(i, j)]))
}

impl Plant {
    /// A plant at the start of its run.
    ///
    /// # Errors
    /// Impossible inertia or film, or an orbit that is already down.
    pub fn new(parameters: PlantParameters) -> Result<Self, PlantError> {
        let p = &parameters;
        p.film.check()?;
        let film = FilmPlant::new(&p.film);
        let mass = p.mass.with(film.supply_mass_kg(), film.take_up_mass_kg(), p.gas_kg);
        let body = RigidBody::new(rows(&mass.inertia_kg_m2))?;
        let mut forces = p.forces;
        forces.drag_area_per_mass_m2_kg = p.drag_coefficient * p.drag_area_m2 / mass.mass_kg;
        let orbit = Orbit::new(forces, p.orbit, 0.0, ORBIT_STEP_S)?;
        let noise = |source| NoiseSource::new(p.seed, p.run, source, 0);
        let frame = OrbitalFrame::from_state(&p.orbit.position_m, &p.orbit.velocity_m_s);
        let state = State { q: start_attitude(&frame, p.attitude_rad), w: array(&p.rate_rad_s) };
        let gyro_step_s = GYRO_TICKS as f64 * TICK_S;
        let gyros = Gyros::new(p.gyros.clone(), noise("gyro random walk"), noise("gyro slow drift"), gyro_step_s);
        let mut plant = Self {
            earth: EarthRotation::at_start(p.start, p.ut1_minus_utc_s),
            sun: Sun::at(p.start),
            up: array(&p.orbit.position_m.normalize()),
            jets: Jets::new(p.jets.clone()),
            tank: Tank::new(p.tank_volume_m3, p.gas_kg, p.tank_temperature_k),
            shutter: Shutter::new(&p.shutter),
            horizon: Horizon::new(p.horizon.clone(), noise("horizon")),
            mass_film_m: film.wound_m(),
            reel_nms: 0.0,
            tick: 0,
            behind_s: 0.0,
            edges: Vec::new(),
            flowing: 0,
            push: Push::default(),
            slow_torque_nm: Vector3::zeros(),
            gyro_read: [0.0; 3],
            horizon_read: HorizonSample::default(),
            film_read: FilmSample::default(),
            tank_read: TankSample::default(),
            tank_read_kg: f64::NAN,
            clock_ahead: 0,
            ledger: MomentumLedger::default(),
            velocity_due_m_s: Vector3::zeros(),
            fault_leak_kg_s: 0.0,
            seat_leak_kg_s: vec![0.0; p.jets.len()],
            flow_edges: Vec::new(),
            gyros,
            film,
            orbit,
            mass,
            body,
            state,
            parameters,
        };
        plant.ledger = MomentumLedger::open(plant.momentum_nms());
        plant.slow_update()?;
        Ok(plant)
    }

    /// What the sensors say at this tick's boundary. `uplink`: bytes that arrive in this tick.
    pub fn sensors(&mut self, uplink: &[u8]) -> Sensors {
        let tick = (self.tick as i64 + self.clock_ahead).max(0) as u32;
        self.read_gauges();
        if self.tick.is_multiple_of(GYRO_TICKS) {
            self.catch_up();
            self.gyro_read = self.gyros.read(self.tick / GYRO_TICKS, &Vector3::from(self.state.w));
        }
        if self.tick.is_multiple_of(HORIZON_TICKS) {
            self.catch_up();
            let view = self.horizon_view();
            self.horizon_read = self.horizon.read(self.tick / HORIZON_TICKS, &view);
        }
        Sensors {
            tick,
            gyro_rad_s: self.gyro_read,
            horizon: self.horizon_read,
            tank: self.tank_read,
            film: self.film_read,
            uplink: uplink.iter().copied().collect(),
            separated: true,
        }
    }

    /// Gauges of film and tank; those of a mechanism at rest stay as they are.
    fn read_gauges(&mut self) {
        if !self.film.asleep() || self.film_read.shutter_open != self.shutter.is_open() || self.tick == 0 {
            self.film_read = self.film.sample(self.shutter.is_open());
        }
        if self.tank_read_kg != self.tank.mass_kg() {
            self.tank_read_kg = self.tank.mass_kg();
            self.tank_read.pressure_pa = self.tank.pressure_pa() as f32;
            self.tank_read.temperature_k = self.tank.temperature_k() as f32;
        }
    }

    /// Goes on by one tick under `actuators`. `watch` is called with every instant of `instants_s` (s from
    /// the start, in order) that falls into this tick.
    ///
    /// # Errors
    /// If the orbit has come down.
    pub fn tick(
        &mut self,
        actuators: &Actuators,
        instants_s: &[f64],
        watch: &mut impl FnMut(usize, TruthSample),
    ) -> Result<OpenIntervals, PlantError> {
        let mut edges = std::mem::take(&mut self.edges);
        self.jets.tick(&actuators.jets, actuators.latch_open, &mut edges);
        let film_speed_before_m_s = self.film.speed_m_s();
        let reaction = self.film.advance(TICK_S, &actuators.film, 0.0);
        let kick_nms = -reaction.momentum_change_nms;
        let open = self.shutter.advance(&actuators.shutter);
        let quiet = edges.is_empty() && kick_nms == 0.0 && instants_s.is_empty();
        if quiet {
            self.behind_s += TICK_S;
        } else {
            self.catch_up();
            let mut step = TickStep { kick_nms, film_speed_before_m_s, instants_s, seen: 0 };
            self.busy_tick(&edges, &mut step, watch);
        }
        self.flow_edges.clone_from(&edges);
        self.edges = edges;
        self.tick += 1;
        if self.tick.is_multiple_of(SLOW_TICKS) {
            self.catch_up();
            self.slow_update()?;
        }
        Ok(open)
    }

    /// A tick with valve edges, film in motion, or instants to be watched.
    fn busy_tick(&mut self, edges: &[FlowEdge], step: &mut TickStep, watch: &mut impl FnMut(usize, TruthSample)) {
        let mut from_s = 0.0;
        for edge in edges {
            self.stretch(from_s, edge.at_s, step, watch);
            from_s = edge.at_s;
            let bit = 1 << edge.jet;
            self.flowing = if edge.on { self.flowing | bit } else { self.flowing & !bit };
            self.push = self.jets.push(self.flowing, &self.mass.centre_m);
        }
        self.stretch(from_s, TICK_S, step, watch);
    }

    /// Part of a busy tick between two edges.
    fn stretch(&mut self, from_s: f64, to_s: f64, step: &mut TickStep, watch: &mut impl FnMut(usize, TruthSample)) {
        let dt_s = to_s - from_s;
        if dt_s <= 0.0 {
            return;
        }
        let start_s = self.tick as f64 * TICK_S;
        let motion = self.advance_body(start_s + from_s, dt_s, step.kick_nms * dt_s / TICK_S);
        while let Some(&at_s) = step.instants_s.get(step.seen) {
            let inside_s = at_s - start_s - from_s;
            if inside_s > dt_s && to_s < TICK_S {
                break;
            }
            let share = (at_s - start_s) / TICK_S;
            let film_speed_m_s = step.film_speed_before_m_s * (1.0 - share) + self.film.speed_m_s() * share;
            let state = motion.state_after(inside_s.clamp(0.0, dt_s));
            watch(step.seen, self.truth_sample(at_s, &state, film_speed_m_s));
            step.seen += 1;
        }
    }

    /// Brings the body's state up to the present tick's boundary.
    fn catch_up(&mut self) {
        if self.behind_s > 0.0 {
            let start_s = self.tick as f64 * TICK_S - self.behind_s;
            let dt_s = self.behind_s;
            self.behind_s = 0.0;
            self.advance_body(start_s, dt_s, 0.0);
        }
    }

    /// One step of the body under constant torque; enters all impulses into the ledgers.
    fn advance_body(&mut self, start_s: f64, dt_s: f64, kick_nms: f64) -> Motion {
        let middle = self.orbit.position_velocity(start_s + 0.5 * dt_s).0;
        let end = self.orbit.position_velocity(start_s + dt_s).0;
        let radius_m = middle.norm();
        let up_middle = array(&(middle / radius_m));
        let up_end = array(&end.normalize());
        let mut push = self.push;
        self.jets.spend(self.flowing, &mut push, dt_s, &mut self.tank);
        let gradient = if self.parameters.gravity_gradient { 3.0 * GM_M3_S2 / radius_m.powi(3) } else { 0.0 };
        let forcing = Forcing {
            torque_nm: array(&(push.torque_nm + self.slow_torque_nm)),
            reel_momentum_nms: [0.0, self.reel_nms, 0.0],
            reel_reaction_nms: [0.0, kick_nms, 0.0],
            gravity_gradient_per_s2: gradient,
            up: [self.up, up_middle, up_end],
        };
        let motion = self.body.motion(&self.state, dt_s, &forcing);
        let half = motion.state_after(0.5 * dt_s);
        self.state = motion.state_after(dt_s);
        self.reel_nms -= kick_nms;
        self.up = up_end;
        self.enter(&half, &up_middle, gradient, &push, dt_s);
        motion
    }

    fn enter(&mut self, half: &State, up: &[f64; 3], gradient: f64, push: &Push, dt_s: f64) {
        let turned = Turn::of(&half.q);
        let up_body = turned.to_body(&Vector3::from(*up));
        let gravity = Vector3::from(self.body.gravity_gradient_torque_nm(gradient, &array(&up_body)));
        let disturbance = (gravity + self.slow_torque_nm) * dt_s;
        self.ledger.disturbance(&turned.to_inertial(&disturbance), &disturbance);
        if self.flowing != 0 {
            let jets = push.torque_nm * dt_s;
            self.ledger.jets(&turned.to_inertial(&jets), &jets);
            self.velocity_due_m_s += turned.to_inertial(&push.force_n) * (dt_s / self.mass.mass_kg);
        }
    }

    /// Once a second: air torque, leak, mass properties, the orbit's share of the jets' push.
    fn slow_update(&mut self) -> Result<(), PlantError> {
        let time_s = self.tick as f64 * TICK_S;
        if self.parameters.jets_push_orbit && self.velocity_due_m_s != Vector3::zeros() {
            self.orbit.add_velocity(time_s, &self.velocity_due_m_s)?;
        }
        self.velocity_due_m_s = Vector3::zeros();
        // Half a second in: the step that covers all of the coming second.
        self.orbit.advance_to(time_s + 0.5)?;
        if self.tick.is_multiple_of(60 * SLOW_TICKS) {
            self.sun = Sun::at(self.parameters.start.plus_seconds(time_s));
        }
        let seats = self.jets.leak(&self.seat_leak_kg_s, &self.mass.centre_m);
        let leak_kg_s = self.parameters.leak_kg_s + self.fault_leak_kg_s + seats.flow_kg_s;
        self.tank.leak(leak_kg_s, SLOW_TICKS as f64 * TICK_S);
        self.weigh();
        let air = self.orbit.sample(time_s);
        self.slow_torque_nm = if self.parameters.air_torque { self.air_torque(&air) } else { Vector3::zeros() };
        if self.tank.mass_kg() > 0.0 {
            self.slow_torque_nm += seats.torque_nm;
        }
        Ok(())
    }

    /// Mass properties follow the film (whenever 50 mm have moved) and the gas (once a minute).
    fn weigh(&mut self) {
        let moved_m = (self.film.wound_m() - self.mass_film_m).abs();
        if moved_m < 0.05 && !self.tick.is_multiple_of(60 * SLOW_TICKS) {
            return;
        }
        self.mass_film_m = self.film.wound_m();
        let (supply_kg, take_up_kg) = (self.film.supply_mass_kg(), self.film.take_up_mass_kg());
        self.mass = self.parameters.mass.with(supply_kg, take_up_kg, self.tank.mass_kg());
        self.body
            .set_inertia(&mut self.state, rows(&self.mass.inertia_kg_m2))
            .expect("moving film and gas keep an inertia possible that was possible at the start");
        self.push = self.jets.push(self.flowing, &self.mass.centre_m);
    }

    /// Torque of free-stream drag at the centre of pressure, N·m.
    fn air_torque(&self, air: &Sample) -> Vector3<f64> {
        let p = &self.parameters;
        let wind = Vector3::from(self.state.rotate_to_body(&array(&air.air_velocity_m_s)));
        let force = wind * (-0.5 * air.density_kg_m3 * wind.norm() * p.drag_area_m2 * p.drag_coefficient);
        (p.pressure_centre_m - self.mass.centre_m).cross(&force)
    }

    fn horizon_view(&self) -> HorizonView {
        let turned = Turn::of(&self.state.q);
        let up = Vector3::from(self.up);
        // North at the sub-point: the part of the pole's direction across the local vertical.
        // Above a pole there is none, and no oblateness to be seen either.
        let north = (Vector3::z() - up * up.z).try_normalize(0.0).unwrap_or_default();
        HorizonView {
            down_body: turned.to_body(&-up),
            north_body: turned.to_body(&north),
            latitude: (up.z, (1.0 - up.z * up.z).max(0.0).sqrt()),
            radius_m: self.orbit.position_velocity(self.tick as f64 * TICK_S).0.norm(),
        }
    }

    fn truth_sample(&self, time_s: f64, state: &State, film_speed_m_s: f64) -> TruthSample {
        let (position_m, velocity_m_s) = self.orbit.position_velocity(time_s);
        let [w, i, j, k] = state.q;
        TruthSample {
            time_s,
            position_m,
            velocity_m_s,
            attitude: UnitQuaternion::new_unchecked(Quaternion::new(w, i, j, k)),
            rate_rad_s: Vector3::from(state.w),
            earth_angle_rad: self.earth.angle_rad(time_s),
            film_speed_m_s,
        }
    }

    /// Whole angular momentum, inertial axes, N·m·s.
    fn momentum_nms(&self) -> Vector3<f64> {
        Vector3::from(self.body.angular_momentum_inertial(&self.state, &[0.0, self.reel_nms, 0.0]))
    }
}

/// What one busy tick carries along.
struct TickStep<'a> {
    kick_nms: f64,
    film_speed_before_m_s: f64,
    instants_s: &'a [f64],
    seen: usize,
}

/// Rotation matrix of a quaternion, used both ways.
struct Turn(Matrix3<f64>);

impl Turn {
    fn of(q: &[f64; 4]) -> Self {
        let [w, x, y, z] = *q;
        Self(Matrix3::new(
            1.0 - 2.0 * (y * y + z * z),
            2.0 * (x * y - w * z),
            2.0 * (x * z + w * y),
            2.0 * (x * y + w * z),
            1.0 - 2.0 * (x * x + z * z),
            2.0 * (y * z - w * x),
            2.0 * (x * z - w * y),
            2.0 * (y * z + w * x),
            1.0 - 2.0 * (x * x + y * y),
        ))
    }

    fn to_inertial(&self, body: &Vector3<f64>) -> Vector3<f64> {
        self.0 * body
    }

    fn to_body(&self, inertial: &Vector3<f64>) -> Vector3<f64> {
        self.0.tr_mul(inertial)
    }
}

fn start_attitude(frame: &OrbitalFrame, [roll, pitch, yaw]: [f64; 3]) -> [f64; 4] {
    let orbital = frame.quaternion();
    let body = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), yaw)
        * UnitQuaternion::from_axis_angle(&Vector3::y_axis(), pitch)
        * UnitQuaternion::from_axis_angle(&Vector3::x_axis(), roll);
    let q = orbital * body;
    [q.w, q.i, q.j, q.k]
}

/// Views for the record, and handles for faults.
impl Plant {
    /// Truth at the present tick's boundary.
    pub fn truth(&mut self) -> Truth {
        self.catch_up();
        let time_s = self.tick as f64 * TICK_S;
        let orbit = self.orbit.sample(time_s);
        let up = Turn::of(&self.state.q).to_body(&orbit.position_m.normalize());
        let gradient =
            if self.parameters.gravity_gradient { 3.0 * GM_M3_S2 / orbit.position_m.norm().powi(3) } else { 0.0 };
        let gravity = Vector3::from(self.body.gravity_gradient_torque_nm(gradient, &array(&up)));
        Truth {
            time_s,
            frame: OrbitalFrame::from_state(&orbit.position_m, &orbit.velocity_m_s),
            earth_angle_rad: self.earth.angle_rad(time_s),
            disturbance_nm: gravity + self.slow_torque_nm,
            state: self.state,
            orbit,
        }
    }

    /// Truth of a sample taken inside a tick.
    pub fn truth_of(&self, sample: &TruthSample) -> Truth {
        let q = sample.attitude.quaternion();
        Truth {
            time_s: sample.time_s,
            orbit: self.orbit.sample(sample.time_s),
            state: State { q: [q.w, q.i, q.j, q.k], w: array(&sample.rate_rad_s) },
            frame: OrbitalFrame::from_state(&sample.position_m, &sample.velocity_m_s),
            earth_angle_rad: sample.earth_angle_rad,
            disturbance_nm: Vector3::zeros(),
        }
    }

    /// Position in Earth-fixed axes at the present tick's boundary, m.
    pub fn position_fixed_m(&self) -> Vector3<f64> {
        let time_s = self.tick as f64 * TICK_S;
        self.earth.to_fixed(time_s, &self.orbit.position_velocity(time_s).0)
    }

    /// Relative residual of the momentum ledger: left over ÷ gone through.
    pub fn momentum_residual(&mut self) -> f64 {
        self.catch_up();
        self.ledger.residual_nms(&self.momentum_nms()) / self.ledger.throughput_nms()
    }

    /// The momentum ledger.
    pub fn ledger(&self) -> &MomentumLedger {
        &self.ledger
    }

    /// Ticks gone by.
    pub fn ticks(&self) -> u64 {
        self.tick
    }

    /// Jets.
    pub fn jets(&self) -> &Jets {
        &self.jets
    }

    /// Sets or clears a jet's fault, from the present tick's boundary on.
    pub fn set_jet_fault(&mut self, jet: usize, fault: Option<JetFault>) {
        self.catch_up();
        self.jets.set_fault(jet, fault);
        self.push = self.jets.push(self.flowing, &self.mass.centre_m);
    }

    /// Bit mask of the jets that gas flows through now.
    pub fn flowing(&self) -> u32 {
        self.flowing
    }

    /// Tank.
    pub fn tank(&self) -> &Tank {
        &self.tank
    }

    /// Film transport.
    pub fn film(&self) -> &FilmPlant {
        &self.film
    }

    /// Film transport, to set faults.
    pub fn film_mut(&mut self) -> &mut FilmPlant {
        &mut self.film
    }

    /// Shutter.
    pub fn shutter(&self) -> &Shutter {
        &self.shutter
    }

    /// Shutter, to set faults.
    pub fn shutter_mut(&mut self) -> &mut Shutter {
        &mut self.shutter
    }

    /// Gyros, to set faults.
    pub fn gyros_mut(&mut self) -> &mut Gyros {
        &mut self.gyros
    }

    /// Horizon sensor, to set faults.
    pub fn horizon_mut(&mut self) -> &mut Horizon {
        &mut self.horizon
    }

    /// Adds to (or with a negative number takes from) the leak at a jet's seat, or from the tank, kg/s.
    pub fn change_leak(&mut self, jet: Option<usize>, flow_kg_s: f64) {
        match jet.and_then(|jet| self.seat_leak_kg_s.get_mut(jet)) {
            Some(seat) => *seat += flow_kg_s,
            None => self.fault_leak_kg_s += flow_kg_s,
        }
    }

    /// The Sun, as of the last minute.
    pub fn sun(&self) -> &Sun {
        &self.sun
    }

    /// Earth rotation.
    pub fn earth(&self) -> &EarthRotation {
        &self.earth
    }

    /// Mass properties.
    pub fn mass(&self) -> &MassProperties {
        &self.mass
    }
}
