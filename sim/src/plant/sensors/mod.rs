//! Horizon sensor and rate gyros: what the controller is told instead of the truth.
//!
//! - [`gyros`]: three rate-integrating gyros with the error terms of IEEE Std 952;
//! - [`horizon`]: the horizon sensor as a whole;
//! - [`scan`]: where two scan cones cross the edge of the Earth, and what tilt follows from that;
//! - [`limb`]: how high the infrared horizon stands: season, latitude, weather, cold cloud;
//! - [`intruder`]: the Sun or the Moon in a scan cone.

pub mod gyros;
pub mod horizon;
pub mod intruder;
pub mod limb;
pub mod scan;

pub use gyros::{GyroFaults, GyroNoise, GyroParameters, Gyros};
pub use horizon::{Horizon, HorizonFaults, HorizonParameters, HorizonView, Surroundings};
