//! What accelerates the vehicle's centre of mass when no jet fires: gravity and drag.

use super::atmosphere::Atmosphere;
use super::frames::EARTH_RATE_RAD_S;
use super::gravity::Zonal;
use super::{Vec3, ellipsoid, length};

/// What pulls and slows the vehicle.
#[derive(Debug, Clone, Copy)]
pub struct Forces {
    /// The field.
    pub gravity: Zonal,
    /// The air, its density factor included.
    pub atmosphere: Atmosphere,
    /// C_D·A/m, m²/kg; 0 for no drag.
    pub drag_area_per_mass_m2_kg: f64,
    /// Rate at which the air turns about z, rad/s.
    pub air_rate_rad_s: f64,
}

impl Forces {
    /// EGM96 zonals, the given air turning with the Earth.
    pub fn new(atmosphere: Atmosphere, drag_area_per_mass_m2_kg: f64) -> Self {
        Self { gravity: Zonal::EGM96, atmosphere, drag_area_per_mass_m2_kg, air_rate_rad_s: EARTH_RATE_RAD_S }
    }

    /// Velocity relative to the air, inertial components, m/s.
    #[inline]
    pub fn air_velocity(&self, position_m: &Vec3, velocity_m_s: &Vec3) -> Vec3 {
        let w = self.air_rate_rad_s;
        let (r, v) = (position_m, velocity_m_s);
        Vec3::new(v.x + w * r.y, v.y - w * r.x, v.z)
    }

    /// Acceleration, m/s², and air density, kg/m³.
    #[inline]
    pub fn acceleration(&self, position_m: &Vec3, velocity_m_s: &Vec3) -> (Vec3, f64) {
        let density = self.atmosphere.density_kg_m3(ellipsoid::height_m(position_m));
        let air = self.air_velocity(position_m, velocity_m_s);
        let drag = -0.5 * density * self.drag_area_per_mass_m2_kg * length(&air);
        (self.gravity.acceleration_m_s2(position_m) + air * drag, density)
    }
}
