//! The world outside the vehicle: time, the Earth's figure, field and air, the Sun, and the orbit.
//!
//! Everything here is `f64`, SI, and free of clocks and randomness: the instant is always an
//! argument. Nothing here knows the vehicle's attitude, the flight code, or the scenario's format.
//!
//! Read the files in this order:
//!
//! | file | subject |
//! | --- | --- |
//! | [`time`] | UTC instants, Julian dates in UT1 and TT, leap seconds, sidereal time |
//! | [`frames`] | inertial ↔ Earth-fixed, the local orbital frame and its rate, topocentric angles |
//! | [`ellipsoid`] | the WGS-84 figure: geodetic ↔ Cartesian, heights, lines of sight |
//! | [`gravity`] | point mass with J2, J3, J4; secular rates of the node and perigee |
//! | [`geomagnetism`] | the World Magnetic Model, for the torque on a dipole |
//! | [`activity`] | how density follows the Sun's radio flux |
//! | [`atmosphere`] | US Standard Atmosphere 1976 to 1000 km as a fast table ([`ussa76`] computes it) |
//! | [`sun`] | where the Sun is, how high it stands, whether a satellite is in shadow |
//! | [`moon`] | where the Moon is, and how much of it is lit |
//! | [`kepler`] | osculating elements ↔ Cartesian states |
//! | [`elements`] | where an orbit starts, and why a start is refused |
//! | [`mean_elements`] | two-line and OMM element sets, through SGP4 |
//! | [`dense`] | the quintic polynomial that carries a state between two integration nodes |
//! | [`forces`] | gravity and drag together, as the orbit feels them |
//! | [`orbit`] | the flown orbit, integrated on a long step and read on a short one |
//! | [`ephemeris`] | a stored stretch of that orbit, read at any instant |
//! | [`track`] | the ground point below, look angles from a station, contact windows |
//!
//! # Frames
//!
//! - *Inertial* means TEME (true equator, mean equinox) of the run's start, held fixed. Over six
//!   days the real TEME turns by about 1″ (precession 50″ a year), which is 30 m on the ground.
//! - *Earth-fixed* is WGS-84, reached by the sidereal angle about z. Polar motion (10 m) is ignored.
//! - *Local orbital frame*: z towards the Earth's centre, y opposite the orbit normal, x along track.
//!
//! Times called `t_s` count SI seconds from the run's start.

pub mod activity;
pub mod atmosphere;
pub mod dense;
pub mod dormand_prince;
pub mod elements;
pub mod ellipsoid;
pub mod ephemeris;
pub mod forces;
pub mod frames;
pub mod geo_text;
pub mod geomagnetism;
pub mod gravity;
pub mod kepler;
pub mod mean_elements;
pub mod moon;
pub mod orbit;
pub mod sun;
pub mod time;
pub mod track;
pub mod ussa76;

pub(crate) mod roots;

/// A vector in three dimensions. Its frame and unit are stated where it is used.
pub type Vec3 = nalgebra::Vector3<f64>;

/// A rotation matrix or another linear map in three dimensions.
pub type Mat3 = nalgebra::Matrix3<f64>;

/// Length without nalgebra's `norm`, whose square root is forced to libm's software one.
#[inline]
pub(crate) fn length(v: &Vec3) -> f64 {
    v.norm_squared().sqrt()
}
