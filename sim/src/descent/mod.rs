//! The return: when to fire the retro, how the capsule comes down, where, and how surely.
//!
//! In the order of the work:
//!
//! 1. `model`: capsule, plan and Earth of a scenario, and what a set of errors does to them;
//! 2. `aim`: passes of a window, and the instant of ignition that lays the landing place into the zone;
//! 3. `retro`, `fall`, `recovery`: burn with spin averaging, entry of a point mass, canopies by g-switch and timers,
//!    on `integrate`, in the air of `air`, heated after `heating`;
//! 4. `dispersions`, `footprint`, `sensitivity`, `confidence`: what may be off, and where many descents come down;
//! 5. `casualty` (guidance), `repredict` (late news);
//! 6. `document` for programs, `page` for people.
//!
//! [`study()`] does all of it from a scenario. [`planned`] goes as far as the instant of ignition, and [`flown`] lays the
//! descent that a flight has come to into the footprint that was expected. Re-entry hurts people when it goes wrong: nothing here is a release or a licence.

pub mod aim;
pub mod air;
pub mod casualty;
pub mod confidence;
pub mod dispersions;
pub mod document;
pub mod fall;
pub mod footprint;
pub mod ground;
pub mod heating;
pub mod integrate;
mod map;
pub mod model;
mod page;
mod plots;
pub mod recovery;
pub mod repredict;
pub mod retro;
mod screen;
pub mod sensitivity;
mod study;
mod summary;

pub use model::{AtRetro, Faults, Model};
pub use page::{fragment, names, write_folder};
pub use screen::screen;
pub use study::{DescentError, Descents, Options, Planned, Study, flown, from_state, model, planned, study, utc};
