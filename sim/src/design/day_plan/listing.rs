//! The load as a listing, in the form that `stillframe check` reads.

use super::study::Study;
use crate::passes::check::listing;

/// The load as text: one line a command, with UTC beside every tick.
pub fn listing(study: &Study) -> String {
    let title = format!("Load {} planned for {}", study.built.load.counter, study.scenario().run.name);
    let step_m_s = f64::from(study.built.settings.camera.speed_step_m_s);
    listing::print(&study.built.load, &title, study.built.start, step_m_s).0
}
