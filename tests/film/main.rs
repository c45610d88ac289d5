//! The film half of the vehicle: closed forms from outside, the closed loop of flight code and plant,
//! faults, exposures, and streams of nonsense.

mod ends;
mod exposures;
mod faults;
mod hostile;
mod ledgers;
mod measure;
mod rig;
mod solver;
mod spools;
mod sweep;
mod transport;
mod web;
