//! Numbers and times as people read them.

use maud::{Markup, html};

/// A number to `digits` significant figures, with a true minus sign; an em dash for what is not finite.
pub fn significant(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return "—".into();
    }
    if value == 0.0 {
        return "0".into();
    }
    let digits = digits.max(1);
    // Through the exponent form, so that 9.996 to three figures counts as 10.0 and not as 9.996.
    let exponent: i32 =
        format!("{:.*e}", digits - 1, value.abs()).rsplit('e').next().and_then(|e| e.parse().ok()).unwrap_or(0);
    if !(-4..7).contains(&exponent) {
        let mantissa = value / 10_f64.powi(exponent);
        return minus(format!("{mantissa:.*} × 10{}", digits - 1, superscript(exponent)));
    }
    let decimals = (digits as i32 - 1 - exponent).max(0) as usize;
    minus(format!("{value:.decimals$}"))
}

/// A number with fixed decimals; an em dash for what is not finite.
pub fn fixed(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "—".into();
    }
    let text = format!("{value:.decimals$}");
    // What rounds to zero has no sign.
    let zero = text.bytes().all(|b| matches!(b, b'-' | b'0' | b'.'));
    minus(if zero { text.replace('-', "") } else { text })
}

/// A count with thin spaces between thousands.
pub fn count(value: u64) -> String {
    let digits = value.to_string();
    let mut text = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            text.push('\u{202f}');
        }
        text.push(digit);
    }
    text
}

/// A time since the start of the run as h:mm:ss.
pub fn clock(time_s: f64) -> String {
    let tenths = (time_s.max(0.0) * 10.0).round() as u64;
    let (seconds, tenth) = (tenths / 10, tenths % 10);
    format!("{}:{:02}:{:02}.{tenth}", seconds / 3600, seconds / 60 % 60, seconds % 60)
}

/// A length of time in the unit that suits it.
pub fn span(time_s: f64) -> String {
    match time_s {
        t if !t.is_finite() => "—".into(),
        t if t < 120.0 => format!("{} s", significant(t, 3)),
        t if t < 7_200.0 => format!("{} min", significant(t / 60.0, 3)),
        t if t < 172_800.0 => format!("{} h", significant(t / 3_600.0, 3)),
        t => format!("{} d", significant(t / 86_400.0, 3)),
    }
}

/// A number of the summary: `key` is its path in the JSON, so that a program can check the page against it.
pub fn quoted(key: &str, value: f64, text: &str) -> Markup {
    html! { data data-key=(key) value=(value) { (text) } }
}

fn minus(text: String) -> String {
    text.replace('-', "\u{2212}")
}

fn superscript(exponent: i32) -> String {
    const DIGITS: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    let mut text = String::new();
    if exponent < 0 {
        text.push('⁻');
    }
    for digit in exponent.unsigned_abs().to_string().bytes() {
        text.push(DIGITS[usize::from(digit - b'0')]);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_their_figures() {
        assert_eq!(significant(0.012_345, 3), "0.0123");
        assert_eq!(significant(-9.996, 3), "\u{2212}10.0");
        assert_eq!(significant(99.96, 3), "100");
        assert_eq!(significant(2.1e-9, 2), "2.1 × 10⁻⁹");
        assert_eq!(significant(f64::NAN, 3), "—");
        assert_eq!((fixed(-0.04, 1), fixed(-0.06, 1)), ("0.0".into(), "\u{2212}0.1".into()));
        assert_eq!(count(4_320_000), "4\u{202f}320\u{202f}000");
    }

    #[test]
    fn times_carry_over() {
        assert_eq!(clock(59.96), "0:01:00.0");
        assert_eq!(clock(86_399.0), "23:59:59.0");
        assert_eq!(span(7_200.0), "2.00 h");
    }
}
