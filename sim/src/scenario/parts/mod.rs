//! The tables of a scenario, one module for each subject.

pub mod camera;
pub mod capsule;
pub mod command;
pub mod descent;
pub mod fault;
pub mod feed;
pub mod film;
pub mod ground;
pub mod outline;
pub mod plan;
pub mod run;
pub mod sensors;
pub mod surface;
pub mod time;
pub mod uplink;
pub mod vehicle;
