//! Exposures: what film, platen, clamp, slit and shutter do between camera-on and camera-off.
//!
//! [`Sequencer::step`] runs every base tick after the programme and before the film transport. Time is in
//! whole ticks and microseconds; film is in whole roller counts.
//!
//! Strip camera: film runs up, the capping shutter opens once film is valid, a frame number falls due with
//! every frame length of counted film, the shutter shuts, film runs down. Framing camera: film moves on,
//! is clamped, settles, rides on the platen at image speed while the shutter opens and shuts, and is
//! released. Sweep: film moves on, is clamped and settles likewise; then the line of sight swings across the track at
//! an even rate while the platen follows the image, slower the further out the sweep looks; the shutter opens and
//! shuts where the picture begins and ends, and the sweep returns while film moves on.

mod frame;
mod sequencer;
pub mod settings;
mod strip;
mod sweep;
#[cfg(test)]
mod tests;
mod types;

pub use sequencer::Sequencer;
pub use settings::{CameraSettings, EXPOSURE_SETTINGS};
pub use types::{ANY_SLIT, Ending, ExposureStatus, FrameMark, Input, Outcome, Output, Phase};
