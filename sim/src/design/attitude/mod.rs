//! Attitude tuning.

pub mod describing;
pub mod limit_cycle;
pub mod loop_margins;
pub mod riccati;
