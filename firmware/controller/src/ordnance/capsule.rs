//! The capsule's own sequencer: a stepped machine like the vehicle's, on the capsule's own clock.
//!
//! It is armed before the capsule is let go, through its own receiver, and its life runs on until then. When the contacts
//! tell that the vehicle is behind, it goes through spin, retro ignition, despin, motor release, drogue and main by itself.
//! A reset on the way leaves it disarmed where it stands; the ground arms it again and says from which event to go on.

use super::{
    event::Side,
    order::ORDER_BYTES,
    readiness::Readiness,
    settings::OrdnanceSettings,
    status::Status,
    vehicle::{Computer, Surroundings},
};
use crate::io::{OrdnanceDrive, OrdnanceSample};

/// Everything that reaches the capsule in one base tick. The default is that of the pad.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct CapsuleSensors {
    /// Octets of an order from the capsule's own receiver.
    pub order: Option<[u8; ORDER_BYTES]>,
    /// Ordnance circuit.
    pub ordnance: OrdnanceSample,
    /// Contact, in series with the firing path, that the vehicle holds apart until the capsule leaves.
    pub off_vehicle: bool,
    /// The umbilical is open.
    pub umbilical_open: bool,
    /// Spin about the axis, rad/s.
    pub spin_rad_s: f32,
    /// The deceleration switch is closed.
    pub g_switch: bool,
    /// The backup timer, started by the capsule's leaving, has run out.
    pub timer_out: bool,
}

/// The capsule's six events.
#[derive(Clone, Debug, PartialEq)]
pub struct Capsule(Computer);

impl Capsule {
    /// As it wakes: disarmed.
    pub fn new(settings: OrdnanceSettings) -> Self {
        Self(Computer::new(Side::Capsule, settings))
    }

    /// One base tick.
    pub fn step(&mut self, sensors: &CapsuleSensors) -> OrdnanceDrive {
        let readiness = Readiness {
            spin_rad_s: sensors.spin_rad_s,
            g_switch: sensors.g_switch,
            timer_out: sensors.timer_out,
            ..Readiness::default()
        };
        let surroundings = Surroundings {
            sample: sensors.ordnance,
            left: sensors.off_vehicle,
            apart: sensors.umbilical_open,
            readiness,
        };
        self.0.step(sensors.order, &surroundings)
    }

    /// As of the last tick.
    pub fn status(&self) -> &Status {
        self.0.status()
    }
}
