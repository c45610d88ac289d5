//! What changes slowly: orbit, Sun, air, mass properties, leaks; once a second.

use super::{
    Plant, PlantError, SLOW_TICKS, TICK_S,
    turn::{array, rows},
};
use crate::world::{orbit::Sample, sun::Sun};
use nalgebra::Vector3;

impl Plant {
    /// Once a second: air torque, leak, mass properties, the orbit's share of the jets' push.
    pub(super) fn slow_update(&mut self) -> Result<(), PlantError> {
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
}
