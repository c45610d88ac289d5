//! The study for other programs: one JSON document with a published schema. Units are the endings of the names.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

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
    /// A return: when to fire, the nominal descent, the footprint.
    Descent {
        /// Number of this format: 1.
        format: u32,
        /// Name of the scenario.
        scenario: String,
        /// Seed of the draws.
        seed: u64,
        /// Faults suffered on purpose, in words.
        faults: Vec<String>,
        /// What was asked, and whether it was met.
        criteria: Vec<Criterion>,
        /// Recovery zone.
        zone: ZoneSummary,
        /// Passes that reach the zone's neighbourhood.
        passes: Vec<PassSummary>,
        /// Ignition.
        retro: RetroSummary,
        /// The capsule.
        capsule: CapsuleSummary,
        /// Timers of the sequence.
        timers: TimerSummary,
        /// What happens when, in the descent shown (with the faults, if any).
        sequence: Vec<EventSummary>,
        /// Loads of entry.
        entry: EntrySummary,
        /// The end.
        touchdown: TouchdownSummary,
        /// Where many descents come down.
        footprint: FootprintSummary,
        /// What one sigma of each thing does, largest first.
        sensitivity: Vec<ColumnSummary>,
        /// Range against retro angle.
        angle: AngleSummary,
        /// Casualties, as guidance.
        casualty: CasualtySummary,
        /// Where it may be after late news; absent without any.
        region: Option<RegionSummary>,
        /// Time the study took, s.
        wall_s: f64,
    }

    /// Recovery zone: an ellipse along the track.
    ZoneSummary {
        /// Name.
        name: String,
        /// Geodetic latitude, degrees.
        latitude_deg: f64,
        /// Longitude, degrees, east positive.
        longitude_deg: f64,
        /// Half axis along the track, km.
        half_along_km: f64,
        /// Half axis across, km.
        half_across_km: f64,
    }

    /// A pass that could be used.
    PassSummary {
        /// Ignition, UTC.
        retro_utc: String,
        /// Ignition from the start of the run, s.
        retro_s: f64,
        /// Touchdown, UTC.
        touchdown_utc: String,
        /// Latitude of the landing place, degrees.
        latitude_deg: f64,
        /// Its longitude, degrees.
        longitude_deg: f64,
        /// How far the zone's centre lies to the right of the landing place, km.
        across_km: f64,
        /// How far it lies ahead: what the search and the tick of 10 ms leave, km.
        along_km: f64,
        /// Direction of the track there, degrees from north through east.
        track_deg: f64,
        /// This pass is used.
        used: bool,
    }

    /// Ignition.
    RetroSummary {
        /// UTC.
        utc: String,
        /// From the start of the run, s.
        time_s: f64,
        /// Separation from the vehicle, UTC.
        separation_utc: String,
        /// Latitude below, degrees.
        latitude_deg: f64,
        /// Longitude below, degrees.
        longitude_deg: f64,
        /// Height, km.
        height_km: f64,
        /// Angle of the thrust from the inertial velocity, towards the ground, degrees.
        angle_deg: f64,
        /// Direction of the thrust, inertial (TEME of the run's start).
        axis: [f64; 3],
        /// Spin, rev/min.
        spin_rpm: f64,
        /// Speed that the motor gives in free space, m/s.
        ideal_speed_m_s: f64,
        /// Propellant, kg.
        propellant_kg: f64,
        /// Mean thrust, N.
        mean_thrust_n: f64,
        /// By how much a line of thrust one millimetre off bends the mean thrust at this spin, degrees; absent without spin.
        bend_deg_per_mm: Option<f64>,
    }

    /// The capsule.
    CapsuleSummary {
        /// Mass through entry, kg.
        entry_kg: f64,
        /// Ballistic coefficient at high Mach numbers, kg/m².
        ballistic_coefficient_kg_m2: f64,
        /// Mass under the main canopy, kg.
        canopy_kg: f64,
        /// Steady speed under the main canopy at sea level, m/s.
        landing_speed_m_s: f64,
    }

    /// Timers.
    TimerSummary {
        /// Drogue, from the closing of the g-switch, s.
        drogue_after_g_s: f64,
        /// Drogue's backup, from separation, s.
        drogue_backup_s: f64,
        /// Main, from the firing of the drogue, s.
        main_after_drogue_s: f64,
        /// Main's backup, from separation, s.
        main_backup_s: f64,
    }

    /// One event.
    EventSummary {
        /// What happens.
        what: String,
        /// From ignition, s.
        after_ignition_s: f64,
        /// UTC.
        utc: String,
        /// Latitude, degrees.
        latitude_deg: f64,
        /// Longitude, degrees.
        longitude_deg: f64,
        /// Height above the ellipsoid, km.
        height_km: f64,
        /// Inertial speed, m/s.
        inertial_m_s: f64,
        /// Inertial velocity above the local horizontal, degrees.
        inertial_angle_deg: f64,
        /// Speed against the air, m/s.
        speed_m_s: f64,
        /// Mach number.
        mach: f64,
        /// Dynamic pressure, kPa.
        pressure_kpa: f64,
        /// Deceleration by the air in units of 9.80665 m/s².
        g: f64,
    }

    /// Loads of entry.
    EntrySummary {
        /// Most deceleration, in units of 9.80665 m/s².
        most_g: f64,
        /// Its height, km.
        most_g_height_km: f64,
        /// Most heat flux, W/m².
        most_flux_w_m2: f64,
        /// Its height, km.
        most_flux_height_km: f64,
        /// Heat taken up at the stagnation point, J/m².
        heat_j_m2: f64,
        /// Most dynamic pressure, kPa.
        most_pressure_kpa: f64,
        /// Distance over the ground from ignition to the drogue, km; absent if it never fired.
        range_to_drogue_km: Option<f64>,
    }

    /// The end.
    TouchdownSummary {
        /// How the descent ended.
        end: String,
        /// UTC; absent if it stays up.
        utc: Option<String>,
        /// Latitude, degrees.
        latitude_deg: Option<f64>,
        /// Longitude, degrees.
        longitude_deg: Option<f64>,
        /// Along the track from the descent without faults, km.
        along_km: Option<f64>,
        /// Across it, to the right, km.
        across_km: Option<f64>,
        /// Speed, m/s.
        speed_m_s: Option<f64>,
        /// The drogue.
        drogue: String,
        /// The main canopy.
        main: String,
    }

    /// A share seen in a number of runs.
    Share {
        /// Runs in which it was so.
        hits: usize,
        /// Runs.
        runs: usize,
        /// Share.
        value: f64,
        /// Lower 95 % bound (Clopper and Pearson).
        low: f64,
        /// Upper 95 % bound.
        high: f64,
    }

    /// A quantile with its bounds.
    Quantile {
        /// Share of the runs below.
        share: f64,
        /// Value, km from the nominal landing place.
        value_km: f64,
        /// Lower 95 % bound by order statistics, km; null where too few descents were flown to give one.
        low_km: Option<f64>,
        /// Upper 95 % bound, km; null likewise.
        high_km: Option<f64>,
    }

    /// Where many descents come down.
    FootprintSummary {
        /// Descents flown.
        runs: usize,
        /// Descents that came down at all.
        down: Share,
        /// Descents that came down in the zone.
        in_zone: Share,
        /// Descents under both canopies.
        under_canopies: Share,
        /// Confidence of the ellipse.
        confidence: f64,
        /// Sigmas of its half axes.
        sigmas: f64,
        /// Descents inside the ellipse.
        in_ellipse: Share,
        /// Latitude of its middle, degrees.
        latitude_deg: f64,
        /// Longitude of its middle, degrees.
        longitude_deg: f64,
        /// Middle along and across the track from the nominal landing place, km.
        middle_km: [f64; 2],
        /// Half axes at one sigma, km.
        sigma_km: [f64; 2],
        /// Half axes at the confidence, km; 0 where no ellipse fits: the places are spread along the track.
        half_axes_km: [f64; 2],
        /// Long axis from north through east, degrees.
        azimuth_deg: f64,
        /// Sigmas along and across by the sensitivity matrix alone, km.
        straight_sigma_km: [f64; 2],
        /// Quantiles along the track.
        along: Vec<Quantile>,
        /// Quantiles across it.
        across: Vec<Quantile>,
        /// Farthest short, farthest long, km.
        farthest_km: [f64; 2],
        /// Share of all descents that is short of the farthest long one, at 95 % confidence, whatever the law.
        below_farthest: f64,
        /// Most deceleration of any.
        worst_g: f64,
        /// Most heat of any, J/m².
        worst_heat_j_m2: f64,
        /// Lowest and highest firing of the drogue, km.
        drogue_height_km: [f64; 2],
        /// Fastest firing of the drogue, Mach.
        drogue_mach: f64,
    }

    /// What one sigma of a thing does.
    ColumnSummary {
        /// The thing.
        what: String,
        /// One sigma.
        sigma: f64,
        /// Its unit.
        unit: String,
        /// Normal or even.
        law: String,
        /// Shift along the track, km.
        along_km: f64,
        /// Shift across it, km.
        across_km: f64,
        /// Curved part of the shift along, km.
        curved_km: f64,
        /// Change of the most deceleration.
        g: f64,
        /// Change of the time of touchdown, s.
        time_s: f64,
        /// Share of the variance along the track, %.
        share_percent: f64,
    }

    /// Range against retro angle.
    AngleSummary {
        /// Angle used, degrees.
        used_deg: f64,
        /// Angle at which pitch matters least, degrees; absent if none lies between 95 and 180.
        least_sensitive_deg: Option<f64>,
        /// Change of range with pitch at the angle used, km for a degree.
        here_km_deg: f64,
        /// The same straight back; absent if the capsule would stay up.
        straight_back_km_deg: Option<f64>,
    }

    /// Casualties, as guidance.
    CasualtySummary {
        /// Casualty area of all pieces, m².
        area_m2: f64,
        /// Expectation in the zone.
        in_zone: f64,
        /// Around it.
        around: f64,
        /// From descents that go wrong.
        failed: f64,
        /// All together.
        expected: f64,
        /// All together at the upper 95 % bound of the share outside the zone.
        upper: f64,
        /// The published limit, for guidance only.
        guidance: f64,
    }

    /// Where it may be.
    RegionSummary {
        /// The news.
        news: String,
        /// Parts, likeliest first.
        parts: Vec<PartSummary>,
    }

    /// A part of the region; its outline is in `region.geojson`.
    PartSummary {
        /// Chance that it came down here, %.
        chance_percent: f64,
        /// Why it would have.
        why: String,
        /// Form and size, in words.
        place: String,
    }
}

impl Descent {
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
pub fn descent_schema() -> String {
    serde_json::to_string_pretty(&schemars::schema_for!(Descent)).unwrap_or_default() + "\n"
}
