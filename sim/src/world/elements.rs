//! Where an orbit starts, and why a start is refused.
//!
//! A run starts from a Cartesian state, from osculating elements
//! ([`start_from_osculating`]) or from a published mean element set ([`MeanElements`]); each passes
//! [`check_start`].

use thiserror::Error;

use super::ellipsoid::A_M;
pub use super::mean_elements::MeanElements;

use super::kepler::{Elements, State};
use super::time::TimeError;
use super::{Vec3, length};

/// Lowest perigee a run may start with, m above the equatorial radius: below, the orbit ends
/// within a revolution or two.
pub const LOWEST_PERIGEE_M: f64 = 120_000.0;
/// Period from which SGP4 uses its deep-space branch, s.
pub const DEEP_SPACE_PERIOD_S: f64 = 225.0 * 60.0;

/// Why a start was refused.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum StartError {
    /// A number is infinite or not a number.
    #[error("{what} is not a finite number")]
    NotFinite {
        /// The quantity.
        what: &'static str,
    },
    /// An element lies outside the range it can have.
    #[error("{what} = {value} is outside {range}")]
    OutOfRange {
        /// The quantity with its unit.
        what: &'static str,
        /// Its value.
        value: f64,
        /// What is allowed.
        range: &'static str,
    },
    /// Parabolic, hyperbolic, or a straight fall.
    #[error(
        "the orbit is not closed: {speed_m_s:.1} m/s where escape takes {escape_m_s:.1} m/s, or it has no orbit plane"
    )]
    NotClosed {
        /// Speed, m/s.
        speed_m_s: f64,
        /// Escape speed at that distance, m/s.
        escape_m_s: f64,
    },
    /// The perigee is in the air.
    #[error("perigee at {perigee_km:.1} km is below {} km; raise it or use the descent", LOWEST_PERIGEE_M / 1000.0)]
    PerigeeTooLow {
        /// Height above the equatorial radius, km.
        perigee_km: f64,
    },
    /// The text is not a pair of element lines.
    #[error("element line {line}: {reason}")]
    Line {
        /// 1 or 2.
        line: u8,
        /// What is wrong and where.
        reason: String,
    },
    /// A line's check digit does not fit its text.
    #[error(
        "element line {line}: the check digit is {found} but the line adds up to {computed}; a character was changed"
    )]
    CheckDigit {
        /// 1 or 2.
        line: u8,
        /// What column 69 holds.
        found: char,
        /// What it should hold.
        computed: u8,
    },
    /// The text is not an orbit mean-elements message this can read.
    #[error("mean-elements message: {reason}")]
    Message {
        /// What is wrong.
        reason: String,
    },
    /// SGP4 refused the elements or the instant.
    #[error("SGP4: {reason}")]
    Sgp4 {
        /// Its words.
        reason: String,
    },
    /// The epoch is outside the years modelled.
    #[error("epoch: {0}")]
    Epoch(#[from] TimeError),
}

/// Something a run may do but its owner should know.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum StartNote {
    /// Sun and Moon, which the plant leaves out, matter at this height.
    DeepSpace {
        /// Kepler period, s.
        period_s: f64,
    },
}

/// Checks a start state: finite, closed, perigee not below 120 km.
///
/// # Errors
/// One of the first four of [`StartError`].
pub fn check_start(state: &State) -> Result<Option<StartNote>, StartError> {
    let finite = |v: &Vec3| v.iter().all(|x| x.is_finite());
    if !finite(&state.position_m) {
        return Err(StartError::NotFinite { what: "start position" });
    }
    if !finite(&state.velocity_m_s) {
        return Err(StartError::NotFinite { what: "start velocity" });
    }
    let radius = length(&state.position_m);
    let elements = Elements::from_state(state).ok_or_else(|| StartError::NotClosed {
        speed_m_s: length(&state.velocity_m_s),
        escape_m_s: (2.0 * super::gravity::GM_M3_S2 / radius).sqrt(),
    })?;
    let perigee_m = elements.perigee_radius_m() - A_M;
    if perigee_m.is_nan() || perigee_m < LOWEST_PERIGEE_M {
        return Err(StartError::PerigeeTooLow { perigee_km: perigee_m / 1_000.0 });
    }
    let period_s = elements.period_s();
    Ok((period_s >= DEEP_SPACE_PERIOD_S).then_some(StartNote::DeepSpace { period_s }))
}

/// The state on osculating elements, after checking each element's own range.
///
/// # Errors
/// When an element is not finite or out of range, or [`check_start`] refuses the state.
pub fn start_from_osculating(elements: &Elements) -> Result<(State, Option<StartNote>), StartError> {
    let named = [
        ("semi-major axis", elements.semi_major_axis_m),
        ("eccentricity", elements.eccentricity),
        ("inclination", elements.inclination_rad),
        ("right ascension of the node", elements.node_rad),
        ("argument of perigee", elements.perigee_rad),
        ("true anomaly", elements.true_anomaly_rad),
    ];
    if let Some((what, _)) = named.into_iter().find(|(_, value)| !value.is_finite()) {
        return Err(StartError::NotFinite { what });
    }
    let in_range = |what, value: f64, ok: bool, range| {
        if ok { Ok(()) } else { Err(StartError::OutOfRange { what, value, range }) }
    };
    let (a, e, i) = (elements.semi_major_axis_m, elements.eccentricity, elements.inclination_rad);
    in_range("eccentricity", e, (0.0..1.0).contains(&e), "0 to below 1 (a closed orbit)")?;
    in_range("semi-major axis in m", a, a > 0.0, "above 0")?;
    let flat = (0.0..=std::f64::consts::PI).contains(&i);
    in_range("inclination in degrees", i.to_degrees(), flat, "0 to 180")?;
    let state = elements.to_state();
    Ok((state, check_start(&state)?))
}
