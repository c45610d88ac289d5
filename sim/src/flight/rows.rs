//! The series: one row from plant, controller and link.

use super::{closed_loop::ClosedLoop, place::PlaceKnown};
use crate::{
    imaging::{
        Earth,
        motion::{View, required_motion},
        sample::TruthSample,
    },
    plant::{TICK_S, Truth},
    record::columns::Row,
    scenario::parts::ground::Power,
    world::track::ground_point,
};
use nalgebra::{Quaternion, UnitQuaternion, Vector3};
use stillframe_controller::attitude::{
    Status,
    mode::{Hold, Mode},
};

/// Turns the state of a flight into rows, and keeps the power ledger.
#[derive(Clone, Debug)]
pub struct RowMaker {
    power: Power,
    place: PlaceKnown,
    focal_length_m: f64,
    film_j: f64,
    transmitted_s: f64,
    /// Gas in the tank, kg, and the pressure it makes, Pa, when a row last needed it: most rows find it the same.
    tank: (f64, f64),
}

/// Attitude as a row and the statistics want it.
#[derive(Clone, Copy, Debug)]
pub struct AttitudeTruth {
    /// Errors against the commanded steering, rad.
    pub error_rad: Vector3<f64>,
    /// Body rate less the wanted rate, rad/s.
    pub rate_error_rad_s: Vector3<f64>,
    /// Roll, pitch, yaw against the local orbital frame, rad.
    pub orbital_rad: Vector3<f64>,
}

impl RowMaker {
    /// Starts the ledger.
    pub fn new(power: Power, place: PlaceKnown, focal_length_m: f64) -> Self {
        Self { power, place, focal_length_m, film_j: 0.0, transmitted_s: 0.0, tank: (f64::NAN, f64::NAN) }
    }

    /// Adds up what was used in the tick just gone; a row's interval plays no part in it.
    pub fn tick(&mut self, flight: &ClosedLoop) {
        self.film_j += flight.plant.film().electric_power_w() * TICK_S;
        if flight.link.contact().is_some() {
            self.transmitted_s += TICK_S;
        }
    }

    /// The row of the present tick's boundary, and the attitude in it.
    pub fn row(&mut self, flight: &mut ClosedLoop) -> (Row, AttitudeTruth) {
        let truth = flight.plant.truth();
        let status = flight.controller.attitude();
        let attitude = attitude_truth_wanted(&truth, &status);
        let mut row = Row { time_s: truth.time_s, tick: flight.plant.ticks() as u32, ..Row::default() };
        self.fill_place(&mut row, &truth, flight);
        fill_attitude(&mut row, &truth, &attitude);
        self.fill_stores(&mut row, &truth, flight);
        fill_knowledge(&mut row, flight);
        (row, attitude)
    }

    fn fill_place(&self, row: &mut Row, truth: &Truth, flight: &ClosedLoop) {
        let position_m = truth.orbit.position_m;
        let place = ground_point(&position_m, flight.plant.earth(), truth.time_s);
        let sun = flight.plant.sun();
        row.position_m = position_m.into();
        row.velocity_m_s = truth.orbit.velocity_m_s.into();
        row.latitude_deg = place.latitude_rad.to_degrees();
        row.longitude_deg = place.longitude_rad.to_degrees();
        row.height_m = place.height_m;
        row.sun_elevation_deg = sun.elevation_below_rad(&position_m).to_degrees() as f32;
        row.in_eclipse = sun.visible_fraction(&position_m) < 0.5;
        row.ahead_m = self.place.ahead_m(&position_m, truth.time_s) as f32;
        row.place_since_start_m = self.place.sigma_m(truth.time_s) as f32;
        row.place_since_tracked_m = self.place.sigma_m(truth.time_s - flight.link.tracked_s.unwrap_or(0.0)) as f32;
        row.air_density_kg_m3 = truth.orbit.density_kg_m3 as f32;
        let single = |torque: Vector3<f64>| <[f32; 3]>::from(torque.map(|nm| nm as f32));
        row.disturbance_torque_n_m = single(truth.torques.sum_nm());
        row.air_torque_n_m = single(truth.torques.air_nm);
        row.gravity_torque_n_m = single(truth.torques.gravity_nm);
        row.magnetic_torque_n_m = single(truth.torques.magnetic_nm);
        row.sunlight_torque_n_m = single(truth.torques.sunlight_nm);
        row.leak_torque_n_m = single(truth.torques.leak_nm);
        let sample = square_to_orbit(truth);
        let motion = required_motion(&View::new(&Earth::WGS84, &sample), self.focal_length_m, 0.0);
        row.image_speed_m_s = motion.map_or(f32::NAN, |motion| motion.film_speed_m_s as f32);
    }

    fn fill_stores(&mut self, row: &mut Row, truth: &Truth, flight: &ClosedLoop) {
        let plant = &flight.plant;
        let film = plant.film();
        row.gas_kg = plant.tank().mass_kg();
        if self.tank.0 != row.gas_kg {
            self.tank = (row.gas_kg, plant.tank().pressure_pa());
        }
        row.tank_pressure_pa = self.tank.1 as f32;
        row.tank_temperature_k = plant.tank().temperature_k() as f32;
        row.jet_on_s = [0.0; 16];
        for (slot, on_s) in row.jet_on_s.iter_mut().zip(plant.jets().on_times_s()) {
            *slot = on_s;
        }
        row.film_speed_m_s = film.speed_m_s() as f32;
        row.film_supply_m = film.supply_m();
        row.film_take_up_m = film.wound_m();
        let [supply_n, take_up_n] = film.tension_n();
        row.supply_tension_n = supply_n as f32;
        row.take_up_tension_n = take_up_n as f32;
        row.reel_momentum_n_m_s = film.momentum_nms() as f32;
        row.shutter_open = plant.shutter().is_open();
        let valves = plant.flowing().count_ones();
        let transmitting = flight.link.contact().is_some();
        row.power_w = self.power.drawn_w(valves, film.electric_power_w(), transmitting) as f32;
        let valves_s: f64 = plant.jets().on_times_s().sum();
        let energy_j = (self.power.base_w + self.power.sensors_w) * truth.time_s
            + self.power.valve_w * valves_s
            + self.power.transmitter_w * self.transmitted_s
            + self.film_j;
        row.energy_used_wh = energy_j / 3600.0;
    }
}

/// The camera held square to the local orbital frame at the present place.
fn square_to_orbit(truth: &Truth) -> TruthSample {
    TruthSample {
        time_s: truth.time_s,
        position_m: truth.orbit.position_m,
        velocity_m_s: truth.orbit.velocity_m_s,
        attitude: truth.frame.quaternion(),
        rate_rad_s: Vector3::zeros(),
        earth_angle_rad: truth.earth_angle_rad,
        film_speed_m_s: 0.0,
    }
}

/// Errors of the true attitude against the commanded steering.
pub fn attitude_truth(truth: &Truth, steering_rad: f64, steering_rate_rad_s: f64) -> AttitudeTruth {
    let reference = UnitQuaternion::from_axis_angle(&Vector3::z_axis(), steering_rad);
    truth_against(truth, &reference, &(Vector3::z() * steering_rate_rad_s))
}

/// Errors of the true attitude against the attitude the vehicle wants, be it hold's or a turn's. The rate of a turn
/// counts as a rate error.
pub fn attitude_truth_wanted(truth: &Truth, status: &Status) -> AttitudeTruth {
    if status.mode != Mode::Turned {
        return attitude_truth(truth, f64::from(status.steering_rad), f64::from(status.steering_rate_rad_s));
    }
    let [w, i, j, k] = status.turn.wanted.map(f64::from);
    truth_against(truth, &UnitQuaternion::from_quaternion(Quaternion::new(w, i, j, k)), &Vector3::zeros())
}

/// `reference` and its rate are those against the local orbital frame.
fn truth_against(truth: &Truth, reference: &UnitQuaternion<f64>, reference_rate_rad_s: &Vector3<f64>) -> AttitudeTruth {
    let orbital = truth.frame.quaternion();
    let [w, i, j, k] = truth.state.q;
    let body = UnitQuaternion::new_unchecked(Quaternion::new(w, i, j, k));
    let in_orbit = orbital.inverse() * body;
    let error = reference.inverse() * in_orbit;
    let sign = if error.w < 0.0 { -2.0 } else { 2.0 };
    let (r, v) = (truth.orbit.position_m, truth.orbit.velocity_m_s);
    let turning = r.cross(&v) / r.norm_squared();
    let steering = orbital * reference_rate_rad_s;
    let wanted = body.inverse() * (turning + steering);
    let (roll, pitch, yaw) = in_orbit.euler_angles();
    AttitudeTruth {
        error_rad: error.imag() * sign,
        rate_error_rad_s: Vector3::from(truth.state.w) - wanted,
        orbital_rad: Vector3::new(roll, pitch, yaw),
    }
}

fn fill_attitude(row: &mut Row, truth: &Truth, attitude: &AttitudeTruth) {
    row.attitude_q = truth.state.q;
    row.attitude_error_rad = attitude.error_rad.map(|v| v as f32).into();
    row.orbital_angle_rad = attitude.orbital_rad.map(|v| v as f32).into();
    row.rate_error_rad_s = attitude.rate_error_rad_s.map(|v| v as f32).into();
}

fn fill_knowledge(row: &mut Row, flight: &ClosedLoop) {
    let telemetry = flight.controller.telemetry();
    let status = flight.controller.attitude();
    row.commanded_mode = match flight.controller.wanted_hold() {
        Hold::Fine => 5,
        Hold::Coarse => 4,
        Hold::Drift => 0,
        Hold::Turned => 6,
    };
    row.camera_on = telemetry.camera_commanded;
    // Not telemetry's, which is a second old.
    row.film_speed_step = u32::from(flight.controller.commanded_speed_step());
    row.yaw_steering_rad = status.steering_rad;
    row.assumed_mode = status.mode.code();
    row.assumed_angle_rad = assumed_angles(&status.quaternion);
    row.assumed_rate_rad_s = status.rate_error_rad_s;
    row.assumed_gyro_drift_rad_s = status.drift_rad_s;
    let inertia = &flight.controller.settings().body;
    let [x, y, z] = status.disturbance_nm;
    row.assumed_disturbance_rad_s2 =
        [x / inertia.inertia_roll_kg_m2, y / inertia.inertia_pitch_kg_m2, z / inertia.inertia_yaw_kg_m2];
    // Nothing is assumed before the first snapshot.
    row.assumed_gas_kg = if telemetry.gas_left_kg > 0.0 { telemetry.gas_left_kg } else { f32::NAN };
    row.metered_film_m = f64::from(telemetry.film_metered_m);
    row.roller_counts = flight.plant.film().sample(false).roller_counts;
    row.health_flags = telemetry.flags.0;
    if let Some((at_s, heard)) = flight.link.observed {
        row.observed_mode = heard.attitude.mode.code();
        row.observation_age_s = (row.time_s - at_s) as f32;
    }
    row.contact_station = flight.link.contact().map_or(-1, |station| station as i16);
}

fn assumed_angles(q: &[f32; 4]) -> [f32; 3] {
    let [w, i, j, k] = q.map(f64::from);
    let (roll, pitch, yaw) = UnitQuaternion::from_quaternion(Quaternion::new(w, i, j, k)).euler_angles();
    [roll as f32, pitch as f32, yaw as f32]
}
