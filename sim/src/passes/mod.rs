//! Passes over the ground: areas, stations, and the command load made from a scenario's programme.

pub mod areas;
pub mod check;
pub mod contacts;
pub mod plan;
pub mod prediction;
pub mod programme;
pub mod rate_fit;
pub mod required;
pub mod v_over_h;
