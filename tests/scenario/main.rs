//! Scenario and settings files, and the commands that read and write them.

#[path = "../program.rs"]
mod program;
mod bad;
mod cli;
mod good;
mod mutate;
mod nitrogen;
mod schema;
mod settings;
mod support;
