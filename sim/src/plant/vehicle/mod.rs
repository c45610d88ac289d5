//! The vehicle as a whole, one base tick at a time.
//!
//! - [`parameters`]: what it is built from;
//! - [`stepping`]: from torque edge to torque edge;
//! - [`surroundings`]: what changes slowly;
//! - [`views`]: what the record may see.

mod parameters;
mod stepping;
mod surroundings;
mod turn;
mod views;

pub use parameters::{PlantError, PlantParameters};
pub use views::Truth;

use self::{
    stepping::TickStep,
    turn::{Turn, array, rows},
};
use super::{
    body::{RigidBody, State},
    film::{
        FilmPlant,
        shutter::{OpenIntervals, Shutter},
    },
    gas::Tank,
    jets::{Event, FlowEdge, Jets, Push},
    ledger::MomentumLedger,
    mass::MassProperties,
    ordnance::{Around, Circuit},
    sensors::{GyroNoise, Gyros, Horizon, HorizonView, Surroundings},
    sweep::Sweep,
    torque::Torques,
};
use crate::{
    imaging::sample::TruthSample,
    world::{
        frames::{EarthRotation, OrbitalFrame},
        moon::Moon,
        orbit::Orbit,
        sun::Sun,
    },
};
use nalgebra::{UnitQuaternion, Vector3};
use stillframe_controller::io::{ATTITUDE_TICKS, Actuators, FilmSample, HorizonSample, Sensors, TankSample};
use stillframe_controller::ordnance::Side;

/// Length of a base tick, s.
pub const TICK_S: f64 = 0.01;
/// Base ticks between gyro readings: one for each attitude step.
const GYRO_TICKS: u64 = ATTITUDE_TICKS as u64;
/// Base ticks between updates of air torque, leak and Sun.
const SLOW_TICKS: u64 = 100;
/// Step of the orbit integration, s.
const ORBIT_STEP_S: f64 = 5.0;

/// The vehicle in its surroundings.
#[derive(Clone, Debug)]
pub struct Plant {
    parameters: PlantParameters,
    earth: EarthRotation,
    orbit: Orbit,
    sun: Sun,
    moon: Moon,
    mass: MassProperties,
    mass_film_m: f64,
    body: RigidBody,
    state: State,
    /// Ticks gone by, and how far the body's state lags behind them, s.
    tick: u64,
    behind_s: f64,
    /// Direction from the Earth's centre at the body's own time, inertial, length 1.
    up: [f64; 3],
    /// Momentum of sweep (x) and reels (y) at the body's own time, N·m·s.
    moving_nms: [f64; 3],
    /// Film's impulse on the body in the last tick, N·m·s.
    last_kick_nms: f64,
    jets: Jets,
    events: Vec<Event>,
    /// What the open jets do now, for film and reels to feel.
    push: Push,
    /// Torques from outside, once a second, and their sum, N·m, body axes.
    torques: Torques,
    slow_torque_nm: Vector3<f64>,
    /// Magnetic flux density, inertial axes, T; every ten seconds, in which it turns by up to 1.4°.
    flux_density_t: Vector3<f64>,
    tank: Tank,
    film: FilmPlant,
    shutter: Shutter,
    sweep: Option<Sweep>,
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
    /// Ordnance circuit.
    pub ordnance: Circuit,
    /// Events of it that happened at the last boundary, a bit an event.
    pub ordnance_events: u8,
    ledger: MomentumLedger,
    velocity_due_m_s: Vector3<f64>,
    /// Leaks that faults have opened: from the tank, and at each jet's seat, kg/s.
    fault_leak_kg_s: f64,
    seat_leak_kg_s: Vec<f64>,
    /// Valve edges of the last tick, at true times, for the record.
    pub flow_edges: Vec<FlowEdge>,
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
        forces.drag_area_per_mass_m2_kg = p.drag_area_m2 / mass.mass_kg;
        let orbit = Orbit::new(forces, p.orbit, 0.0, ORBIT_STEP_S)?;
        let frame = OrbitalFrame::from_state(&p.orbit.position_m, &p.orbit.velocity_m_s);
        let state = State { q: start_attitude(&frame, p.attitude_rad), w: array(&p.rate_rad_s) };
        let gyro_step_s = GYRO_TICKS as f64 * TICK_S;
        let gyros = Gyros::new(p.gyros.clone(), GyroNoise::new(p.seed, p.run), gyro_step_s);
        let mut plant = Self {
            earth: EarthRotation::at_start(p.start, p.ut1_minus_utc_s),
            sun: Sun::at(p.start),
            moon: Moon::at(p.start),
            up: array(&p.orbit.position_m.normalize()),
            jets: Jets::new(p.jets.clone(), p.feed.clone()),
            tank: Tank::new(p.tank_volume_m3, p.gas_kg, p.tank_temperature_k).cooling(p.tank_soak_s),
            shutter: Shutter::new(&p.shutter),
            sweep: p.sweep.map(Sweep::new),
            horizon: Horizon::new(p.horizon.clone(), p.seed, p.run),
            mass_film_m: film.wound_m(),
            moving_nms: [0.0; 3],
            last_kick_nms: 0.0,
            tick: 0,
            behind_s: 0.0,
            events: Vec::new(),
            push: Push::default(),
            torques: Torques::default(),
            slow_torque_nm: Vector3::zeros(),
            flux_density_t: Vector3::zeros(),
            gyro_read: [0.0; 3],
            horizon_read: HorizonSample::default(),
            film_read: FilmSample::default(),
            tank_read: TankSample::default(),
            tank_read_kg: f64::NAN,
            clock_ahead: 0,
            ordnance: flying(),
            ordnance_events: 0,
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

    /// Ordnance outputs that act from this tick's boundary on. Before [`Self::sensors`]: their switches close in
    /// microseconds, and what is read at the boundary is read behind that.
    pub fn switch_ordnance(&mut self, actuators: &Actuators) {
        self.ordnance_events = self.ordnance.take(&actuators.ordnance);
    }

    /// What the sensors say at this tick's boundary. `uplink`: bytes that arrive in this tick.
    pub fn sensors(&mut self, uplink: &[u8]) -> Sensors {
        let tick = (self.tick as i64 + self.clock_ahead).max(0) as u32;
        self.read_gauges();
        if self.tick.is_multiple_of(GYRO_TICKS) {
            self.catch_up();
            self.gyro_read = self.gyros.read(self.tick / GYRO_TICKS, &Vector3::from(self.state.w));
        }
        let horizon_ticks = self.horizon.sample_ticks();
        if self.tick.is_multiple_of(horizon_ticks) {
            self.catch_up();
            let view = self.horizon_view();
            if self.horizon.minds_surroundings() && self.tick % SLOW_TICKS < horizon_ticks {
                self.look_around(&view);
            }
            self.horizon_read = self.horizon.read(self.tick / horizon_ticks, &view);
        }
        Sensors {
            tick,
            gyro_rad_s: self.gyro_read,
            horizon: self.horizon_read,
            tank: self.tank_read,
            film: self.film_read,
            uplink: uplink.iter().copied().collect(),
            separated: true,
            ordnance: self.ordnance.sample(),
        }
    }

    /// Gauges of film and tank; those of a mechanism at rest stay as they are.
    fn read_gauges(&mut self) {
        // What the gauge last said, not whether the sweep still moves: it may have come to rest within the last tick.
        let swept = self.sweep.as_ref().is_some_and(|sweep| sweep.sample_rad() != self.film_read.sweep_rad);
        if swept || !self.film.asleep() || self.film_read.shutter_open != self.shutter.is_open() || self.tick == 0 {
            self.film_read = self.film.sample(self.shutter.is_open());
            self.film_read.sweep_rad = self.sweep.as_ref().map_or(0.0, Sweep::sample_rad);
        }
        if self.tank_read_kg != self.tank.mass_kg() {
            self.tank_read_kg = self.tank.mass_kg();
            self.tank.read();
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
        let mut events = std::mem::take(&mut self.events);
        self.jets.tick(&actuators.jets, actuators.latch_open, &mut events);
        let film_speed_before_m_s = self.film.speed_m_s();
        let reaction = self.film.advance(TICK_S, &actuators.film, self.pitch_acceleration_rad_s2());
        let swung_nms = self.sweep.as_mut().map_or(0.0, |sweep| sweep.advance(TICK_S, actuators.film.sweep_step));
        self.last_kick_nms = -reaction.momentum_change_nms;
        let kick_nms = [-swung_nms, self.last_kick_nms, 0.0];
        let open = self.shutter.advance(&actuators.shutter);
        let quiet = events.is_empty() && kick_nms == [0.0; 3] && instants_s.is_empty();
        if quiet {
            self.behind_s += TICK_S;
        } else {
            self.catch_up();
            let mut step = TickStep { kick_nms, film_speed_before_m_s, instants_s, seen: 0 };
            self.busy_tick(&events, &mut step, watch);
        }
        if !(events.is_empty() && self.flow_edges.is_empty()) {
            self.flow_edges.clear();
            self.flow_edges.extend(events.iter().filter_map(Event::edge));
        }
        self.events = events;
        self.tick += 1;
        if self.tick.is_multiple_of(SLOW_TICKS) {
            self.catch_up();
            self.slow_update()?;
        }
        Ok(open)
    }

    /// Acceleration about body +y that reels and roller feel in the coming tick: by what flows now, by the slow
    /// torques, and by the film's own last kick.
    fn pitch_acceleration_rad_s2(&self) -> f64 {
        if self.film.asleep() {
            return 0.0;
        }
        let torque_nm = self.push.torque_nm.y + self.slow_torque_nm.y + self.last_kick_nms / TICK_S;
        torque_nm / self.mass.inertia_kg_m2[(1, 1)]
    }

    fn horizon_view(&self) -> HorizonView {
        let turned = Turn::of(&self.state.q);
        HorizonView {
            position_body_m: turned.to_body(&self.orbit.position_velocity(self.tick as f64 * TICK_S).0),
            pole_body: turned.to_body(&Vector3::z()),
        }
    }

    /// What the horizon sensor's edges stand on, and what stands beside them.
    fn look_around(&mut self, view: &HorizonView) {
        let time_s = self.tick as f64 * TICK_S;
        let turned = Turn::of(&self.state.q);
        let position_m = self.orbit.position_velocity(time_s).0;
        let around = Surroundings {
            time_s,
            meridian_body: turned.to_body(&self.earth.to_inertial(time_s, &Vector3::x())),
            sun: &self.sun,
            sun_body: turned.to_body(&self.sun.direction),
            moon_body: turned.to_body(&(self.moon.position_m - position_m).normalize()),
            moon_lit: self.moon.lit(&self.sun),
        };
        self.horizon.look_around(view, &around);
    }

    /// Whole angular momentum, inertial axes, N·m·s.
    fn momentum_nms(&self) -> Vector3<f64> {
        Vector3::from(self.body.angular_momentum_inertial(&self.state, &self.moving_nms))
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

/// The vehicle's circuit after it has left its carrier, which a flight begins with.
fn flying() -> Circuit {
    let mut circuit = Circuit::new(Side::Vehicle);
    circuit.around = Around { off_carrier: true, ..Around::default() };
    circuit
}
