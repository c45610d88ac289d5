//! Who turns sensors into actuators: the desk's own controller, or a board that runs the same code.

use crate::record::Event;
use stillframe_controller::{
    Controller,
    io::{Actuators, Sensors},
};
use thiserror::Error;

/// Flies the vehicle, tick by tick.
pub trait Pilot {
    /// What the vehicle is to do in the coming tick.
    ///
    /// `desk` is the desk's own controller. It must be stepped with the same sensors, whoever decides: the record
    /// and the ground take what the vehicle says of itself from it.
    ///
    /// # Errors
    /// If the flight cannot go on.
    fn step(&mut self, desk: &mut Controller, sensors: &Sensors) -> Result<Actuators, PilotGone>;

    /// What there is to tell beside it since the last call, for the list of events; asked after every tick.
    fn events(&mut self) -> Vec<Event> {
        Vec::new()
    }
}

/// Why a pilot broke off, for people.
#[derive(Clone, Debug, Error)]
#[error("{0}")]
pub struct PilotGone(pub String);

/// The desk's own controller, alone.
#[derive(Clone, Copy, Debug)]
pub struct OnDesk;

impl Pilot for OnDesk {
    fn step(&mut self, desk: &mut Controller, sensors: &Sensors) -> Result<Actuators, PilotGone> {
        Ok(desk.step(sensors))
    }
}
