//! Exposures: what film, platen, clamp, slit and shutter do between camera-on and camera-off.
//!
//! [`Sequencer::step`] runs every base tick after the programme and before the film transport. Time is in
//! whole ticks and microseconds; film is in whole roller counts.
//!
//! Strip camera: film runs up, the capping shutter opens once film is valid, a frame number falls due with
//! every frame length of counted film, the shutter shuts, film runs down. Framing camera: film moves on,
//! is clamped, settles, rides on the platen at image speed while the shutter opens and shuts, and is
//! released.

mod frame;
mod sequencer;
pub mod settings;
mod strip;
#[cfg(test)]
mod tests;
mod types;

pub use sequencer::Sequencer;
pub use settings::{CameraSettings, EXPOSURE_SETTINGS};
pub use types::{ANY_SLIT, Ending, ExposureStatus, FrameMark, Input, Outcome, Output, Phase};
