//! A day's photography, planned: the study around [`passes::plan`](crate::passes::plan).
//!
//! `facts` gathers what the plan needs to know of vehicle and settings, [`study()`] plans, turns the choice into
//! commands and makes the very load that a flight would carry, judged by the flight code. [`document`] is the plan for
//! programs, `page` for people, `geo` for maps, [`listing`] the load in words, `write` puts the commands into a
//! scenario.

mod charts;
mod commands;
pub mod document;
mod facts;
mod geo;
mod listing;
mod map;
mod page;
mod study;
mod tell;
mod timeline;
pub mod write;

pub use document::{Document, plan_schema};
pub use geo::geojson;
pub use listing::listing;
pub use page::{names, write_folder};
pub use study::{PlanError, Study, study};
