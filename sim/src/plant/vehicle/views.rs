//! Views for the record, and handles for faults.

use super::{
    Plant, TICK_S,
    turn::{Turn, array},
};
use crate::{
    imaging::sample::TruthSample,
    plant::{
        body::State,
        film::{FilmPlant, shutter::Shutter},
        gas::Tank,
        jets::{JetFault, Jets},
        ledger::MomentumLedger,
        mass::MassProperties,
        sensors::{Gyros, Horizon},
        sweep::Sweep,
        torque::Torques,
    },
    world::{
        frames::{EarthRotation, OrbitalFrame},
        gravity::GM_M3_S2,
        orbit::Sample,
        sun::Sun,
    },
};
use nalgebra::Vector3;

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
    /// Torques from outside, body axes.
    pub torques: Torques,
}

impl Plant {
    /// Truth at the present tick's boundary.
    pub fn truth(&mut self) -> Truth {
        self.catch_up();
        let time_s = self.tick as f64 * TICK_S;
        let orbit = self.orbit.sample(time_s);
        Truth {
            time_s,
            frame: OrbitalFrame::from_state(&orbit.position_m, &orbit.velocity_m_s),
            earth_angle_rad: self.earth.angle_rad(time_s),
            torques: self.torques(),
            state: self.state,
            orbit,
        }
    }

    /// Torques from outside at the body's own time, body axes.
    pub fn torques(&self) -> Torques {
        if !self.parameters.gravity_gradient {
            return self.torques;
        }
        let position_m = self.orbit.position_velocity(self.tick as f64 * TICK_S - self.behind_s).0;
        let up = Turn::of(&self.state.q).to_body(&Vector3::from(self.up));
        let per_s2 = 3.0 * GM_M3_S2 / position_m.norm().powi(3);
        let gravity_nm = self.body.gravity_gradient_torque_nm(per_s2, &array(&up)).into();
        Torques { gravity_nm, ..self.torques }
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
            torques: Torques::default(),
        }
    }

    /// Position in Earth-fixed axes at the present tick's boundary, m.
    pub fn position_fixed_m(&self) -> Vector3<f64> {
        let time_s = self.tick as f64 * TICK_S;
        self.earth.to_fixed(time_s, &self.orbit.position_velocity(time_s).0)
    }

    /// Angular momentum of body, reels and roller about inertial axes at the present tick's boundary, N·m·s.
    pub fn momentum_inertial_nms(&mut self) -> Vector3<f64> {
        self.catch_up();
        self.momentum_nms()
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

    /// The jets, for faults that touch more than one valve.
    pub fn jets_mut(&mut self) -> &mut Jets {
        &mut self.jets
    }

    /// Sets or clears a jet's fault, from the present tick's boundary on.
    pub fn set_jet_fault(&mut self, jet: usize, fault: Option<JetFault>) {
        self.catch_up();
        self.jets.set_fault(jet, fault);
        self.push = self.jets.push(&self.mass.centre_m);
    }

    /// Bit mask of the jets whose valves pass gas now.
    pub fn flowing(&self) -> u32 {
        self.jets.flowing()
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

    /// Sweep, if the camera has one.
    pub fn sweep(&self) -> Option<&Sweep> {
        self.sweep.as_ref()
    }

    /// Gyros, to set faults.
    pub fn gyros_mut(&mut self) -> &mut Gyros {
        &mut self.gyros
    }

    /// Horizon sensor.
    pub fn horizon(&self) -> &Horizon {
        &self.horizon
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
