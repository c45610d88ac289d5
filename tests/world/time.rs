//! UTC, Julian dates, leap seconds (IERS Bulletin C), sidereal time.

use crate::assert_near;
use stillframe::world::time::{TimeError, Utc, gmst_iau1982_rad, leap_second_within};

fn utc(text: &str) -> Utc {
    Utc::parse(text).expect("a good instant")
}

/// Julian dates: Meeus, *Astronomical Algorithms*, ch. 7 table (2000-01-01.5, 1999-01-01.0,
/// 1987-01-27.0).
#[test]
fn julian_dates() {
    assert_eq!(utc("2000-01-01T12:00:00Z").jd_utc().days(), 2_451_545.0);
    assert_eq!(utc("1999-01-01T00:00:00Z").jd_utc().days(), 2_451_179.5);
    assert_eq!(utc("1987-01-27T00:00:00Z").jd_utc().days(), 2_446_822.5);
}

/// Dates and offsets of IERS Bulletin C.
#[test]
fn leap_seconds() {
    assert_eq!(utc("1972-01-01T00:00:00Z").tai_minus_utc_s(), 10);
    assert_eq!(utc("1998-12-31T23:59:59Z").tai_minus_utc_s(), 31);
    assert_eq!(utc("1999-01-01T00:00:00Z").tai_minus_utc_s(), 32);
    assert_eq!(utc("2016-12-31T23:59:59.999Z").tai_minus_utc_s(), 36);
    assert_eq!(utc("2017-01-01T00:00:00Z").tai_minus_utc_s(), 37);
    assert_eq!(utc("2027-06-21T00:00:00Z").tai_minus_utc_s(), 37);
    let tt = utc("2017-01-01T00:00:00Z").jd_tt();
    assert_near(tt.fraction_d * 86_400.0, 69.184, 1e-9);
}

#[test]
fn a_run_over_a_leap_second_is_told() {
    let start = utc("2016-12-31T12:00:00Z");
    assert_eq!(leap_second_within(start, 43_200.0), Some(utc("2017-01-01T00:00:00Z")));
    assert_eq!(leap_second_within(start, 43_199.0), None);
    assert_eq!(leap_second_within(utc("2017-01-01T00:00:00Z"), 86_400.0), None);
}

/// Meeus examples 12.a and 12.b; last digits from erfa `gmst82`. Later dates from the same.
#[test]
fn sidereal_time() {
    for (text, degrees) in [
        ("1987-04-10T00:00:00Z", 197.693_195_113),
        ("1987-04-10T19:21:00Z", 128.737_873_299_8),
        ("2027-06-21T08:00:00Z", 29.296_399_034_278_892),
        ("2050-01-02T03:04:05Z", 147.978_223_740_785_47),
    ] {
        let found = gmst_iau1982_rad(utc(text).jd_ut1(0.0)).to_degrees();
        assert_near(found, degrees, 2e-9);
    }
}

#[test]
fn text_there_and_back() {
    for text in ["2027-06-21T08:00:00.250Z", "1972-01-01T00:00:00.000Z", "2099-12-31T23:59:59.999Z"] {
        assert_eq!(utc(text).to_string(), text);
    }
    assert_eq!(utc("2027-06-21T08:00:00Z").plus_seconds(0.9996).to_string(), "2027-06-21T08:00:01.000Z");
    let moved = utc("2027-12-31T23:59:00Z").plus_seconds(60.25);
    assert_eq!(moved.to_string(), "2028-01-01T00:00:00.250Z");
    assert_eq!(moved.seconds_since(utc("2027-12-31T23:59:00Z")), 60.25);
}

#[test]
fn refusals() {
    assert!(matches!(Utc::parse("2027-06-21T08:00:00"), Err(TimeError::NotUtc { .. })));
    assert!(matches!(Utc::parse("2027-06-21T08:00:00+01:00"), Err(TimeError::NotUtc { .. })));
    assert!(matches!(Utc::parse("2016-12-31T23:59:60Z"), Err(TimeError::InsideLeapSecond { .. })));
    assert!(matches!(Utc::parse("2027-02-29T08:00:00Z"), Err(TimeError::Unreadable { .. })));
    assert!(matches!(Utc::parse("noonZ"), Err(TimeError::Unreadable { .. })));
    assert!(matches!(Utc::parse("1971-12-31T23:59:59Z"), Err(TimeError::OutOfRange { .. })));
    assert!(matches!(Utc::parse("2100-01-01T00:00:00Z"), Err(TimeError::OutOfRange { .. })));
}
