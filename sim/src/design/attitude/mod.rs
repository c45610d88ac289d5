//! Attitude tuning.

pub mod apply;
pub mod capture;
pub mod cost;
pub mod describing;
pub mod document;
mod figures;
pub mod filters;
pub mod keys;
pub mod limit_cycle;
pub mod loop_margins;
pub mod measure;
mod page;
pub mod predict;
pub mod propose;
pub mod riccati;
pub mod stress;
pub mod study;
pub mod subject;
pub mod sweep;
pub mod trial;

pub use page::render;
