//! The one-screen summary.

use std::fmt::Write;

use crate::flight::{Flown, home::told::place};
use crate::record::summary::{Bound, ContactSummary, Criterion, PlaceSummary, WayHome};

/// What a run came to, on one screen.
pub(super) fn summary(flown: &Flown) -> String {
    let s = &flown.summary;
    let mut text = String::new();
    // Writing to a string cannot fail.
    let mut line = |name: &str, value: String| {
        let _ = writeln!(text, "  {name:<12} {value}");
    };
    line(
        "run",
        format!(
            "{} · seed {} · {:.1} h from {}",
            s.run.scenario,
            s.run.seed,
            s.run.duration_s / 3600.0,
            s.run.epoch_utc
        ),
    );
    line("speed", format!("{:.1} s, {:.0} times real time", s.speed.wall_s, s.speed.times_real_time));
    line(
        "orbit",
        format!(
            "{:.1} to {:.1} km, {:.1} revolutions",
            s.orbit.height_min_m / 1e3,
            s.orbit.height_max_m / 1e3,
            s.orbit.revolutions
        ),
    );
    line("heard", heard(&s.contacts, s.run.duration_s));
    line("", place_known(&s.contacts.place));
    let capture = s
        .attitude
        .capture_s
        .map_or("never in fine hold".into(), |at_s| format!("fine hold after {:.0} min", at_s / 60.0));
    let axes = |values: [f64; 3], digits: usize| values.map(|value| format!("{value:.digits$}")).join(" / ");
    line(
        "attitude",
        format!("{capture}; error in hold {} ° rms (roll / pitch / yaw)", axes(s.attitude.hold.error_rms_deg, 3)),
    );
    line("", format!("rate in exposures {} °/s rms", axes(s.attitude.exposures.rate_rms_deg_s, 4)));
    let ratio = s.gas.hold_ratio.map_or(String::new(), |ratio| format!("; in hold {ratio:.2} × the momentum minimum"));
    line("gas", format!("{:.3} kg used of {:.2}{ratio}", s.gas.used_kg, s.gas.loaded_kg));
    line(
        "film",
        format!(
            "{:.1} m through, {:.1} m exposed, {:.0} m left",
            s.film.metered_m, s.film.exposed_m, s.film.remaining_m
        ),
    );
    let grd = s.frames.grd_median_m.zip(s.frames.grd_worst_m);
    let grd = grd.map_or(String::new(), |(median, worst)| {
        format!("; resolved {median:.2} m median, {worst:.2} m worst (wanted {} m)", s.frames.wanted_grd_m)
    });
    line("frames", format!("{} of {} met{grd}", s.frames.met, s.frames.count));
    for (cause, count) in &s.frames.missed_by_cause {
        line("", format!("{count} missed: {cause}"));
    }
    if let Some(home) = &s.way_home {
        line("return", home_text(home));
    }
    let balances =
        s.balances.truth.iter().map(|balance| format!("{} {:.0e}", balance.name, balance.relative.unwrap_or(0.0)));
    line("balances", format!("{} (of what went through)", balances.collect::<Vec<_>>().join(", ")));
    for criterion in &s.criteria {
        line(if criterion.met() { "met" } else { "NOT MET" }, criterion_text(criterion));
    }
    let _ = write!(
        text,
        "\nResults: {}\nOpen {} in a browser.",
        flown.folder.display(),
        flown.folder.join("report.html").display()
    );
    text
}

/// How old what is known of the vehicle is at the run's end; before it was first heard, its orbit is assumed.
fn heard(contacts: &ContactSummary, duration_s: f64) -> String {
    let clock = |time_s: f64| format!("{}:{:02} h", (time_s / 3600.0) as u64, (time_s / 60.0) as u64 % 60);
    match (contacts.first_heard_s, contacts.last_heard_s) {
        (Some(first_s), Some(last_s)) => format!(
            "assumed in orbit for the first {}; last heard {} before the end; {} contacts",
            clock(first_s),
            clock((duration_s - last_s).max(0.0)),
            contacts.count
        ),
        _ => "never: the orbit and all on board are only assumed".into(),
    }
}

/// How far off the vehicle was from where the stored programme has it, and how well its place was known.
fn place_known(known: &PlaceSummary) -> String {
    format!(
        "{:.1} km {} its predicted place at the end, one sigma {:.1} km; predicted anew at contacts, known to {:.1} km at worst",
        known.ahead_m.abs() / 1e3,
        if known.ahead_m < 0.0 { "behind" } else { "ahead of" },
        known.since_start_m / 1e3,
        known.since_tracked_worst_m / 1e3
    )
}

/// What became of the capsule, in a line.
fn home_text(home: &WayHome) -> String {
    match (&home.touchdown, &home.kept) {
        (Some(t), _) => format!(
            "down at {} with {:.1} m/s, {:+.1} km along and {:+.1} km across from the prediction",
            place(t.latitude_deg, t.longitude_deg),
            t.speed_m_s,
            t.along_km,
            t.across_km
        ),
        (None, Some(why)) => format!("the capsule was kept: {why}"),
        (None, None) => format!("{} of 8 events of the chain; no touchdown within the run", home.events.len()),
    }
}

fn criterion_text(criterion: &Criterion) -> String {
    let side = match criterion.bound {
        Bound::AtMost => "at most",
        Bound::AtLeast => "at least",
    };
    let value = criterion.value.map_or("–".into(), |value| format!("{value:.3}"));
    format!("{}: {value} ({side} {})", criterion.name, criterion.limit)
}
