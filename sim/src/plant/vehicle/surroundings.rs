//! What changes slowly: orbit, Sun, torques from outside, mass properties, leaks; once a second.

use super::{
    Plant, PlantError, SLOW_TICKS, TICK_S,
    turn::{array, rows},
};
use crate::{
    plant::torque::{Torques, air::Stream, sunlight},
    world::{ellipsoid, geomagnetism::flux_density_t, moon::Moon, orbit::Sample, sun::Sun},
};
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
            let now = self.parameters.start.plus_seconds(time_s);
            (self.sun, self.moon) = (Sun::at(now), Moon::at(now));
        }
        let seats = self.jets.leak(&self.seat_leak_kg_s, &self.mass.centre_m);
        let leak_kg_s = self.parameters.leak_kg_s + self.fault_leak_kg_s + seats.flow_kg_s;
        self.tank.leak(leak_kg_s, SLOW_TICKS as f64 * TICK_S);
        self.tank.breathe(SLOW_TICKS as f64 * TICK_S);
        self.jets.set_supply(self.tank.pressure_pa(), self.tank.temperature_k());
        self.weigh();
        let air = self.orbit.sample(time_s);
        self.torques = Torques {
            air_nm: if self.parameters.air_torque { self.air_torque(&air) } else { Vector3::zeros() },
            sunlight_nm: if self.parameters.sunlight { self.sunlight_torque(&air) } else { Vector3::zeros() },
            magnetic_nm: self.magnetic_torque(time_s, &air),
            gravity_nm: Vector3::zeros(),
            leak_nm: if self.tank.mass_kg() > 0.0 { seats.torque_nm } else { Vector3::zeros() },
        };
        self.slow_torque_nm = self.torques.sum_nm();
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
        self.push = self.jets.push(&self.mass.centre_m);
    }

    /// Torque of the air, N·m: on the facets, or of plain drag at the centre of pressure.
    fn air_torque(&self, air: &Sample) -> Vector3<f64> {
        let p = &self.parameters;
        let wind = Vector3::from(self.state.rotate_to_body(&array(&air.air_velocity_m_s)));
        if !p.facets.is_empty() {
            let state = p.forces.atmosphere.state(ellipsoid::height_m(&air.position_m));
            let stream = Stream::new(&wind, &state, p.accommodation);
            return stream.map_or_else(Vector3::zeros, |stream| stream.load(&p.facets, &self.mass.centre_m).1);
        }
        let force = wind * (-0.5 * air.density_kg_m3 * wind.norm() * p.drag_area_m2);
        (p.pressure_centre_m - self.mass.centre_m).cross(&force)
    }

    fn sunlight_torque(&self, air: &Sample) -> Vector3<f64> {
        let facets = &self.parameters.facets;
        if facets.is_empty() {
            return Vector3::zeros();
        }
        let pressure_pa = sunlight::pressure_pa(self.sun.distance_m) * self.sun.visible_fraction(&air.position_m);
        let to_sun = Vector3::from(self.state.rotate_to_body(&array(&self.sun.direction)));
        sunlight::torque_nm(facets, &to_sun, pressure_pa, &self.mass.centre_m)
    }

    fn magnetic_torque(&mut self, time_s: f64, air: &Sample) -> Vector3<f64> {
        let dipole = self.parameters.dipole_a_m2;
        if dipole == Vector3::zeros() {
            return dipole;
        }
        if self.tick.is_multiple_of(10 * SLOW_TICKS) {
            let position_m = self.earth.to_fixed(time_s, &air.position_m);
            let field_t = flux_density_t(&position_m, self.parameters.start.plus_seconds(time_s));
            self.flux_density_t = self.earth.to_inertial(time_s, &field_t.unwrap_or_default());
        }
        dipole.cross(&Vector3::from(self.state.rotate_to_body(&array(&self.flux_density_t))))
    }
}
