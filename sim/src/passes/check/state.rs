//! What the vehicle has left, and where it is in its mission, when the load is sent.

use super::sequence::Inherited;
use crate::scenario::Scenario;
use stillframe_controller::{programme::load::Load, settings::Settings};

/// Stage of the mission.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Stage {
    /// On the pad: the load goes in over the test connector.
    Pad,
    /// In flight, film still being exposed.
    Flying,
    /// Film is cut and sealed.
    Secured,
}

impl Stage {
    /// Its name, for people.
    pub fn word(self) -> &'static str {
        match self {
            Self::Pad => "on the pad",
            Self::Flying => "in flight",
            Self::Secured => "film cut and sealed",
        }
    }
}

/// The vehicle at the time of sending, as far as the ground knows.
#[derive(Clone, Debug)]
pub struct State {
    /// Time of sending, ticks of the on-board clock.
    pub now_tick: u32,
    /// Stage.
    pub stage: Stage,
    /// Film left on the supply side, m.
    pub film_m: f64,
    /// Gas left, kg.
    pub gas_kg: f64,
    /// Energy left, J.
    pub energy_j: f64,
    /// Counter of the load in force; none before the first.
    pub counter: Option<u16>,
    /// The load in force, where it is known.
    pub on_board: Option<Load>,
    /// Where these numbers come from, for people.
    pub source: String,
}

impl State {
    /// As loaded, on the pad.
    pub fn on_pad(scenario: &Scenario) -> Self {
        Self {
            now_tick: 0,
            stage: Stage::Pad,
            film_m: scenario.film.load_m - scenario.film.wound_m,
            gas_kg: scenario.tank.gas_kg,
            energy_j: scenario.power.battery_j,
            counter: None,
            on_board: None,
            source: "the scenario, as loaded on the pad".to_owned(),
        }
    }

    /// What the load on board has put in force by a tick; as the vehicle wakes, where that load is not known.
    pub fn inherited(&self, tick: u32) -> Inherited {
        self.on_board.as_ref().map_or_else(Inherited::default, |load| Inherited::from(load, tick))
    }

    /// Time of sending, s since the start.
    pub fn now_s(&self) -> f64 {
        f64::from(self.now_tick) / 100.0
    }
}

/// Amounts below which nothing may go.
#[derive(Clone, Copy, Debug)]
pub struct Reserves {
    /// Film for cutting and sealing, m; the flight code starts no run into it.
    pub film_m: f64,
    /// Gas kept for the return, kg; the flight code keeps the camera off below it.
    pub gas_kg: f64,
    /// Energy, J: a fifth of the battery (depth of discharge of 80 %, common practice for primary batteries).
    pub energy_j: f64,
}

impl Reserves {
    /// Those of a vehicle.
    pub fn of(scenario: &Scenario, settings: &Settings) -> Self {
        Self {
            film_m: f64::from(settings.film.reserve_length_m),
            gas_kg: f64::from(settings.gas.reserve_kg),
            energy_j: 0.2 * scenario.power.battery_j,
        }
    }
}
