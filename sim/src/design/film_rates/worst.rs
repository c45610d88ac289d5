//! Where the error is worst, and why.

use super::{
    Blunder, Mission, Options, Sample, points,
    summary::Worst,
    table::{Table, Tables},
};

pub(super) fn worst(mission: &Mission<'_>, tables: &Tables, samples: &[Sample], options: &Options) -> Option<Worst> {
    let sample = samples.iter().max_by(|a, b| a.error().abs().total_cmp(&b.error().abs()))?;
    let table = tables.at(sample.time_s)?;
    let on_board_s = points::on_board_s(sample.time_s, table.from_s, options);
    let followed_m_s = table.predicted_at(on_board_s);
    let parts = [
        100.0 * (sample.commanded_m_s.abs() / followed_m_s - 1.0),
        100.0 * (followed_m_s / sample.required_m_s - 1.0),
        100.0 * (sample.achieved_m_s - sample.commanded_m_s) / sample.required_m_s,
    ];
    let changes = mission.look().changes(sample.time_s)?;
    let change_percent_s = 100.0 * changes.speed_m_s2 / sample.required_m_s;
    let why = why(&parts, sample, table, mission, change_percent_s, options);
    Some(Worst {
        time_h: sample.time_s / 3600.0,
        latitude_deg: sample.latitude_deg,
        height_km: sample.height_m * 1e-3,
        error_percent: 100.0 * sample.error(),
        table_percent: parts[0],
        place_percent: parts[1],
        drive_percent: parts[2],
        change_percent_s,
        smear_um: sample.smear_m()[0] * 1e6,
        why,
    })
}

fn why(
    parts: &[f64; 3],
    sample: &Sample,
    table: &Table,
    mission: &Mission<'_>,
    change_percent_s: f64,
    options: &Options,
) -> String {
    let step_percent = 100.0 * mission.grid.step_m_s / sample.required_m_s;
    if let Some(Blunder::Direction) = options.blunder {
        return "film runs against the image".into();
    }
    if let Some(Blunder::OrbitalRate) = options.blunder {
        return "the programme followed inertial speed over height: the orbital rate was left out".into();
    }
    let size = |k: usize| parts[k].abs();
    let table_text = if size(0) > 0.55 * step_percent {
        format!(
            "the store's {} free entries for {:.0} h: an entry must last while the required speed changes by {:+.3} % a second",
            table.free,
            (table.to_s - table.from_s) / 3600.0,
            change_percent_s
        )
    } else {
        format!("half a speed step of the drive ({:.2} %) at this slow a film", 0.5 * step_percent)
    };
    let changed = table.changes.iter().any(|c| (0.0..0.4).contains(&(sample.time_s - c.at_s)));
    let drive_text =
        if changed { "the drive settling after a change of speed" } else { "the drive's own wow and flutter" };
    if size(0) >= size(1).max(size(2)) {
        format!("mostly {table_text}; then {drive_text}")
    } else if size(2) >= size(1) {
        format!("mostly {drive_text}; then {table_text}")
    } else {
        format!("mostly clock and predicted place, {:.2} s at the load's end; then {table_text}", table.time_band_s)
    }
}
