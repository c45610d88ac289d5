//! The film half of the vehicle: closed forms, the closed loop, faults, exposures.

mod rig;
mod probe;
