//! What the capsule falls through: the pull, and the air with its motion.

use crate::scenario::parts::descent::Wind;
use crate::world::atmosphere::Atmosphere;
use crate::world::frames::EARTH_RATE_RAD_S;
use crate::world::gravity::Zonal;
use crate::world::{Vec3, ellipsoid};

/// Ratio of specific heats of air (US Standard Atmosphere 1976).
const GAMMA: f64 = 1.4;

/// Air at a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Speed of sound, m/s.
    pub sound_m_s: f64,
    /// Velocity of the air, inertial, m/s.
    pub velocity_m_s: Vec3,
}

/// Where a descent takes place. The real one is [`Planet`]; checks against closed forms put their own in its place.
pub trait Surroundings: Sync {
    /// Height of an inertial position, m.
    fn height_m(&self, position_m: &Vec3) -> f64;
    /// Acceleration of gravity, m/s².
    fn gravity_m_s2(&self, position_m: &Vec3) -> Vec3;
    /// Air at a position whose height is known.
    fn air(&self, position_m: &Vec3, height_m: f64) -> Air;
}

/// A quantity by height: straight between entries, the first and last beyond.
pub fn by_height(heights_m: &[f64], values: &[f64], height_m: f64) -> f64 {
    let above = heights_m.partition_point(|h| *h <= height_m);
    match (above.checked_sub(1), heights_m.get(above)) {
        (None, _) => values.first().copied().unwrap_or(0.0),
        (Some(below), None) => values.get(below).copied().unwrap_or(0.0),
        (Some(below), Some(high)) => {
            let part = (height_m - heights_m[below]) / (high - heights_m[below]);
            values[below] + part * (values[above] - values[below])
        }
    }
}

/// Winds aloft as columns.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Winds {
    heights_m: Vec<f64>,
    east_m_s: Vec<f64>,
    north_m_s: Vec<f64>,
    sigma_m_s: Vec<f64>,
}

impl Winds {
    /// From the scenario's list, which rises in height.
    pub fn new(winds: &[Wind]) -> Self {
        let column = |of: fn(&Wind) -> f64| winds.iter().map(of).collect();
        Self {
            heights_m: column(|w| w.height_m),
            east_m_s: column(|w| w.east_m_s),
            north_m_s: column(|w| w.north_m_s),
            sigma_m_s: column(|w| w.sigma_m_s),
        }
    }

    /// East and north at a height, m/s, with so many sigmas of error in each.
    pub fn at(&self, height_m: f64, off: [f64; 2]) -> [f64; 2] {
        let value = |values: &[f64]| by_height(&self.heights_m, values, height_m);
        let sigma = if off == [0.0; 2] { 0.0 } else { value(&self.sigma_m_s) };
        [value(&self.east_m_s) + off[0] * sigma, value(&self.north_m_s) + off[1] * sigma]
    }

    /// Highest entry, m; above it, the wind fades over [`FADE_M`].
    fn top_m(&self) -> Option<f64> {
        self.heights_m.last().copied()
    }
}

/// Over this much above the highest entry the wind dies away, m: a table that ends in a storm says nothing of what
/// blows at 100 km.
const FADE_M: f64 = 10_000.0;

/// The Earth: zonal gravity, the standard atmosphere with an error by height, winds.
#[derive(Clone, Debug)]
pub struct Planet {
    /// The field.
    pub gravity: Zonal,
    /// The standard atmosphere.
    pub atmosphere: Atmosphere,
    /// Heights of the density error, m.
    pub density_height_m: Vec<f64>,
    /// Density error at those heights as a share; empty for none.
    pub density_off: Vec<f64>,
    /// Winds.
    pub winds: Winds,
    /// Sigmas of error of the wind to the east and north.
    pub wind_off: [f64; 2],
    /// Rate at which the air turns about z, rad/s.
    pub rate_rad_s: f64,
}

impl Planet {
    /// The standard, still air of a turning Earth.
    pub fn standard() -> Self {
        Self {
            gravity: Zonal::EGM96,
            atmosphere: Atmosphere::new(1.0),
            density_height_m: Vec::new(),
            density_off: Vec::new(),
            winds: Winds::default(),
            wind_off: [0.0; 2],
            rate_rad_s: EARTH_RATE_RAD_S,
        }
    }

    /// Velocity of the wind over the ground, inertial axes, m/s.
    fn wind_m_s(&self, position_m: &Vec3, height_m: f64) -> Vec3 {
        let Some(top_m) = self.winds.top_m() else { return Vec3::zeros() };
        let share = 1.0 - ((height_m - top_m) / FADE_M).clamp(0.0, 1.0);
        if share == 0.0 {
            return Vec3::zeros();
        }
        let [east_m_s, north_m_s] = self.winds.at(height_m, self.wind_off);
        let up = ellipsoid::up(position_m);
        let east = Vec3::new(-position_m.y, position_m.x, 0.0);
        let east = east / east.norm_squared().sqrt().max(1.0);
        (east * east_m_s + up.cross(&east) * north_m_s) * share
    }
}

impl Surroundings for Planet {
    fn height_m(&self, position_m: &Vec3) -> f64 {
        ellipsoid::height_m(position_m)
    }

    fn gravity_m_s2(&self, position_m: &Vec3) -> Vec3 {
        self.gravity.acceleration_m_s2(position_m)
    }

    fn air(&self, position_m: &Vec3, height_m: f64) -> Air {
        let state = self.atmosphere.state(height_m);
        let off = if self.density_off.is_empty() {
            0.0
        } else {
            by_height(&self.density_height_m, &self.density_off, height_m)
        };
        let turning = Vec3::new(-position_m.y, position_m.x, 0.0) * self.rate_rad_s;
        Air {
            // A density below a tenth of the standard is beyond what a normal law may be asked for.
            density_kg_m3: state.density_kg_m3 * (1.0 + off).max(0.1),
            // No air, no sound: any speed will do where there is no drag.
            sound_m_s: if state.density_kg_m3 > 0.0 {
                (GAMMA * state.pressure_pa / state.density_kg_m3).sqrt()
            } else {
                300.0
            },
            velocity_m_s: turning + self.wind_m_s(position_m, height_m),
        }
    }
}
