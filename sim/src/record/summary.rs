//! The summary: what a run came to, in one JSON file with a published schema.
//!
//! Every number is finite: what was not measured is left out (`null`), never NaN. Units are the endings of
//! the names.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::error::RecordError;

/// Number of the summary's format; rises when a field changes its meaning or goes.
pub const SUMMARY_FORMAT: u32 = 1;

/// What a run came to.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Summary {
    /// Number of this format: 1.
    pub format: u32,
    /// Which run this was.
    pub run: RunIdentity,
    /// What was asked of the run, and whether it was met.
    pub criteria: Vec<Criterion>,
    /// The orbit flown.
    pub orbit: OrbitSummary,
    /// How still the vehicle was.
    pub attitude: AttitudeSummary,
    /// The gas ledger.
    pub gas: GasSummary,
    /// Torques from outside.
    pub torques: TorqueSummary,
    /// The film ledger.
    pub film: FilmSummary,
    /// The energy ledger.
    pub power: PowerSummary,
    /// What became of the frames.
    pub frames: FrameSummary,
    /// Whether the ledgers close.
    pub balances: BalanceSummary,
    /// Radio contacts.
    pub contacts: ContactSummary,
    /// The return, if the run has one.
    pub way_home: Option<WayHome>,
    /// How many events there were of each kind.
    pub events: BTreeMap<String, u64>,
    /// How fast the program ran.
    pub speed: SpeedSummary,
}

/// The return as it went.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct WayHome {
    /// When the capsule was to leave, s since the start.
    pub separation_planned_s: f64,
    /// When the motor was to be lit, s since the start.
    pub ignition_planned_s: f64,
    /// Events of the ordnance chain that happened, and when, s since the start.
    pub events: Vec<ChainEvent>,
    /// Why the ground kept the capsule, if it did.
    pub kept: Option<String>,
    /// Angle between the thrust's direction at ignition and the one wanted, degrees.
    pub pointing_error_deg: Option<f64>,
    /// Touchdown, if the run reaches it.
    pub touchdown: Option<Touchdown>,
}

/// An event of the ordnance chain.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct ChainEvent {
    /// Which.
    pub event: String,
    /// True time, s since the start.
    pub time_s: f64,
}

/// Where the capsule came down.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Touchdown {
    /// s since the start.
    pub time_s: f64,
    /// Geodetic latitude, degrees, north positive.
    pub latitude_deg: f64,
    /// Longitude, degrees, east positive.
    pub longitude_deg: f64,
    /// Along the track from the place predicted before the flight, km.
    pub along_km: f64,
    /// Across it, to the right, km.
    pub across_km: f64,
    /// Inside the recovery zone.
    pub in_zone: bool,
    /// Inside the ellipse predicted before the flight.
    pub in_ellipse: bool,
    /// Speed against the air, m/s.
    pub speed_m_s: f64,
    /// How drogue and main canopy took their opening.
    pub canopies: [String; 2],
}

/// Which run this was: with these, it can be flown again to the last bit.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct RunIdentity {
    /// Name of the scenario.
    pub scenario: String,
    /// Name of the vehicle.
    pub vehicle: String,
    /// Seed of all random draws.
    pub seed: u64,
    /// Start of the run, UTC, ISO 8601.
    pub epoch_utc: String,
    /// Length of the run, s.
    pub duration_s: f64,
    /// Hash of the scenario file's bytes, hexadecimal.
    pub scenario_hash: String,
    /// Hash of the controller's settings as uploaded, hexadecimal.
    pub settings_hash: String,
    /// Version of the program.
    pub program_version: String,
    /// Hash of everything the controller put out, hexadecimal: equal runs have equal digests.
    pub output_digest: Option<String>,
}

/// One thing asked of the run.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Criterion {
    /// What is asked, for people.
    pub name: String,
    /// What the run came to; absent if it never came to it.
    pub value: Option<f64>,
    /// The limit.
    pub limit: f64,
    /// Whether the value must not be above or not be below the limit.
    pub bound: Bound,
    /// Unit of value and limit; `1` for a ratio.
    pub unit: String,
}

impl Criterion {
    /// Whether the value is there and within its limit.
    pub fn met(&self) -> bool {
        self.value.is_some_and(|value| match self.bound {
            Bound::AtMost => value <= self.limit,
            Bound::AtLeast => value >= self.limit,
        })
    }
}

/// Side of a limit on which it is good to be.
#[derive(Clone, Copy, Debug, Default, Deserialize, Eq, JsonSchema, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Bound {
    /// The value must not be above the limit.
    #[default]
    AtMost,
    /// The value must not be below the limit.
    AtLeast,
}

/// The orbit flown.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct OrbitSummary {
    /// Osculating semi-major axis at the start, m.
    pub semi_major_axis_m: f64,
    /// Osculating eccentricity at the start.
    pub eccentricity: f64,
    /// Inclination at the start, degrees.
    pub inclination_deg: f64,
    /// Period at the start, s.
    pub period_s: f64,
    /// Lowest height above the ellipsoid, m.
    pub height_min_m: f64,
    /// Highest height above the ellipsoid, m.
    pub height_max_m: f64,
    /// Revolutions flown.
    pub revolutions: f64,
    /// Change of the mean height in a revolution, m; negative when it falls.
    pub height_change_per_revolution_m: Option<f64>,
    /// Share of the time in the Earth's shadow, 0…1.
    pub eclipse_fraction: f64,
}

/// How still the vehicle was.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct AttitudeSummary {
    /// Time from the start until the fine hold was first reached, s.
    pub capture_s: Option<f64>,
    /// Time spent in fine hold, s.
    pub hold_s: f64,
    /// In fine hold.
    pub hold: AxisStatistics,
    /// While the shutter was open.
    pub exposures: AxisStatistics,
}

/// Errors and rates about roll, pitch and yaw, in that order. Errors are against the commanded steering,
/// rates are body rate less the rate that the steering wants.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct AxisStatistics {
    /// Attitude steps counted; with none, the numbers are 0.
    pub samples: u64,
    /// Mean error, degrees.
    pub error_mean_deg: [f64; 3],
    /// Root mean square of the error, degrees.
    pub error_rms_deg: [f64; 3],
    /// Largest error by size, degrees.
    pub error_max_deg: [f64; 3],
    /// Root mean square of the rate, degrees a second.
    pub rate_rms_deg_s: [f64; 3],
    /// Largest rate by size, degrees a second.
    pub rate_max_deg_s: [f64; 3],
}

/// The gas ledger.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct GasSummary {
    /// Gas at the start, kg.
    pub loaded_kg: f64,
    /// Gas gone, kg.
    pub used_kg: f64,
    /// Gas at the end, kg.
    pub remaining_kg: f64,
    /// Gas gone through jets that turn about roll, pitch and yaw, kg.
    pub used_by_axis_kg: [f64; 3],
    /// Gas gone other than through a jet that was told to fire, kg.
    pub leaked_kg: f64,
    /// Openings of all jets.
    pub firings: u64,
    /// Gas gone in fine hold, kg.
    pub hold_used_kg: f64,
    /// Least gas that could have absorbed the disturbance's momentum in hold, kg.
    pub momentum_minimum_kg: f64,
    /// Gas in hold against that minimum; absent without a hold.
    pub hold_ratio: Option<f64>,
}

/// The torque budget in fine hold.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct TorqueSummary {
    /// Time it covers, s.
    pub hold_s: f64,
    /// Each source, then all together.
    pub sources: Vec<TorqueLine>,
    /// The air behind the first of them, and how far it may be off.
    pub air: AirSpread,
}

/// The air met in fine hold, and what it would have been under another Sun. Torque and drag go with density.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct AirSpread {
    /// Mean height above the ellipsoid, m.
    pub height_m: f64,
    /// Mean density, kg/m3.
    pub density_kg_m3: f64,
    /// The Sun's flux at 10.7 cm, sfu.
    pub solar_flux_sfu: f64,
    /// Density at that height under a quiet Sun of 65 sfu, over what was met.
    pub quiet_sun_ratio: f64,
    /// The same under a very active Sun of 250 sfu.
    pub active_sun_ratio: f64,
    /// Relative error of the model when the flux is known, one sigma.
    pub model_sigma: f64,
}

/// Torque of one source about the body axes x, y, z.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct TorqueLine {
    /// What makes it.
    pub source: String,
    /// Mean, N m.
    pub mean_n_m: [f64; 3],
    /// Largest by size, N m.
    pub peak_n_m: [f64; 3],
    /// ∫|torque| dt over one orbit, N m s: what jets would have to undo if nothing cancelled.
    pub momentum_per_orbit_n_m_s: [f64; 3],
}

/// The film ledger.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct FilmSummary {
    /// Film at the start, m.
    pub loaded_m: f64,
    /// Film let through, by the metering roller's count, m.
    pub metered_m: f64,
    /// Film exposed as frames, m.
    pub exposed_m: f64,
    /// Film run through without a frame, m.
    pub wasted_m: f64,
    /// Film left on the supply reel, m.
    pub remaining_m: f64,
    /// Times the film was started.
    pub starts: u64,
}

/// The energy ledger.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct PowerSummary {
    /// Mean power, W.
    pub mean_w: f64,
    /// Highest power of any row of the record, W.
    pub peak_w: f64,
    /// Energy drawn, W h.
    pub used_wh: f64,
    /// Energy at the start, W h.
    pub loaded_wh: f64,
}

/// What became of the frames.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct FrameSummary {
    /// Ground resolved distance asked for, m.
    pub wanted_grd_m: f64,
    /// Frames exposed.
    pub count: u64,
    /// Frames that resolve what was asked for.
    pub met: u64,
    /// Share of the frames that do; absent without frames.
    pub met_fraction: Option<f64>,
    /// Median ground resolved distance, m.
    pub grd_median_m: Option<f64>,
    /// Worst ground resolved distance, m.
    pub grd_worst_m: Option<f64>,
    /// Root mean square of the smear along the track, µm on the film.
    pub smear_along_rms_um: Option<f64>,
    /// Root mean square of the smear across the track, µm on the film.
    pub smear_across_rms_um: Option<f64>,
    /// Frames by the contribution that dominated their smear.
    pub by_cause: BTreeMap<String, u64>,
    /// Frames that fail, by the contribution that dominated their smear.
    pub missed_by_cause: BTreeMap<String, u64>,
}

/// Whether the ledgers close.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct BalanceSummary {
    /// In truth: these must close to rounding, or the program is wrong.
    pub truth: Vec<Balance>,
    /// From what the vehicle can measure: these do not vanish, and grow under a fault.
    pub on_board: Vec<Balance>,
}

/// One ledger.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct Balance {
    /// What is balanced.
    pub name: String,
    /// Unit of throughput and residual.
    pub unit: String,
    /// What went through.
    pub throughput: f64,
    /// What is left over.
    pub residual: f64,
    /// Residual against throughput; absent where nothing went through.
    pub relative: Option<f64>,
    /// Largest relative residual allowed; absent where it is only reported.
    pub limit: Option<f64>,
}

impl Balance {
    /// A ledger from what went through and what is left over.
    pub fn new(name: &str, unit: &str, throughput: f64, residual: f64, limit: Option<f64>) -> Self {
        let relative = (throughput.abs() > 0.0).then(|| residual.abs() / throughput.abs());
        Self { name: name.into(), unit: unit.into(), throughput, residual, relative, limit }
    }

    /// Whether it closes: `None` where it is only reported or nothing went through.
    pub fn closes(&self) -> Option<bool> {
        Some(self.relative? <= self.limit?)
    }
}

/// Radio contacts.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct ContactSummary {
    /// Contacts had.
    pub count: u64,
    /// Time in contact, s.
    pub total_s: f64,
    /// Longest time without contact, s.
    pub longest_gap_s: f64,
    /// When a station first heard the vehicle, s; until then it was only assumed to be in orbit.
    #[serde(default)]
    pub first_heard_s: Option<f64>,
    /// When a station last heard it, s; what is known of it is as old as that.
    #[serde(default)]
    pub last_heard_s: Option<f64>,
    /// How far the vehicle was from its predicted place.
    #[serde(default)]
    pub place: PlaceSummary,
    /// Contacts of each station.
    pub by_station: BTreeMap<String, u64>,
}

/// Where the vehicle was along its track, and how well the ground knew it.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct PlaceSummary {
    /// How far it was ahead, at the end, of the place predicted before the run, m.
    pub ahead_m: f64,
    /// One sigma of that as the ground reckons it with nothing heard since the start, m.
    pub since_start_m: f64,
    /// Largest that one sigma came to in the whole run when predictions are made anew with each contact, m.
    pub since_tracked_worst_m: f64,
    /// When that was, s.
    pub worst_s: f64,
    /// Largest distance from the place predicted before the run, in sigmas.
    pub worst_sigmas: f64,
}

/// How fast the program ran.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct SpeedSummary {
    /// Time the run took, s.
    pub wall_s: f64,
    /// Simulated time against that time.
    pub times_real_time: f64,
    /// Attitude steps taken.
    pub attitude_steps: u64,
    /// Rows of the series written.
    pub rows: u64,
}

impl Summary {
    /// Whether everything asked was met and every limited balance closes.
    pub fn all_met(&self) -> bool {
        let balances = self.balances.truth.iter().chain(&self.balances.on_board);
        self.criteria.iter().all(Criterion::met) && balances.filter_map(Balance::closes).all(|closes| closes)
    }

    /// The summary as JSON text.
    ///
    /// # Errors
    /// If a number is not finite: JSON has no such numbers, and reading the text back fails.
    pub fn to_json(&self) -> Result<String, RecordError> {
        let wrap = |cause| RecordError::Summary { cause };
        let text = serde_json::to_string_pretty(self).map_err(wrap)?;
        // A non-finite number turns into null, which only an optional field takes; those are checked below.
        let back: Self = serde_json::from_str(&text).map_err(wrap)?;
        if back.count_present() != self.count_present() {
            return Err(wrap(serde::de::Error::custom("an optional number is not finite")));
        }
        Ok(text + "\n")
    }

    /// Writes the JSON text; nothing of that name may be there.
    ///
    /// # Errors
    /// As [`Summary::to_json`], and if the file cannot be written.
    pub fn write(&self, path: &Path) -> Result<(), RecordError> {
        let text = self.to_json()?;
        let mut file = fs::File::create_new(path).map_err(RecordError::io(path))?;
        std::io::Write::write_all(&mut file, text.as_bytes()).map_err(RecordError::io(path))
    }

    /// How many optional numbers are there.
    fn count_present(&self) -> usize {
        let f = &self.frames;
        let single = [
            self.orbit.height_change_per_revolution_m,
            self.attitude.capture_s,
            self.gas.hold_ratio,
            f.met_fraction,
            f.grd_median_m,
            f.grd_worst_m,
            f.smear_along_rms_um,
            f.smear_across_rms_um,
        ];
        let balances = self.balances.truth.iter().chain(&self.balances.on_board);
        let many = balances.flat_map(|b| [b.relative, b.limit]);
        let criteria = self.criteria.iter().map(|c| c.value);
        single.into_iter().chain(many).chain(criteria).flatten().count()
    }
}

/// The JSON Schema of `summary.json`, as committed in the handbook.
pub fn summary_schema() -> String {
    let schema = schemars::schema_for!(Summary);
    serde_json::to_string_pretty(&schema).unwrap_or_default() + "\n"
}
