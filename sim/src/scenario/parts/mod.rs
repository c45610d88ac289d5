//! The tables of a scenario, one module for each subject.

pub mod camera;
pub mod command;
pub mod fault;
pub mod feed;
pub mod film;
pub mod ground;
pub mod run;
pub mod sensors;
pub mod surface;
pub mod time;
pub mod vehicle;
