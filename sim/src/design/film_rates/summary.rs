//! The study for other programs: one JSON document with a published schema. Units are the endings of the names.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::samples::Spread;
use crate::record::summary::Criterion;

/// Number of this format; rises when a field changes its meaning or goes.
pub const FORMAT: u32 = 1;

macro_rules! plain {
    ($($(#[$meta:meta])* $name:ident { $($(#[$field_meta:meta])* $field:ident: $type:ty,)* })*) => {$(
        $(#[$meta])*
        #[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
        #[serde(deny_unknown_fields)]
        pub struct $name { $($(#[$field_meta])* pub $field: $type,)* }
    )*};
}

plain! {
    /// Film rates over a mission, or in a recorded run.
    FilmRates {
        /// Number of this format: 1.
        format: u32,
        /// Name of the scenario.
        scenario: String,
        /// `strip` or `frame`.
        camera: String,
        /// Where the film's speed comes from: `simulated drive`, or the record that was read.
        source: String,
        /// What was left out on purpose, if anything.
        blunder: Option<String>,
        /// Length looked at, days.
        days: f64,
        /// The orbit comes down before the length asked for; then this is when, days.
        down_after_days: Option<f64>,
        /// What was asked, and whether it was met.
        criteria: Vec<Criterion>,
        /// What the orbit requires; absent for a record.
        required: Option<RequiredSummary>,
        /// The stored programme; absent for a record.
        programme: Option<ProgrammeSummary>,
        /// What film did.
        drive: DriveSummary,
        /// Light.
        exposure: ExposureSummary,
        /// The framing camera's cycle.
        cycle: Vec<CycleSummary>,
        /// By day of the mission.
        by_day: Vec<BinSummary>,
        /// By latitude, degrees.
        by_latitude: Vec<BinSummary>,
        /// By height, km.
        by_height: Vec<BinSummary>,
        /// By pass of the record.
        by_pass: Vec<BinSummary>,
        /// Where the error is worst, and why.
        worst: Option<Worst>,
        /// Ground higher or lower than programmed; not part of the error above.
        relief: Option<Relief>,
        /// The line of sight tilted, where the vehicle is lowest.
        tilts: Vec<Tilt>,
        /// What the classic blunders would cost.
        blunders: Vec<BlunderCost>,
        /// Time the study took, s.
        wall_s: f64,
    }

    /// Lowest and highest of a quantity.
    Range {
        /// Lowest.
        low: f64,
        /// Highest.
        high: f64,
    }

    /// What the orbit requires.
    RequiredSummary {
        /// Points looked at.
        points: usize,
        /// Height above the ellipsoid, km.
        height_km: Range,
        /// Mean height over the first revolution, km.
        first_height_km: f64,
        /// Mean height over the last revolution, km.
        last_height_km: f64,
        /// Film speed, mm/s.
        speed_mm_s: Range,
        /// V/h as the camera sees it, mrad/s.
        v_over_h_mrad_s: Range,
        /// V/h with the orbital rate left in, mrad/s.
        v_over_h_inertial_mrad_s: Range,
        /// Crab yaw, degrees.
        crab_deg: Range,
        /// Largest rate of change of the film speed, % of it in a second.
        speed_change_percent_s: f64,
        /// Largest rate of change of V/h, mrad/s².
        v_over_h_change_mrad_s2: f64,
        /// Largest rate of change of the crab yaw, degrees a minute.
        crab_change_deg_min: f64,
        /// Largest image speed left along film anywhere on the format, % of the film speed.
        format_along_percent: f64,
        /// The same across film.
        format_across_percent: f64,
    }

    /// The stored programme.
    ProgrammeSummary {
        /// Time from load to load, h.
        load_every_h: f64,
        /// Loads.
        loads: usize,
        /// Entries free for rates in a load, at least.
        entries_free: usize,
        /// Entries used, at most.
        entries_used: usize,
        /// Largest error of the fit over what clock and prediction may be off by, %.
        fit_worst_percent: f64,
        /// Root mean square of it, %.
        fit_rms_percent: f64,
        /// What clock and prediction may be off by at the end of a load, s, at most.
        time_band_s: f64,
        /// Spacing of the drive's speeds, % of the slowest speed required.
        step_percent: f64,
        /// Largest change of speed from one entry to the next, %.
        largest_jump_percent: f64,
        /// Commanded against required speed at every point, %.
        error_percent: Statistics,
        /// Part of it from the clock and the predicted place, %.
        place_percent: Statistics,
        /// Yaw steering against the yaw required, degrees.
        crab_error_deg: Statistics,
        /// Smear of commanded speed along film at every point, µm.
        smear_along_um: Statistics,
        /// Smear of commanded yaw across film at every point, µm.
        smear_across_um: Statistics,
        /// What other intervals between loads would give on the last day.
        trade: Vec<TradeSummary>,
    }

    /// Another interval between loads.
    TradeSummary {
        /// Time from load to load, h.
        load_every_h: f64,
        /// Entries used.
        entries: usize,
        /// Largest error of the fit, %.
        worst_percent: f64,
        /// Largest change of speed from one entry to the next, %.
        largest_jump_percent: f64,
    }

    /// Statistics of a signed quantity.
    Statistics {
        /// Values.
        count: usize,
        /// Mean.
        mean: f64,
        /// Root mean square.
        rms: f64,
        /// Size that 99.73 % do not exceed.
        three_sigma: f64,
        /// Value of greatest size.
        worst: f64,
    }

    /// What film did under an open shutter.
    DriveSummary {
        /// Camera-ons.
        runs: usize,
        /// Film at the exposure line against the required speed, %.
        error_percent: Statistics,
        /// Film counted at the metering roller against the required speed, %.
        metered_percent: Statistics,
        /// The command in force against the required speed, %.
        commanded_percent: Statistics,
        /// Smear along film, µm.
        smear_along_um: Statistics,
        /// Smear across film from the yaw steering alone, µm.
        smear_across_um: Statistics,
        /// Wow (below 6 Hz), 3σ over all runs, %.
        wow_percent: Option<f64>,
        /// Flutter (above 6 Hz), 3σ over all runs, %.
        flutter_percent: Option<f64>,
        /// Both together, 3σ over all runs, %.
        wow_and_flutter_percent: Option<f64>,
        /// Both together, 3σ of the worst run, %.
        worst_run_percent: Option<f64>,
        /// Time from demand to valid film, s.
        start_up_s: Option<Range>,
        /// Time from camera-off to film at rest, s.
        run_down_s: Option<Range>,
        /// Film used before and after exposure in each camera-on, m.
        waste_m: Option<Range>,
        /// Tension with brakes off, N.
        tension_n: Option<Range>,
        /// Camera-ons whose film never was valid.
        never_valid: usize,
    }

    /// Light on film.
    ExposureSummary {
        /// Points or samples with the Sun up.
        lit: usize,
        /// Share of them within tolerance, %.
        within_percent: f64,
        /// Lowest Sun from which on every one is within tolerance, degrees.
        from_sun_deg: Option<f64>,
        /// Exposure times, ms.
        exposure_ms: Option<Range>,
        /// Stops off the film's speed point, for the Sun at 15° and higher.
        stops_off: Statistics,
        /// What the change of film speed alone would do with one slit, stops from the slowest to the fastest.
        speed_stops: f64,
    }

    /// The framing camera's cycle at one image speed.
    CycleSummary {
        /// Day of the mission, from 0.
        day: f64,
        /// Image speed, mm/s.
        required_mm_s: f64,
        /// Phases and what each takes, s.
        phases_s: Vec<(String, f64)>,
        /// Time from exposure to exposure asked for, s.
        asked_s: f64,
        /// Reached, s.
        reached_s: Range,
        /// Forward overlap wanted, %.
        wanted_percent: f64,
        /// Reached, %.
        overlap_percent: Range,
        /// The most that the cycle without waiting would allow, %.
        most_percent: f64,
        /// Pictures later than their pace.
        late: u16,
    }

    /// Samples of one stretch.
    BinSummary {
        /// What the stretch is.
        name: String,
        /// Samples.
        samples: usize,
        /// Required speed, mm/s.
        required_mm_s: Range,
        /// Commanded error, 3σ, %.
        commanded_three_sigma_percent: f64,
        /// Film's error, mean, %.
        mean_percent: f64,
        /// Film's error, 3σ, %.
        three_sigma_percent: f64,
        /// Film's error, worst, %.
        worst_percent: f64,
        /// Counted at the metering roller, 3σ, %.
        metered_three_sigma_percent: f64,
        /// Smear along film, 3σ, µm.
        smear_three_sigma_um: f64,
        /// Within the budget.
        met: bool,
    }

    /// Where the error is worst.
    Worst {
        /// Time, h.
        time_h: f64,
        /// Latitude, degrees.
        latitude_deg: f64,
        /// Height, km.
        height_km: f64,
        /// Film's error there, %.
        error_percent: f64,
        /// Part from the stored programme, %.
        table_percent: f64,
        /// Part from clock and prediction, %.
        place_percent: f64,
        /// Part from the drive, %.
        drive_percent: f64,
        /// Rate of change of the required speed there, % in a second.
        change_percent_s: f64,
        /// Smear along film, µm.
        smear_um: f64,
        /// Why, in a sentence.
        why: String,
    }

    /// Ground off the programmed height.
    Relief {
        /// Band, ± m.
        band_m: f64,
        /// Rate error over ground at the upper edge, where it is largest, %.
        high_percent: f64,
        /// The same at the lower edge.
        low_percent: f64,
        /// Largest smear, µm.
        smear_um: f64,
    }

    /// A tilted line of sight.
    Tilt {
        /// Roll, degrees.
        roll_deg: f64,
        /// Pitch, degrees.
        pitch_deg: f64,
        /// Film speed, mm/s.
        required_mm_s: f64,
        /// Film speed against straight down.
        ratio: f64,
        /// Yaw that lays the image along film, degrees.
        crab_deg: f64,
        /// Distance to the ground, km.
        slant_range_km: f64,
    }

    /// A blunder and its cost where it is largest.
    BlunderCost {
        /// Name.
        name: String,
        /// What is done wrong.
        what: String,
        /// Rate error along film, %.
        rate_error_percent: f64,
        /// Smear along film, µm.
        smear_along_um: f64,
        /// Smear across film, µm.
        smear_across_um: f64,
        /// Exposure time, ms.
        exposure_ms: f64,
        /// Latitude, degrees.
        latitude_deg: f64,
        /// Height, km.
        height_km: f64,
    }
}

impl Statistics {
    /// Statistics in another unit.
    pub fn scaled(spread: &Spread, factor: f64) -> Self {
        Self {
            count: spread.count,
            mean: spread.mean * factor,
            rms: spread.rms * factor,
            three_sigma: spread.three_sigma * factor,
            worst: spread.worst * factor,
        }
    }
}

impl Range {
    /// Of the finite values; `None` without any.
    pub fn of(values: impl Iterator<Item = f64>) -> Option<Self> {
        let finite = values.filter(|value| value.is_finite());
        let (low, high) = finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        (low <= high).then_some(Self { low, high })
    }
}

impl FilmRates {
    /// Whether everything asked was met.
    pub fn all_met(&self) -> bool {
        self.criteria.iter().all(Criterion::met)
    }

    /// As indented JSON.
    pub fn to_json(&self) -> String {
        serde_json::to_string_pretty(self).unwrap_or_default()
    }
}

/// The published JSON Schema.
pub fn film_rates_schema() -> String {
    serde_json::to_string_pretty(&schemars::schema_for!(FilmRates)).unwrap_or_default() + "\n"
}
