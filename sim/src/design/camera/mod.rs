//! The smallest camera that does the work.
//!
//! "Too much camera" is the easy mistake: too long, too wide, too heavy. From what the pictures must show
//! ([`wants`]), every combination of focal length, f-number, film and slit is evaluated ([`model`]) and the lightest
//! that meets every want is taken ([`choice`]). The way through, in the order of the files:
//!
//! 1. [`wants`]: the file; [`checks`] join its keys; [`demo`] is the built-in one.
//! 2. [`geometry`]: height to image speed and ground scale.
//! 3. [`lens`]: diffraction, aberration and focus; [`film`]: the modulation it needs; [`blur`]: image motion left.
//! 4. [`light`]: exposure time and slit; [`mass`]: weight, length, film load.
//! 5. [`model`]: all of it for one camera, by two rules of resolution side by side; [`terms`] can be switched off.
//! 6. [`mod@search`]: all cameras and the best among them; [`choice`]: the one to take, or what must give.
//! 7. [`budget`]: the whole account of one camera; [`study`]: everything together; [`summary`]: the same as JSON;
//!    `page`: as a report.
//!
//! Transfer functions, light and the rules of resolution are those of [`crate::imaging`], by which flown frames are
//! judged too.

pub mod blur;
pub mod budget;
pub mod checks;
pub mod choice;
pub mod demo;
mod figures;
pub mod film;
pub mod geometry;
pub mod lens;
pub mod light;
pub mod mass;
pub mod model;
mod page;
pub mod search;
pub mod study;
pub mod summary;
pub mod terms;
pub mod wants;

pub use page::render;
pub use study::{Study, size};
