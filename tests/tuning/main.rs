//! Attitude tuning: closed forms and solvers against outside values, and the study as a whole.

#[path = "../program.rs"]
mod program;

mod command;
mod describing;
mod filters;
mod free;
mod limit_cycle;
mod limits;
mod margins;
mod riccati;
mod rig;
mod study;
mod sweep;
