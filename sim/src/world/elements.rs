//! Where an orbit starts: a Cartesian state, osculating elements, or a published mean element set.
//!
//! Mean element sets (two lines, or a CCSDS 502.0 Orbit Mean-Elements Message as JSON or KVN) are
//! turned into states by SGP4 with the WGS-72 constants they are fitted with (Vallado et al.,
//! *Revisiting Spacetrack Report #3*, AIAA 2006-6753). SGP4's output is TEME of the instant asked
//! for, which is the plant's inertial frame when that instant is the run's start.

use serde_json::{Map, Value};
use sgp4::chrono::{DateTime, Utc as ChronoUtc};
use thiserror::Error;

use super::ellipsoid::A_M;
use super::kepler::{Elements, State};
use super::time::{TimeError, Utc};
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
        return Err(StartError::NotFinite {
            what: "start position",
        });
    }
    if !finite(&state.velocity_m_s) {
        return Err(StartError::NotFinite {
            what: "start velocity",
        });
    }
    let radius = length(&state.position_m);
    let elements = Elements::from_state(state).ok_or_else(|| StartError::NotClosed {
        speed_m_s: length(&state.velocity_m_s),
        escape_m_s: (2.0 * super::gravity::GM_M3_S2 / radius).sqrt(),
    })?;
    let perigee_m = elements.perigee_radius_m() - A_M;
    if perigee_m.is_nan() || perigee_m < LOWEST_PERIGEE_M {
        return Err(StartError::PerigeeTooLow {
            perigee_km: perigee_m / 1_000.0,
        });
    }
    let period_s = elements.period_s();
    Ok((period_s >= DEEP_SPACE_PERIOD_S).then_some(StartNote::DeepSpace { period_s }))
}

/// The state on osculating elements, after checking each element's own range.
///
/// # Errors
/// When an element is not finite or out of range, or [`check_start`] refuses the state.
pub fn start_from_osculating(
    elements: &Elements,
) -> Result<(State, Option<StartNote>), StartError> {
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
        if ok {
            Ok(())
        } else {
            Err(StartError::OutOfRange { what, value, range })
        }
    };
    let (a, e, i) = (
        elements.semi_major_axis_m,
        elements.eccentricity,
        elements.inclination_rad,
    );
    in_range(
        "eccentricity",
        e,
        (0.0..1.0).contains(&e),
        "0 to below 1 (a closed orbit)",
    )?;
    in_range("semi-major axis in m", a, a > 0.0, "above 0")?;
    let flat = (0.0..=std::f64::consts::PI).contains(&i);
    in_range("inclination in degrees", i.to_degrees(), flat, "0 to 180")?;
    let state = elements.to_state();
    Ok((state, check_start(&state)?))
}

/// A published mean element set, ready for SGP4.
#[derive(Debug, Clone)]
pub struct MeanElements {
    name: Option<String>,
    epoch: Utc,
    inner: sgp4::Elements,
    constants: sgp4::Constants,
}

impl MeanElements {
    /// Reads whatever the text is: two lines (with or without a name line before them), or an
    /// orbit mean-elements message in JSON or KVN.
    ///
    /// # Errors
    /// As [`Self::from_lines`] and [`Self::from_omm_json`].
    pub fn parse(text: &str) -> Result<Self, StartError> {
        let text = text.trim_start_matches('\u{feff}').trim();
        match text.chars().next() {
            Some('{' | '[') => Self::from_omm_json(text),
            Some('<') => Err(StartError::Message {
                reason: "XML is not read here; ask the source for JSON or KVN".to_owned(),
            }),
            _ if text.contains('=') => Self::from_omm_kvn(text),
            _ => Self::from_element_text(text),
        }
    }

    fn from_element_text(text: &str) -> Result<Self, StartError> {
        let lines: Vec<&str> = text
            .lines()
            .map(str::trim_end)
            .filter(|line| !line.is_empty())
            .collect();
        match lines.as_slice() {
            [one, two] => Self::from_lines(None, one, two),
            [name, one, two] => Self::from_lines(Some(name.trim()), one, two),
            _ => Err(StartError::Line {
                line: 1,
                reason: format!(
                    "expected two lines, or a name and two lines, found {}",
                    lines.len()
                ),
            }),
        }
    }

    /// From the two lines of a TLE of 69 characters each.
    ///
    /// # Errors
    /// Naming the line: wrong length, non-ASCII characters, wrong check digit, unreadable field,
    /// epoch before 1972, elements SGP4 cannot start from.
    pub fn from_lines(name: Option<&str>, one: &str, two: &str) -> Result<Self, StartError> {
        check_line(1, one)?;
        check_line(2, two)?;
        let inner =
            sgp4::Elements::from_tle(name.map(str::to_owned), one.as_bytes(), two.as_bytes())
                .map_err(|e| StartError::Line {
                    line: if format!("{e}").contains("line 2") {
                        2
                    } else {
                        1
                    },
                    reason: format!("{e}"),
                })?;
        Self::from_inner(inner)
    }

    /// From an orbit mean-elements message as JSON: one object, or a list of exactly one.
    ///
    /// # Errors
    /// When the text is not such JSON, a needed key is missing, the theory is not SGP4, or the
    /// frame, centre or time system is another than TEME, Earth, UTC.
    pub fn from_omm_json(text: &str) -> Result<Self, StartError> {
        let value: Value =
            serde_json::from_str(text).map_err(|e| message(format!("not JSON: {e}")))?;
        let object = match value {
            Value::Object(object) => object,
            Value::Array(mut list) if list.len() == 1 => match list.remove(0) {
                Value::Object(object) => object,
                _ => return Err(message("the list holds no object".to_owned())),
            },
            Value::Array(list) => {
                return Err(message(format!(
                    "expected one set of elements, found {}",
                    list.len()
                )));
            }
            _ => return Err(message("expected an object of keys and values".to_owned())),
        };
        Self::from_omm(object)
    }

    /// From an orbit mean-elements message in keyword-value notation.
    ///
    /// # Errors
    /// As [`Self::from_omm_json`].
    pub fn from_omm_kvn(text: &str) -> Result<Self, StartError> {
        let mut object = Map::new();
        for (number, line) in text.lines().enumerate() {
            let line = line.trim();
            if line.is_empty() || line.starts_with("COMMENT") {
                continue;
            }
            let (key, value) = line
                .split_once('=')
                .ok_or_else(|| message(format!("line {}: expected KEYWORD = value", number + 1)))?;
            // A unit in brackets may follow the value; the standard fixes it, so it is dropped.
            let value = value.split('[').next().unwrap_or("").trim();
            let key = key.trim().to_owned();
            if object
                .insert(key.clone(), Value::String(value.to_owned()))
                .is_some()
            {
                return Err(message(format!("line {}: {key} appears twice", number + 1)));
            }
        }
        Self::from_omm(object)
    }

    fn from_omm(mut object: Map<String, Value>) -> Result<Self, StartError> {
        for (key, wanted) in [
            ("REF_FRAME", "TEME"),
            ("CENTER_NAME", "EARTH"),
            ("TIME_SYSTEM", "UTC"),
            ("MEAN_ELEMENT_THEORY", "SGP4"),
        ] {
            if let Some(found) = object.get(key).and_then(Value::as_str) {
                // Old messages spell the theory SGP/SGP4.
                let fits = found.eq_ignore_ascii_case(wanted)
                    || (wanted == "SGP4" && found.eq_ignore_ascii_case("SGP/SGP4"));
                if !fits {
                    return Err(message(format!("{key} is {found}, only {wanted} is read")));
                }
            }
        }
        for (key, usual) in [
            ("OBJECT_NAME", Value::Null),
            ("OBJECT_ID", Value::Null),
            ("NORAD_CAT_ID", Value::from(0)),
            ("CLASSIFICATION_TYPE", Value::from("U")),
            ("ELEMENT_SET_NO", Value::from(0)),
            ("REV_AT_EPOCH", Value::from(0)),
            ("EPHEMERIS_TYPE", Value::from(0)),
            ("MEAN_MOTION_DOT", Value::from(0)),
            ("MEAN_MOTION_DDOT", Value::from(0)),
        ] {
            object.entry(key).or_insert(usual);
        }
        if let Some(Value::String(epoch)) = object.get_mut("EPOCH") {
            *epoch = epoch.trim_end_matches('Z').to_owned();
        }
        let inner =
            serde_json::from_value(Value::Object(object)).map_err(|e| message(format!("{e}")))?;
        Self::from_inner(inner)
    }

    fn from_inner(inner: sgp4::Elements) -> Result<Self, StartError> {
        let instant: DateTime<ChronoUtc> = inner.datetime.and_utc();
        let epoch = Utc::from_unix(
            instant.timestamp(),
            i64::from(instant.timestamp_subsec_nanos()),
        )?;
        if inner.ephemeris_type == 4 {
            return Err(StartError::Sgp4 {
                reason: "the set is fitted with another theory (ephemeris type 4)".to_owned(),
            });
        }
        let numbers = [
            ("mean motion", inner.mean_motion),
            ("eccentricity", inner.eccentricity),
            ("inclination", inner.inclination),
            ("right ascension of the node", inner.right_ascension),
            ("argument of perigee", inner.argument_of_perigee),
            ("mean anomaly", inner.mean_anomaly),
            ("drag term", inner.drag_term),
        ];
        if let Some((what, _)) = numbers.into_iter().find(|(_, x)| !x.is_finite()) {
            return Err(StartError::NotFinite { what });
        }
        let constants =
            sgp4::Constants::from_elements_afspc_compatibility_mode(&inner).map_err(|e| {
                StartError::Sgp4 {
                    reason: e.to_string(),
                }
            })?;
        Ok(Self {
            name: inner.object_name.clone(),
            epoch,
            inner,
            constants,
        })
    }

    /// The object's name, when the set gives one.
    pub fn name(&self) -> Option<&str> {
        self.name.as_deref()
    }

    /// The instant the elements hold for.
    pub fn epoch(&self) -> Utc {
        self.epoch
    }

    /// Whether SGP4 uses its deep-space branch (period of 225 min or more).
    pub fn is_deep_space(&self) -> bool {
        86_400.0 / self.inner.mean_motion >= DEEP_SPACE_PERIOD_S
    }

    /// Position and velocity in TEME of that instant.
    ///
    /// SGP4 is good to about 1 km at the epoch and loses 1 to 3 km a day in low orbit (common
    /// practice); any instant is allowed.
    ///
    /// # Errors
    /// When SGP4's own elements leave their range there (decay).
    pub fn state_at(&self, instant: Utc) -> Result<State, StartError> {
        self.state_after_minutes(instant.seconds_since(self.epoch) / 60.0)
    }

    /// The same, by minutes from the epoch.
    ///
    /// # Errors
    /// As [`Self::state_at`].
    pub fn state_after_minutes(&self, minutes: f64) -> Result<State, StartError> {
        let prediction = self
            .constants
            .propagate_afspc_compatibility_mode(sgp4::MinutesSinceEpoch(minutes))
            .map_err(|e| StartError::Sgp4 {
                reason: e.to_string(),
            })?;
        Ok(State {
            position_m: Vec3::from(prediction.position) * 1_000.0,
            velocity_m_s: Vec3::from(prediction.velocity) * 1_000.0,
        })
    }

    /// The start state at an instant, checked as any other start.
    ///
    /// # Errors
    /// As [`Self::state_at`] and [`check_start`].
    pub fn start_at(&self, instant: Utc) -> Result<(State, Option<StartNote>), StartError> {
        let state = self.state_at(instant)?;
        Ok((state, check_start(&state)?))
    }
}

fn message(reason: String) -> StartError {
    StartError::Message { reason }
}

/// Checks one line's length, alphabet, number and check digit before its fields are read.
///
/// The check digit is the sum of all digits and of 1 for each minus sign, modulo 10.
fn check_line(line: u8, text: &str) -> Result<(), StartError> {
    let refuse = |reason: String| Err(StartError::Line { line, reason });
    if let Some((column, c)) = text
        .chars()
        .enumerate()
        .find(|(_, c)| !(' '..='~').contains(c))
    {
        return refuse(format!(
            "column {} holds {c:?}, not a printable ASCII character",
            column + 1
        ));
    }
    if text.len() != 69 {
        return refuse(format!("expected 69 characters, found {}", text.len()));
    }
    if text.as_bytes().first() != Some(&(b'0' + line)) {
        return refuse(format!("column 1 must be {line}"));
    }
    let (body, last) = text.split_at(68);
    let sum: u32 = body
        .chars()
        .map(|c| {
            if c == '-' {
                1
            } else {
                c.to_digit(10).unwrap_or(0)
            }
        })
        .sum();
    let computed = (sum % 10) as u8;
    let found = last.chars().next().unwrap_or(' ');
    if found.to_digit(10) != Some(u32::from(computed)) {
        return Err(StartError::CheckDigit {
            line,
            found,
            computed,
        });
    }
    Ok(())
}
