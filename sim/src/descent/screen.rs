//! The study on one screen.

use std::fmt::Write;

use super::document::Descent;
use super::summary::degrees;
use crate::record::summary::Bound;

/// What a return came to, as text of some thirty lines.
pub fn screen(s: &Descent) -> String {
    let mut text = String::new();
    // Writing to a string cannot fail.
    let mut line = |name: &str, value: String| {
        let _ = writeln!(text, "  {name:<12} {value}");
    };
    line(
        "descent",
        format!("{} · seed {} · {} descents · {:.1} s of computing", s.scenario, s.seed, s.footprint.runs, s.wall_s),
    );
    for fault in &s.faults {
        line("FAULT", format!("{fault}, on purpose"));
    }
    let place = |lat: f64, lon: f64| degrees(lat.to_radians(), lon.to_radians());
    line(
        "zone",
        format!(
            "{} at {}, ±{} km along, ±{} km across",
            s.zone.name,
            place(s.zone.latitude_deg, s.zone.longitude_deg),
            s.zone.half_along_km,
            s.zone.half_across_km
        ),
    );
    for (number, pass) in s.passes.iter().enumerate() {
        let used = if pass.used { "  ◄ used" } else { "" };
        let side = if pass.across_km >= 0.0 { "left" } else { "right" };
        line(
            if number == 0 { "passes" } else { "" },
            format!(
                "{}  fire {}, lands {:.0} km {side} of the centre{used}",
                number + 1,
                pass.retro_utc,
                pass.across_km.abs()
            ),
        );
    }
    let r = &s.retro;
    line(
        "retro",
        format!(
            "{:.1} m/s at {:.1}° from the velocity, {:.1} rev/min; range changes {:+.1} km per degree of pitch",
            r.ideal_speed_m_s, r.angle_deg, r.spin_rpm, s.angle.here_km_deg
        ),
    );
    let least = s.angle.least_sensitive_deg.map_or("none between 95° and 180°".into(), |a| format!("{a:.1}°"));
    let back = s.angle.straight_back_km_deg.map_or(String::new(), |k| format!("; straight back {k:+.1} km per degree"));
    line("", format!("least sensitive angle {least}{back}"));
    for event in &s.sequence {
        line(
            if event.what == "ignition" { "sequence" } else { "" },
            format!(
                "{:>7.1} s  {:<28} {:>6.1} km {:>7.1} m/s  Mach {:>5.2}  {:>6.2} kPa",
                event.after_ignition_s, event.what, event.height_km, event.speed_m_s, event.mach, event.pressure_kpa
            ),
        );
    }
    let e = &s.entry;
    line(
        "entry",
        format!(
            "{:.1} g at {:.1} km; {:.2} MW/m² at {:.1} km, {:.0} MJ/m²; {:.1} kPa",
            e.most_g,
            e.most_g_height_km,
            e.most_flux_w_m2 * 1e-6,
            e.most_flux_height_km,
            e.heat_j_m2 * 1e-6,
            e.most_pressure_kpa
        ),
    );
    let t = &s.touchdown;
    match (t.latitude_deg, t.longitude_deg, t.speed_m_s) {
        (Some(lat), Some(lon), Some(speed)) => {
            line("touchdown", format!("{} at {}, {speed:.1} m/s", place(lat, lon), t.utc.as_deref().unwrap_or("–")))
        }
        _ => line("touchdown", t.end.clone()),
    }
    if t.drogue != "stands" || t.main != "stands" {
        line("", format!("drogue {}; main {}", t.drogue, t.main));
    }
    let f = &s.footprint;
    let ellipse = if f.half_axes_km[0] > 0.0 {
        format!("{:.2} % ellipse ±{:.1} by ±{:.1} km", 100.0 * f.confidence, f.half_axes_km[0], f.half_axes_km[1])
    } else {
        "no ellipse: landing places are spread along the track".to_owned()
    };
    line(
        "footprint",
        format!(
            "{ellipse}; {} of {} in the zone ({:.1} to {:.1} %)",
            f.in_zone.hits,
            f.in_zone.runs,
            100.0 * f.in_zone.low,
            100.0 * f.in_zone.high
        ),
    );
    if f.down.hits < f.down.runs {
        line("", format!("{} of {} stay in orbit", f.down.runs - f.down.hits, f.down.runs));
    }
    let most = s.sensitivity.iter().take(4).map(|c| format!("{} {:.0} %", c.what, c.share_percent));
    line("made by", most.collect::<Vec<_>>().join(", "));
    line(
        "casualties",
        format!("{:.1e} expected (guidance {:.0e}; an estimate, no licence)", s.casualty.expected, s.casualty.guidance),
    );
    if let Some(region) = &s.region {
        line("late news", region.news.clone());
        for part in &region.parts {
            line("", format!("{:.1} %  {}: {}", part.chance_percent, part.why, part.place));
        }
    }
    for c in &s.criteria {
        let side = match c.bound {
            Bound::AtMost => "at most",
            Bound::AtLeast => "at least",
        };
        let value = c.value.map_or("–".into(), |value| format!("{value:.2}"));
        line(
            if c.met() { "met" } else { "NOT MET" },
            format!("{}: {value} {} ({side} {:.2})", c.name, c.unit, c.limit),
        );
    }
    text
}
