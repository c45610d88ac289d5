//! Stillframe: the plant, the closed loop, imaging and reports.
//!
//! Data flows one way: scenario → plant ⇄ controller → record → report.

pub mod noise;
pub mod plant;
pub mod world;
