//! Attitude tuning.

pub mod capture;
pub mod describing;
pub mod filters;
pub mod keys;
pub mod limit_cycle;
pub mod loop_margins;
pub mod measure;
pub mod predict;
pub mod propose;
pub mod riccati;
pub mod stress;
pub mod subject;
pub mod sweep;
pub mod trial;
