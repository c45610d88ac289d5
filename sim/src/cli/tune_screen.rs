//! A study on one screen.

use std::fmt::Write;
use std::path::Path;

use crate::design::attitude::{document::Document, keys::AXES, study::Study};
use crate::record::summary::Bound;
use crate::report::text::significant;

pub(super) fn summary(study: &Study, folder: &Path) -> String {
    let d = &study.document;
    let mut text = String::new();
    // Writing to a string cannot fail.
    let mut line = |name: &str, value: String| {
        let _ = writeln!(text, "  {name:<12} {value}");
    };
    line("study", format!("{} · seed {} · settings compared: {}", d.scenario, d.seed, names(d)));
    for (axis, a) in AXES.iter().zip(&d.axes) {
        line(
            axis,
            format!(
                "{} kg·m², {} N·m of jets, {}disturbance {} mN·m; gain margin {} dB, delay margin {} s",
                significant(a.inertia_kg_m2, 3),
                significant(a.torque_nm, 3),
                if a.steady { "steady " } else { "" },
                significant(a.disturbance_magnitude_nm * 1e3, 2),
                margin(d, axis, |m| m.gain_db.unwrap_or(f64::NAN)),
                margin(d, axis, |m| m.delay_s),
            ),
        );
    }
    line("step", format!("{} ns of this computer for a step of the attitude loop", significant(d.step_ns, 3)));
    for limit in &d.limits {
        let amount = |v: f64| if limit.unit == "s" { format!("{v:.3} s") } else { format!("×{}", significant(v, 3)) };
        let breaks = limit.breaks.map_or("never broke".into(), |v| format!("breaks at {}", amount(v)));
        line("", format!("{} {}: holds; {breaks}", limit.doubt.name(), amount(limit.holds)));
    }
    if !d.points.is_empty() {
        line("sweep", format!("{} points, {} on the front", d.points.len(), d.front.len()));
    }
    let captures: Vec<_> = d.capture_map.iter().chain(&d.captures).collect();
    if !captures.is_empty() {
        let captured = captures.iter().filter(|capture| capture.captured()).count();
        line("capture", format!("{captured} of {} tip-offs up to 3 °/s", captures.len()));
    }
    if let (Some(chosen), Some(hand)) = (d.candidates.get(d.chosen), d.candidates.first()) {
        line("ends with", format!("{} ({} with the settings in hand)", chosen.name, hand.settings_hash));
        for c in &chosen.criteria {
            let side = if c.bound == Bound::AtMost { "at most" } else { "at least" };
            let value = |v: Option<f64>| v.map_or("—".into(), |v| significant(v, 3));
            let before = hand.criteria.iter().find(|other| other.name == c.name).and_then(|other| other.value);
            line(
                if c.met() { "met" } else { "NOT MET" },
                format!(
                    "{}: {} ({side} {}; in hand {})",
                    c.name,
                    value(c.value),
                    significant(c.limit, 3),
                    value(before)
                ),
            );
        }
    }
    let _ =
        write!(text, "\nResults: {}\nOpen {} in a browser.", folder.display(), folder.join("report.html").display());
    text
}

fn names(d: &Document) -> String {
    d.candidates.iter().map(|candidate| candidate.name.as_str()).collect::<Vec<_>>().join(", ")
}

fn margin(d: &Document, axis: &str, of: impl Fn(&crate::design::attitude::loop_margins::Margins) -> f64) -> String {
    let index = AXES.iter().position(|name| *name == axis).unwrap_or(0);
    d.margins.get(index).map_or("—".into(), |m| significant(of(m), 2))
}
