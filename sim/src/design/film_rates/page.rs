//! The study as one self-contained page, and its tables as files.

use std::path::Path;

use maud::{Markup, html};

use super::{
    Point, Sample, Study, plots,
    summary::{BinSummary, FilmRates, Statistics, Worst},
};
use crate::{
    record::{RecordError, files, write_new, writer::TableWriter},
    record_table,
    report::{
        page::{Section, shell},
        renumbered,
        tables::criteria,
        text::{fixed, significant},
    },
};

record_table! {
    /// One sample of film under an open shutter.
    SampleRow {
        time_s: f64 ["time_s"] Time, "s", "-", "Time since the start.";
        latitude_deg: f32 ["latitude_deg"] Truth, "deg", "WGS-84", "Geodetic latitude of the point below.";
        height_m: f32 ["height_m"] Truth, "m", "WGS-84", "Height above the ellipsoid.";
        required_m_s: f64 ["required_m_s"] Truth, "m/s", "image plane", "Film speed that keeps the image still.";
        commanded_m_s: f64 ["commanded_m_s"] Commanded, "m/s", "image plane", "Film speed in force in the stored programme.";
        achieved_m_s: f64 ["achieved_m_s"] Truth, "m/s", "image plane", "Speed of the film at the exposure line.";
        metered_m_s: f64 ["metered_m_s"] Assumed, "m/s", "image plane", "Speed from the metering roller's counts; NaN where there is none.";
        yaw_off_rad: f32 ["yaw_off_rad"] Truth, "rad", "local orbital", "Yaw less the yaw that lays the image along film.";
        exposure_s: f32 ["exposure_s"] Truth, "s", "-", "Exposure time.";
        smear_m: [f32; 2] ["smear_along_m" "smear_across_m"] Truth, "m", "image plane", "Smear from film speed and yaw.";
    }
}

/// Names of the files of a study.
pub mod names {
    /// The study for programs.
    pub const RATES: &str = "film-rates.json";
    /// Every point of the mission (`.parquet`).
    pub const POINTS: &str = "points";
    /// Every sample of film (`.parquet`).
    pub const SAMPLES: &str = "samples";
}

/// Writes a study into an empty folder: JSON, tables and page.
///
/// # Errors
/// If a file is there already or cannot be written.
pub fn write_folder(folder: &Path, made: &Study) -> Result<(), RecordError> {
    write_new(&folder.join(names::RATES), made.summary.to_json().as_bytes())?;
    if !made.points.is_empty() {
        let mut points = TableWriter::<Point>::create(folder, names::POINTS, &[])?;
        made.points.iter().try_for_each(|point| points.push(point.clone()))?;
        points.finish()?;
    }
    let mut samples = TableWriter::<SampleRow>::create(folder, names::SAMPLES, &[])?;
    made.samples.iter().try_for_each(|sample| samples.push(row(sample)))?;
    samples.finish()?;
    write_new(&folder.join(files::REPORT), renumbered(&page(made).into_string()).as_bytes())
}

fn row(sample: &Sample) -> SampleRow {
    SampleRow {
        time_s: sample.time_s,
        latitude_deg: sample.latitude_deg as f32,
        height_m: sample.height_m as f32,
        required_m_s: sample.required_m_s,
        commanded_m_s: sample.commanded_m_s,
        achieved_m_s: sample.achieved_m_s,
        metered_m_s: sample.metered_m_s,
        yaw_off_rad: sample.yaw_off_rad as f32,
        exposure_s: sample.exposure_s as f32,
        smear_m: sample.smear_m().map(|m| m as f32),
    }
}

fn page(made: &Study) -> Markup {
    let rates = &made.summary;
    let title = format!("{} · film rates", rates.scenario);
    let kind = format!("Film rates · {}", rates.source);
    let heading = format!("{}: film rate against image rate", rates.scenario);
    let identity =
        html! { @if let Some(blunder) = &rates.blunder { p { b { "Left out on purpose: " (blunder) "." } } } };
    shell((&title, &kind, &heading), &identity, &verdict(rates), &sections(made))
}

fn sections(made: &Study) -> Vec<Section> {
    let rates = &made.summary;
    let mut sections = vec![
        Section { id: "rates", title: "Required, commanded, reached", body: plots::rates(made) },
        Section { id: "statistics", title: "Statistics", body: html! { (statistics(rates)) (all_bins(rates)) } },
    ];
    if let Some(worst) = &rates.worst {
        sections.push(Section { id: "worst", title: "Where it is worst, and why", body: worst_of(worst) });
    }
    if !made.points.is_empty() {
        sections.push(Section { id: "programme", title: "The stored programme", body: programme(made) });
    }
    sections.push(Section { id: "exposure", title: "Exposure", body: exposure(made) });
    if !rates.cycle.is_empty() {
        sections.push(Section { id: "cycle", title: "The framing cycle", body: cycle(rates) });
    }
    if rates.relief.is_some() {
        let title = "What no programme takes out, and what is easily left out";
        sections.push(Section { id: "others", title, body: others(rates) });
    }
    sections
}

fn worst_of(worst: &Worst) -> Markup {
    html! {
        p { (signed(worst.error_percent, 3)) " % at " (fixed(worst.time_h, 2)) " h, latitude " (fixed(worst.latitude_deg, 1)) "°, "
            (fixed(worst.height_km, 1)) " km: " (signed(worst.table_percent, 3)) " % from the stored programme, "
            (signed(worst.place_percent, 3)) " % from clock and predicted place, " (signed(worst.drive_percent, 3))
            " % from the drive. It is " (worst.why) "." }
    }
}

fn signed(value: f64, digits: usize) -> String {
    if value > 0.0 { format!("+{}", fixed(value, digits)) } else { fixed(value, digits) }
}

fn verdict(rates: &FilmRates) -> Markup {
    let met = rates.all_met();
    html! {
        div class=(if met { "verdict met" } else { "verdict missed" }) {
            strong { @if met { "✓ The rates keep their budget." } @else { "✗ The rates do not keep their budget." } }
        }
        (criteria(&rates.criteria, &html! {}))
    }
}

fn statistics(rates: &FilmRates) -> Markup {
    let d = &rates.drive;
    let mut rows: Vec<(&str, &Statistics, &str)> = Vec::new();
    if let Some(p) = &rates.programme {
        rows.push(("commanded, every point", &p.error_percent, "%"));
        rows.push(("of it clock and predicted place", &p.place_percent, "%"));
        rows.push(("yaw steering off the crab angle", &p.crab_error_deg, "°"));
    }
    rows.extend([
        ("commanded, under the open shutter", &d.commanded_percent, "%"),
        ("film at the exposure line", &d.error_percent, "%"),
        ("film counted at the metering roller", &d.metered_percent, "%"),
        ("smear along film", &d.smear_along_um, "µm"),
        ("smear across film from yaw", &d.smear_across_um, "µm"),
    ]);
    html! {
        table class="numbers keep" {
            thead { tr { th scope="col" class="word" { "" } th scope="col" { "values" } th scope="col" { "mean" } th scope="col" { "rms" } th scope="col" { "3σ" } th scope="col" { "worst" } th scope="col" class="word" { "unit" } } }
            tbody { @for (name, s, unit) in rows.iter().filter(|(_, s, _)| s.count > 0) {
                tr { td class="word" { (name) } td { (s.count) } td { (signed(s.mean, 3)) } td { (fixed(s.rms, 3)) } td { (fixed(s.three_sigma, 3)) } td { (signed(s.worst, 3)) } td class="word" { (unit) } }
            } }
        }
        p { "3σ: the size that 99.73 % of the values do not exceed." }
        @if let (Some(wow), Some(flutter), Some(both)) = (d.wow_percent, d.flutter_percent, d.wow_and_flutter_percent) {
            p { (d.runs) " camera-ons. Wow (below 6 Hz) " (fixed(wow, 3)) " %, flutter " (fixed(flutter, 3)) " %, together " (fixed(both, 3))
                " % (3σ); the worst run " (fixed(d.worst_run_percent.unwrap_or(f64::NAN), 3)) " %."
                @if let (Some(up), Some(down)) = (&d.start_up_s, &d.run_down_s) { " Film valid after " (fixed(up.low, 2)) "–" (fixed(up.high, 2))
                    " s, at rest " (fixed(down.low, 2)) "–" (fixed(down.high, 2)) " s after camera-off." }
                @if let Some(tension) = &d.tension_n { " Tension " (fixed(tension.low, 2)) "–" (fixed(tension.high, 2)) " N." } }
        }
    }
}

fn all_bins(rates: &FilmRates) -> Markup {
    html! {
        @for (title, bins) in [("Pass by pass", &rates.by_pass), ("Day by day", &rates.by_day), ("By latitude", &rates.by_latitude), ("By height", &rates.by_height)] {
            @if !bins.is_empty() { h3 { (title) } (bins_table(bins)) }
        }
    }
}

fn bins_table(bins: &[BinSummary]) -> Markup {
    html! {
        table class="numbers" {
            thead { tr { th scope="col" class="word" { "" } th scope="col" { "required, mm/s" } th scope="col" { "commanded 3σ, %" } th scope="col" { "reached 3σ, %" }
                th scope="col" { "mean, %" } th scope="col" { "worst, %" } th scope="col" { "at roller 3σ, %" } th scope="col" { "smear 3σ, µm" } th scope="col" class="word" { "budget" } } }
            tbody { @for b in bins { tr {
                td class="word" { (b.name) } td { (fixed(b.required_mm_s.low, 2)) "–" (fixed(b.required_mm_s.high, 2)) } td { (fixed(b.commanded_three_sigma_percent, 3)) }
                td { (fixed(b.three_sigma_percent, 3)) } td { (signed(b.mean_percent, 3)) } td { (signed(b.worst_percent, 3)) } td { (fixed(b.metered_three_sigma_percent, 3)) }
                td { (fixed(b.smear_three_sigma_um, 2)) } td class="word" { @if b.met { "✓" } @else { b { "✗ beyond" } } }
            } } }
        }
    }
}

fn programme(made: &Study) -> Markup {
    let rates = &made.summary;
    html! {
        @if let Some(p) = &rates.programme {
            p { (p.loads) " loads, one in " (significant(p.load_every_h, 3)) " h, up to " (p.entries_used) " of " (p.entries_free) " free entries. Largest error of the fit, over all that clock and "
                "prediction may be off by (" (fixed(p.time_band_s, 2)) " s at a load's end): " (fixed(p.fit_worst_percent, 3)) " %; rms " (fixed(p.fit_rms_percent, 3))
                " %. The drive's steps lie " (fixed(p.step_percent, 3)) " % apart at the slowest film; entries change speed by up to " (fixed(p.largest_jump_percent, 3)) " %." }
        }
        (plots::programme(made))
    }
}

fn exposure(made: &Study) -> Markup {
    let e = &made.summary.exposure;
    html! {
        p { (fixed(e.within_percent, 0)) " % of " (e.lit) " lit places within tolerance"
            @if let Some(sun) = e.from_sun_deg { "; all of them with the Sun above " (fixed(sun, 1)) "°" }
            ". Changing the film speed changes the exposure: over all speeds here by " (fixed(e.speed_stops, 2)) " stops behind one slit." }
        (plots::exposure(made))
    }
}

fn cycle(rates: &FilmRates) -> Markup {
    html! {
        table class="numbers" {
            thead { tr { th scope="col" { "day" } th scope="col" { "image, mm/s" } @if let Some(c) = rates.cycle.first() { @for (name, _) in &c.phases_s { th scope="col" { (name) ", s" } } }
                th scope="col" { "cycle, s" } th scope="col" { "overlap reached, %" } th scope="col" { "possible, %" } th scope="col" { "late" } } }
            tbody { @for c in &rates.cycle { tr { td { (fixed(c.day, 2)) } td { (fixed(c.required_mm_s, 2)) } @for (_, s) in &c.phases_s { td { (fixed(*s, 2)) } }
                td { (fixed(c.reached_s.low, 2)) "–" (fixed(c.reached_s.high, 2)) } td { (fixed(c.overlap_percent.low, 2)) "–" (fixed(c.overlap_percent.high, 2)) }
                td { (fixed(c.most_percent, 0)) } td { (c.late) } } } }
        }
        p { "The pace asked for is the one that gives the overlap wanted; “possible” is the overlap of a cycle without waiting. The run of least overlap of each day." }
    }
}

fn others(rates: &FilmRates) -> Markup {
    html! {
        @if let Some(r) = &rates.relief { p { "Ground " (fixed(r.band_m, 0)) " m above the programmed height makes film " (fixed(-r.high_percent, 2)) " % too slow, as far below it "
            (fixed(r.low_percent, 2)) " % too fast: up to " (fixed(r.smear_um, 2)) " µm. This is not in the figures above." } }
        table class="numbers keep" {
            thead { tr { th scope="col" class="word" { "if …" } th scope="col" { "rate error, %" } th scope="col" { "smear along, µm" } th scope="col" { "smear across, µm" } th scope="col" { "in, ms" } th scope="col" { "worst at latitude, °" } } }
            tbody { @for b in &rates.blunders { tr { td class="word" { (b.name) } td { (signed(b.rate_error_percent, 2)) } td { (signed(b.smear_along_um, 2)) } td { (signed(b.smear_across_um, 2)) } td { (significant(b.exposure_ms, 2)) } td { (fixed(b.latitude_deg, 1)) } } } }
        }
        table class="numbers keep" {
            thead { tr { th scope="col" { "roll, °" } th scope="col" { "pitch, °" } th scope="col" { "film, mm/s" } th scope="col" { "against straight down" } th scope="col" { "crab, °" } th scope="col" { "range, km" } } }
            tbody { @for t in &rates.tilts { tr { td { (fixed(t.roll_deg, 0)) } td { (fixed(t.pitch_deg, 0)) } td { (fixed(t.required_mm_s, 3)) } td { (fixed(t.ratio, 4)) } td { (signed(t.crab_deg, 3)) } td { (fixed(t.slant_range_km, 1)) } } } }
        }
        p { "The line of sight tilted, at the mission's lowest point." }
    }
}
