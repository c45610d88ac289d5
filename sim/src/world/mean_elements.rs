//! Published mean element sets, turned into states by SGP4.
//!
//! Sets of two lines, or CCSDS 502.0 orbit mean-elements messages as JSON or KVN, go through SGP4
//! with the WGS-72 constants they are fitted with (Vallado et al., *Revisiting Spacetrack Report
//! #3*, AIAA 2006-6753). SGP4's output is TEME of the instant asked for, which is the plant's
//! inertial frame when that instant is the run's start.

use serde_json::{Map, Value};
use sgp4::chrono::{DateTime, Utc as ChronoUtc};

use super::Vec3;
use super::elements::{DEEP_SPACE_PERIOD_S, StartError, StartNote, check_start};
use super::kepler::State;
use super::time::Utc;

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
            Some('<') => {
                Err(StartError::Message { reason: "XML is not read here; ask the source for JSON or KVN".to_owned() })
            }
            _ if text.contains('=') => Self::from_omm_kvn(text),
            _ => Self::from_element_text(text),
        }
    }

    fn from_element_text(text: &str) -> Result<Self, StartError> {
        let lines: Vec<&str> = text.lines().map(str::trim_end).filter(|line| !line.is_empty()).collect();
        match lines.as_slice() {
            [one, two] => Self::from_lines(None, one, two),
            [name, one, two] => Self::from_lines(Some(name.trim()), one, two),
            _ => Err(StartError::Line {
                line: 1,
                reason: format!("expected two lines, or a name and two lines, found {}", lines.len()),
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
        let inner = sgp4::Elements::from_tle(name.map(str::to_owned), one.as_bytes(), two.as_bytes()).map_err(|e| {
            StartError::Line { line: if format!("{e}").contains("line 2") { 2 } else { 1 }, reason: format!("{e}") }
        })?;
        Self::from_inner(inner)
    }

    /// From an orbit mean-elements message as JSON: one object, or a list of exactly one.
    ///
    /// # Errors
    /// When the text is not such JSON, a needed key is missing, the theory is not SGP4, or the
    /// frame, centre or time system is another than TEME, Earth, UTC.
    pub fn from_omm_json(text: &str) -> Result<Self, StartError> {
        let value: Value = serde_json::from_str(text).map_err(|e| message(format!("not JSON: {e}")))?;
        let object = match value {
            Value::Object(object) => object,
            Value::Array(mut list) if list.len() == 1 => match list.remove(0) {
                Value::Object(object) => object,
                _ => return Err(message("the list holds no object".to_owned())),
            },
            Value::Array(list) => {
                return Err(message(format!("expected one set of elements, found {}", list.len())));
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
            if object.insert(key.clone(), Value::String(value.to_owned())).is_some() {
                return Err(message(format!("line {}: {key} appears twice", number + 1)));
            }
        }
        Self::from_omm(object)
    }

    fn from_omm(mut object: Map<String, Value>) -> Result<Self, StartError> {
        for (key, wanted) in
            [("REF_FRAME", "TEME"), ("CENTER_NAME", "EARTH"), ("TIME_SYSTEM", "UTC"), ("MEAN_ELEMENT_THEORY", "SGP4")]
        {
            if let Some(found) = object.get(key).and_then(Value::as_str) {
                // Old messages spell the theory SGP/SGP4.
                let fits =
                    found.eq_ignore_ascii_case(wanted) || (wanted == "SGP4" && found.eq_ignore_ascii_case("SGP/SGP4"));
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
        let inner = serde_json::from_value(Value::Object(object)).map_err(|e| message(format!("{e}")))?;
        Self::from_inner(inner)
    }

    fn from_inner(inner: sgp4::Elements) -> Result<Self, StartError> {
        let instant: DateTime<ChronoUtc> = inner.datetime.and_utc();
        let epoch = Utc::from_unix(instant.timestamp(), i64::from(instant.timestamp_subsec_nanos()))?;
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
        let constants = sgp4::Constants::from_elements_afspc_compatibility_mode(&inner)
            .map_err(|e| StartError::Sgp4 { reason: e.to_string() })?;
        Ok(Self { name: inner.object_name.clone(), epoch, inner, constants })
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
            .map_err(|e| StartError::Sgp4 { reason: e.to_string() })?;
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
    if let Some((column, c)) = text.chars().enumerate().find(|(_, c)| !(' '..='~').contains(c)) {
        return refuse(format!("column {} holds {c:?}, not a printable ASCII character", column + 1));
    }
    if text.len() != 69 {
        return refuse(format!("expected 69 characters, found {}", text.len()));
    }
    if text.as_bytes().first() != Some(&(b'0' + line)) {
        return refuse(format!("column 1 must be {line}"));
    }
    let (body, last) = text.split_at(68);
    let sum: u32 = body.chars().map(|c| if c == '-' { 1 } else { c.to_digit(10).unwrap_or(0) }).sum();
    let computed = (sum % 10) as u8;
    let found = last.chars().next().unwrap_or(' ');
    if found.to_digit(10) != Some(u32::from(computed)) {
        return Err(StartError::CheckDigit { line, found, computed });
    }
    Ok(())
}
