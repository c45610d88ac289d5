//! The load as text, in the form that `check` reads.

use super::study::Study;
use crate::passes::check::listing::print;

/// The load, one line a command.
pub fn listing(study: &Study) -> String {
    let title = format!("Planned for {}", study.scenario().run.name);
    let step_m_s = f64::from(study.built.settings.camera.speed_step_m_s);
    print(&study.load, &title, study.built.start, step_m_s).0
}
