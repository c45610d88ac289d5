//! Stillframe: the plant, the closed loop, imaging and reports, for the engineer of a film-return survey
//! satellite.
//!
//! Data flows one way: scenario → plant ⇄ controller → record → report.
//!
//! - [`scenario`]: files to validated, typed descriptions of a run;
//! - [`world`]: the Earth, its field, its air, the Sun, time and frames;
//! - [`plant`]: what the vehicle really does;
//! - [`passes`]: areas, stations, and the load made from a programme;
//! - [`flight`]: plant and controller in one closed loop;
//! - [`imaging`]: what each frame resolved, and why;
//! - [`design`]: studies made before anything flies;
//! - [`descent`]: the return: retro, entry, canopies, footprint;
//! - [`mod@record`] and [`report`]: what is written down, and the page made from it;
//! - [`noise`]: random draws keyed by run, sensor and sample;
//! - [`cli`]: the command, thin.

pub mod cli;
pub mod descent;
pub mod design;
pub mod flight;
pub mod imaging;
pub mod nitrogen;
pub mod noise;
pub mod passes;
pub mod plant;
pub mod record;
pub mod report;
pub mod scenario;
pub mod world;
