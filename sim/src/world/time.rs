//! Instants of UTC, the Julian dates made from them, leap seconds and sidereal time.
//!
//! The rule for leap seconds: inside a run time is counted in SI seconds from the start and
//! converted to UTC by plain addition, so a run whose span contains a leap second is refused
//! (see [`leap_second_within`]). The instant `23:59:60` itself is refused by the parser.

use std::fmt;
use std::str::FromStr;

use jiff::Timestamp;
use thiserror::Error;

/// Seconds in a day of UTC without a leap second.
pub const DAY_S: f64 = 86_400.0;

/// TT − TAI, s. Defined by IAU 1991 Recommendation IV.
pub const TT_MINUS_TAI_S: f64 = 32.184;

const NS_PER_S: i64 = 1_000_000_000;
/// 1972-01-01T00:00:00Z, s from 1970: UTC keeps whole SI seconds only from here on.
const FIRST_UNIX_S: i64 = 63_072_000;
/// 2100-01-01T00:00:00Z, s from 1970: the low-precision Sun and two-digit years end about here.
const LAST_UNIX_S: i64 = 4_102_444_800;
/// Julian date of 1970-01-01T00:00.
const JD_UNIX_EPOCH: f64 = 2_440_587.5;
/// Julian date of 2000-01-01T12:00.
const JD_J2000: f64 = 2_451_545.0;

/// (s from 1970 at which it begins, TAI − UTC in s): IERS Bulletin C, through number 52 of 2016.
/// No leap second has been announced after 2017-01-01; later instants use 37 s.
const TAI_MINUS_UTC: [(i64, i64); 28] = [
    (63_072_000, 10),    // 1972-01-01
    (78_796_800, 11),    // 1972-07-01
    (94_694_400, 12),    // 1973-01-01
    (126_230_400, 13),   // 1974-01-01
    (157_766_400, 14),   // 1975-01-01
    (189_302_400, 15),   // 1976-01-01
    (220_924_800, 16),   // 1977-01-01
    (252_460_800, 17),   // 1978-01-01
    (283_996_800, 18),   // 1979-01-01
    (315_532_800, 19),   // 1980-01-01
    (362_793_600, 20),   // 1981-07-01
    (394_329_600, 21),   // 1982-07-01
    (425_865_600, 22),   // 1983-07-01
    (489_024_000, 23),   // 1985-07-01
    (567_993_600, 24),   // 1988-01-01
    (631_152_000, 25),   // 1990-01-01
    (662_688_000, 26),   // 1991-01-01
    (709_948_800, 27),   // 1992-07-01
    (741_484_800, 28),   // 1993-07-01
    (773_020_800, 29),   // 1994-07-01
    (820_454_400, 30),   // 1996-01-01
    (867_715_200, 31),   // 1997-07-01
    (915_148_800, 32),   // 1999-01-01
    (1_136_073_600, 33), // 2006-01-01
    (1_230_768_000, 34), // 2009-01-01
    (1_341_100_800, 35), // 2012-07-01
    (1_435_708_800, 36), // 2015-07-01
    (1_483_228_800, 37), // 2017-01-01
];

/// Why an instant was refused.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum TimeError {
    /// The text is not an ISO 8601 date and time.
    #[error("'{text}' is not an instant of UTC such as 2027-06-21T08:00:00Z: {reason}")]
    Unreadable {
        /// What was given.
        text: String,
        /// What is wrong with it.
        reason: String,
    },
    /// The text does not end in `Z`.
    #[error("'{text}' does not end in Z: instants are UTC, written such as 2027-06-21T08:00:00Z")]
    NotUtc {
        /// What was given.
        text: String,
    },
    /// The text names the 61st second of a minute.
    #[error("'{text}' lies inside a leap second; start a second earlier or later")]
    InsideLeapSecond {
        /// What was given.
        text: String,
    },
    /// The instant is before 1972 or after 2099.
    #[error("{year} is outside 1972 to 2099, the years for which UTC and the Sun are modelled")]
    OutOfRange {
        /// The year asked for.
        year: i64,
    },
}

/// An instant of UTC from 1972-01-01 to 2100-01-01, held to a nanosecond.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Utc {
    /// Nanoseconds from 1970-01-01T00:00:00Z, leap seconds not counted.
    unix_ns: i64,
}

/// A Julian date in two parts, so that the fraction keeps its digits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JulianDate {
    /// The Julian date of the preceding midnight, d (ends in .5).
    pub midnight_d: f64,
    /// What has passed since, d, in [0, 1) up to small offsets of time scale.
    pub fraction_d: f64,
}

impl JulianDate {
    /// From a Julian date in one number, d (resolves 40 µs).
    pub fn from_days(jd: f64) -> Self {
        let midnight_d = (jd - 0.5).floor() + 0.5;
        Self { midnight_d, fraction_d: jd - midnight_d }
    }

    /// The date in one number, d (resolves 40 µs).
    pub fn days(self) -> f64 {
        self.midnight_d + self.fraction_d
    }

    /// Julian centuries of 36 525 d since J2000.0 of the same time scale.
    pub fn centuries(self) -> f64 {
        ((self.midnight_d - JD_J2000) + self.fraction_d) / 36_525.0
    }

    /// This date moved by `seconds`, s.
    pub fn plus_seconds(self, seconds: f64) -> Self {
        Self { fraction_d: self.fraction_d + seconds / DAY_S, ..self }
    }
}

impl Utc {
    /// Reads an ISO 8601 instant that ends in `Z`, for example `2027-06-21T08:00:00.250Z`.
    ///
    /// # Errors
    /// When the text is no instant, carries another offset than `Z`, names a 61st second, or lies
    /// outside 1972 to 2099.
    pub fn parse(text: &str) -> Result<Self, TimeError> {
        let trimmed = text.trim();
        if !trimmed.ends_with(['Z', 'z']) {
            return Err(TimeError::NotUtc { text: trimmed.to_owned() });
        }
        // The reader takes :60 for :59, which would silently move the start by a second.
        let seconds = trimmed.split(':').nth(2).unwrap_or("");
        if seconds.starts_with("60") {
            return Err(TimeError::InsideLeapSecond { text: trimmed.to_owned() });
        }
        let stamp: Timestamp = trimmed
            .parse()
            .map_err(|e: jiff::Error| TimeError::Unreadable { text: trimmed.to_owned(), reason: e.to_string() })?;
        Self::from_unix(stamp.as_second(), i64::from(stamp.subsec_nanosecond()))
    }

    /// From seconds and nanoseconds since 1970-01-01T00:00:00Z, leap seconds not counted.
    ///
    /// # Errors
    /// When the instant lies outside 1972 to 2099.
    pub fn from_unix(second: i64, nanosecond: i64) -> Result<Self, TimeError> {
        if !(FIRST_UNIX_S..LAST_UNIX_S).contains(&second) {
            let year = 1970 + second.div_euclid(31_556_952);
            return Err(TimeError::OutOfRange { year });
        }
        Ok(Self { unix_ns: second * NS_PER_S + nanosecond })
    }

    /// Nanoseconds since 1970-01-01T00:00:00Z, leap seconds not counted.
    pub fn unix_ns(self) -> i64 {
        self.unix_ns
    }

    /// The instant `seconds` later (earlier when negative), to the nearest nanosecond.
    ///
    /// Saturates at the ends of the range; a NaN moves nothing. Leap seconds are not counted.
    #[must_use]
    pub fn plus_seconds(self, seconds: f64) -> Self {
        let ns = (seconds * NS_PER_S as f64).round() as i64;
        let low = FIRST_UNIX_S * NS_PER_S;
        let high = LAST_UNIX_S * NS_PER_S - 1;
        Self { unix_ns: self.unix_ns.saturating_add(ns).clamp(low, high) }
    }

    /// Seconds from `earlier` to this instant, s, leap seconds not counted.
    pub fn seconds_since(self, earlier: Self) -> f64 {
        (self.unix_ns - earlier.unix_ns) as f64 / NS_PER_S as f64
    }

    /// TAI − UTC at this instant, s.
    pub fn tai_minus_utc_s(self) -> i64 {
        let second = self.unix_ns.div_euclid(NS_PER_S);
        TAI_MINUS_UTC.iter().rev().find(|(from, _)| *from <= second).map_or(10, |(_, offset)| *offset)
    }

    /// Julian date in UTC.
    pub fn jd_utc(self) -> JulianDate {
        let day_ns = 86_400 * NS_PER_S;
        let days = self.unix_ns.div_euclid(day_ns);
        let rest = self.unix_ns.rem_euclid(day_ns);
        JulianDate { midnight_d: JD_UNIX_EPOCH + days as f64, fraction_d: rest as f64 / day_ns as f64 }
    }

    /// Julian date in UT1, given UT1 − UTC in s (IERS Bulletin A or B; within ±0.9 s).
    pub fn jd_ut1(self, ut1_minus_utc_s: f64) -> JulianDate {
        self.jd_utc().plus_seconds(ut1_minus_utc_s)
    }

    /// Julian date in terrestrial time, TT = UTC + (TAI − UTC) + 32.184 s.
    pub fn jd_tt(self) -> JulianDate {
        self.jd_utc().plus_seconds(self.tai_minus_utc_s() as f64 + TT_MINUS_TAI_S)
    }
}

impl fmt::Display for Utc {
    /// ISO 8601 to the millisecond, rounded to nearest.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let ms = (self.unix_ns + 500_000).div_euclid(1_000_000);
        let stamp = Timestamp::from_millisecond(ms).map_err(|_| fmt::Error)?;
        write!(f, "{stamp:.3}")
    }
}

impl FromStr for Utc {
    type Err = TimeError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Self::parse(text)
    }
}

/// The first leap second that falls inside a run of `duration_s` from `start`, if any.
///
/// Gives the instant just after it (always a midnight). A run is refused when this is `Some`.
pub fn leap_second_within(start: Utc, duration_s: f64) -> Option<Utc> {
    let end = start.plus_seconds(duration_s.max(0.0));
    TAI_MINUS_UTC
        .iter()
        .skip(1) // 1972-01-01 only begins the table
        .map(|(from, _)| Utc { unix_ns: from * NS_PER_S })
        .find(|step| start < *step && *step <= end)
}

/// Greenwich mean sidereal time, rad in [0, 2π), IAU 1982.
///
/// Aoki et al., *Astron. Astrophys.* 105, 359 (1982), as in Meeus, *Astronomical Algorithms*,
/// ch. 12. The polynomial is taken at the instant itself, as `erfa.gmst82` does.
pub fn gmst_iau1982_rad(ut1: JulianDate) -> f64 {
    let t = ut1.centuries();
    let polynomial_s = 24_110.548_41 + (8_640_184.812_866 + (0.093_104 - 6.2e-6 * t) * t) * t;
    let turns = polynomial_s / DAY_S + ut1.fraction_d;
    turns.rem_euclid(1.0) * std::f64::consts::TAU
}
