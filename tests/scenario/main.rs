//! Scenario and settings files, and the commands that read and write them.

mod bad;
mod cli;
mod good;
mod mutate;
mod nitrogen;
#[path = "../program.rs"]
mod program;
mod schema;
mod settings;
mod support;
