//! UTC times of the file, and leap seconds.

use jiff::Timestamp;
use jiff::civil;
use jiff::tz::Offset;
use serde_json::{Value, json};
use toml::Spanned;
use toml::de::DeValue;

use crate::scenario::read::FromToml;
use crate::scenario::read::context::Context;
use crate::scenario::read::spec::Spec;

/// First days on which UTC had a new leap second just before 0h (IERS Bulletin C; dates as listed in
/// the IERS leap-second table, Paris). A day after the last one is believed to have none.
const AFTER_LEAP: &[(i16, i8, i8)] = &[
    (1972, 7, 1),
    (1973, 1, 1),
    (1974, 1, 1),
    (1975, 1, 1),
    (1976, 1, 1),
    (1977, 1, 1),
    (1978, 1, 1),
    (1979, 1, 1),
    (1980, 1, 1),
    (1981, 7, 1),
    (1982, 7, 1),
    (1983, 7, 1),
    (1985, 7, 1),
    (1988, 1, 1),
    (1990, 1, 1),
    (1991, 1, 1),
    (1992, 7, 1),
    (1993, 7, 1),
    (1994, 7, 1),
    (1996, 1, 1),
    (1997, 7, 1),
    (1999, 1, 1),
    (2006, 1, 1),
    (2009, 1, 1),
    (2012, 7, 1),
    (2015, 7, 1),
    (2017, 1, 1),
];

/// Years in which a run may start: UTC has leap seconds from 1972; the frames used hold for this century.
const YEARS: std::ops::RangeInclusive<i16> = 1972..=2099;

/// A UTC instant of the file, without leap seconds.
#[derive(Clone, Copy, Debug, Eq, Ord, PartialEq, PartialOrd)]
pub struct Utc(pub Timestamp);

impl Utc {
    /// Seconds from `start` to this instant, by a clock that has no leap seconds.
    pub fn since_s(self, start: Self) -> f64 {
        self.0.duration_since(start.0).as_secs_f64()
    }

    /// The leap second that falls in the `duration_s` after this instant, as the day that it ends before.
    pub fn leap_second_within(self, duration_s: f64) -> Option<civil::Date> {
        AFTER_LEAP.iter().map(|(year, month, day)| civil::date(*year, *month, *day)).find(|date| {
            let instant = Offset::UTC.to_timestamp(date.at(0, 0, 0, 0));
            instant.is_ok_and(|instant| {
                let after_s = Self(instant).since_s(self);
                after_s > 0.0 && after_s <= duration_s
            })
        })
    }

    fn parse(text: &str) -> Option<Self> {
        let second = text.get(17..19).unwrap_or_default();
        let zulu = text.ends_with('Z') || text.ends_with("+00:00");
        let found = (zulu && second != "60").then(|| text.parse::<Timestamp>().ok()).flatten()?;
        YEARS.contains(&Offset::UTC.to_datetime(found).year()).then_some(Self(found))
    }
}

impl std::fmt::Display for Utc {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.0)
    }
}

impl FromToml for Utc {
    fn read(_: &Spec, meaning: &str, value: &Spanned<DeValue<'_>>, key: &str, cx: &mut Context) -> Option<Self> {
        let text = match value.get_ref() {
            DeValue::Datetime(datetime) => datetime.to_string(),
            DeValue::String(text) => text.to_string(),
            _ => String::new(),
        };
        let utc = Self::parse(&text);
        if utc.is_none() {
            let label = format!("allowed: UTC like 2026-03-21T06:00:00Z, years {} to {}", YEARS.start(), YEARS.end());
            let help = format!(
                "{meaning} Write date, T, time and Z. A second numbered 60 cannot be used: runs do not cross leap seconds."
            );
            cx.refuse_at(key, Some(value.span()), format!("{key} is not a UTC time"), label, help);
        }
        utc
    }

    fn schema(_: &Spec) -> Value {
        json!({ "type": "string", "format": "date-time" })
    }
}
