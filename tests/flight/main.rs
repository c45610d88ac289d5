//! The whole loop: plant, flight code, faults, link, and the command that flies them.

mod capture;
mod command;
mod computer_faults;
mod day;
mod determinism;
mod film_faults;
mod film_kick;
mod film_start;
mod frames;
mod gas;
mod home;
mod hostile;
mod jet_faults;
mod limit_cycle;
mod link_faults;
mod momentum;
mod ordnance_faults;
mod place;
mod pointing;
#[path = "../program.rs"]
mod program;
mod published_orbit;
mod rig;
mod sensor_faults;
mod torques;
mod turn;
mod uplinks;
