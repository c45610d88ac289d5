//! The study on one screen.

use std::fmt::Write;

use super::summary::{BinSummary, FilmRates, Range, Statistics};
use crate::record::summary::Bound;

/// What a study came to, as text of some thirty lines.
pub fn screen(rates: &FilmRates) -> String {
    let mut text = String::new();
    // Writing to a string cannot fail.
    let mut line = |name: &str, value: String| {
        let _ = writeln!(text, "  {name:<12} {value}");
    };
    line(
        "film rates",
        format!("{} · {} · {:.2} days · {:.1} s of computing", rates.scenario, rates.source, rates.days, rates.wall_s),
    );
    if let Some(blunder) = &rates.blunder {
        line("BLUNDER", format!("{blunder}, on purpose"));
    }
    if let Some(down) = rates.down_after_days {
        line("orbit", format!("comes down after {down:.2} days; looked at until hours before"));
    }
    if let Some(r) = &rates.required {
        let height = format!("mean height {:.1} falling to {:.1} km", r.first_height_km, r.last_height_km);
        line(
            "required",
            format!("{} mm/s; V/h {} mrad/s; {height}", range(&r.speed_mm_s, 2), range(&r.v_over_h_mrad_s, 2)),
        );
        line(
            "",
            format!(
                "changes by up to {:.4} %/s; crab {}°, {:.2} °/min; over the format {:.2} % along, {:.2} % across",
                r.speed_change_percent_s,
                range(&r.crab_deg, 2),
                r.crab_change_deg_min,
                r.format_along_percent,
                r.format_across_percent
            ),
        );
    }
    if let Some(p) = &rates.programme {
        line(
            "programme",
            format!(
                "{} loads, one in {} h, {} of {} free entries: fit {:.3} % at worst, {:.3} % rms",
                p.loads, p.load_every_h, p.entries_used, p.entries_free, p.fit_worst_percent, p.fit_rms_percent
            ),
        );
        line(
            "commanded",
            format!("{}; yaw off {:.3}° at worst", three(&p.error_percent, "%", 3), p.crab_error_deg.worst),
        );
    }
    let d = &rates.drive;
    line("reached", three(&d.error_percent, "%", 3));
    if d.metered_percent.count > 0 {
        line("at roller", three(&d.metered_percent, "%", 3));
    }
    line(
        "smear",
        format!(
            "along {}; across by yaw steering {:.2} µm 3σ",
            three(&d.smear_along_um, "µm", 2),
            d.smear_across_um.three_sigma
        ),
    );
    if let (Some(wow), Some(flutter)) = (d.wow_percent, d.flutter_percent) {
        line(
            "drive",
            format!(
                "{} runs; wow {wow:.3} %, flutter {flutter:.3} % 3σ; worst run {:.3} %",
                d.runs,
                d.worst_run_percent.unwrap_or(0.0)
            ),
        );
    }
    if let (Some(up), Some(down), Some(waste)) = (&d.start_up_s, &d.run_down_s, &d.waste_m) {
        line(
            "",
            format!(
                "valid after {} s; at rest after {} s; {} m of film a start",
                range(up, 2),
                range(down, 2),
                range(waste, 3)
            ),
        );
    }
    let e = &rates.exposure;
    if e.lit > 0 {
        let sun = e.from_sun_deg.map_or(String::new(), |sun| format!(", all of them above a Sun of {sun:.1}°"));
        line(
            "exposure",
            format!(
                "{:.0} % of lit points within tolerance{sun}; {} ms",
                e.within_percent,
                e.exposure_ms.as_ref().map_or("–".into(), |r| range(r, 2))
            ),
        );
    }
    if let Some(c) = rates.cycle.iter().min_by(|a, b| a.overlap_percent.low.total_cmp(&b.overlap_percent.low)) {
        let phases: Vec<String> = c.phases_s.iter().map(|(name, s)| format!("{name} {s:.2}")).collect();
        line("cycle", format!("{} s at {:.2} mm/s: {}", range(&c.reached_s, 2), c.required_mm_s, phases.join(", ")));
        line(
            "overlap",
            format!(
                "{} % reached, {:.0} % wanted, {:.0} % possible; {} late",
                range(&c.overlap_percent, 2),
                c.wanted_percent,
                c.most_percent,
                c.late
            ),
        );
    }
    if let Some(r) = &rates.relief {
        line(
            "relief",
            format!(
                "±{:.0} m apart: {:+.2} / {:+.2} %, {:.2} µm at most",
                r.band_m, r.high_percent, r.low_percent, r.smear_um
            ),
        );
    }
    if let Some(w) = &rates.worst {
        line(
            "worst",
            format!(
                "{:+.3} % at {:.2} h, {:.1}°, {:.1} km: {}",
                w.error_percent, w.time_h, w.latitude_deg, w.height_km, w.why
            ),
        );
    }
    for b in &rates.blunders {
        line(
            "if",
            format!(
                "{}: {:+.1} %, {:.1} µm along, {:.1} µm across in {} ms",
                b.name, b.rate_error_percent, b.smear_along_um, b.smear_across_um, b.exposure_ms
            ),
        );
    }
    let bins = if rates.by_pass.is_empty() { &rates.by_day } else { &rates.by_pass };
    let _ = write!(text, "{}", table(bins));
    for c in &rates.criteria {
        let side = match c.bound {
            Bound::AtMost => "at most",
            Bound::AtLeast => "at least",
        };
        let value = c.value.map_or("–".into(), |value| format!("{value:.3}"));
        let _ = writeln!(
            text,
            "  {:<12} {}: {value} {} ({side} {})",
            if c.met() { "met" } else { "NOT MET" },
            c.name,
            c.unit,
            c.limit
        );
    }
    text
}

/// Most lines of stretches shown.
const MOST_LINES: usize = 14;

fn table(bins: &[BinSummary]) -> String {
    let mut text = String::from("                 required, mm/s   commanded   reached   worst, %   smear 3σ, µm\n");
    for bin in bins.iter().take(MOST_LINES) {
        let _ = writeln!(
            text,
            "  {:<14} {:>15} {:>10.3} {:>9.3} {:>+10.3} {:>10.2}{}",
            bin.name,
            range(&bin.required_mm_s, 2),
            bin.commanded_three_sigma_percent,
            bin.three_sigma_percent,
            bin.worst_percent,
            bin.smear_three_sigma_um,
            if bin.met { "" } else { "   beyond the budget" }
        );
    }
    if bins.len() > MOST_LINES {
        let _ = writeln!(text, "  and {} more in the report", bins.len() - MOST_LINES);
    }
    text
}

fn range(range: &Range, digits: usize) -> String {
    format!("{:.digits$} to {:.digits$}", range.low, range.high)
}

fn three(s: &Statistics, unit: &str, digits: usize) -> String {
    format!("{:.digits$} {unit} 3σ, {:+.digits$} worst, {:+.digits$} mean", s.three_sigma, s.worst, s.mean)
}
