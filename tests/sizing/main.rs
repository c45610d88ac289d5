//! Sizing the camera: hand arithmetic, outside values, what physics guarantees, the choice, refusals, the command.

mod bad;
mod chapter;
mod choice;
mod command;
mod hand;
mod outside;
mod physics;
#[path = "../program.rs"]
mod program;
mod setup;
