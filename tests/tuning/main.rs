//! Attitude tuning: closed forms and solvers against outside values, and the study as a whole.

mod describing;
mod limit_cycle;
mod margins;
mod riccati;
