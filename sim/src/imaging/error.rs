//! Why an exposure could not be judged.

use thiserror::Error;

/// Why an exposure could not be judged.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
pub enum ImagingError {
    /// A number of the truth is NaN or infinite.
    #[error("truth at {time_s} s holds a number that is not finite")]
    NotFinite {
        /// Time of the sample, s.
        time_s: f64,
    },
    /// The exposure ends before it starts, or its samples do not lie evenly across it.
    #[error("exposure from {start_s} s to {end_s} s needs its samples evenly spread from start to end")]
    BadWindow {
        /// Start of the exposure, s.
        start_s: f64,
        /// End of the exposure, s.
        end_s: f64,
    },
    /// The line of sight through a point of the format does not meet the Earth ahead of the camera.
    #[error("the camera did not see the Earth at format point ({x_m} m, {y_m} m) at {time_s} s")]
    EarthMissed {
        /// Time of the sample, s.
        time_s: f64,
        /// Point of the format, along, m.
        x_m: f64,
        /// Point of the format, across, m.
        y_m: f64,
    },
    /// A frame came without any exposure.
    #[error("frame {number} holds no exposure")]
    NoExposure {
        /// The frame's number.
        number: u32,
    },
}
