//! The plan for other programs: one JSON document with a published schema. Units are the endings of the names.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

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
    /// A day's photography, planned. Times in s count from the start of the run.
    Document {
        /// Number of this format: 1.
        format: u32,
        /// Name of the scenario.
        scenario: String,
        /// Name of the vehicle.
        vehicle: String,
        /// `strip`, `frame` or `sweep`.
        camera: String,
        /// File that the areas came from.
        areas_from: String,
        /// Start of the run.
        start_utc: String,
        /// Length of the run, h.
        duration_h: f64,
        /// Which passes are flown, and how good that is.
        choice: ChoiceSummary,
        /// How far off predicted times may be.
        uncertainty: UncertaintySummary,
        /// Areas.
        areas: Vec<AreaSummary>,
        /// Camera-ons of the plan, in order of time.
        bursts: Vec<BurstSummary>,
        /// Every pass over every area, flown or not.
        passes: Vec<PassSummary>,
        /// Contacts with stations.
        contacts: Vec<ContactSummary>,
        /// When the receiver should listen: contacts widened by what their time may be off.
        receiver: Vec<WindowSummary>,
        /// When the load is on board, s; none if no contact is long enough.
        loaded_s: Option<f64>,
        /// Film, gas and energy at the start.
        start_left: LeftSummary,
        /// What camera-ons may spend and leave all reserves.
        to_spend: SpendSummary,
        /// What is left at the end of the run.
        end_left: LeftSummary,
        /// The command load.
        load: LoadSummary,
    }

    /// The choice of passes.
    ChoiceSummary {
        /// Worth of what is covered: priority times covered share, summed over areas.
        value: f64,
        /// Worth of all areas covered whole.
        wished: f64,
        /// What no choice can exceed.
        bound: f64,
        /// What may be missing to the best choice, %.
        gap_percent: f64,
        /// What fractions of camera-ons could reach (linear relaxation).
        relaxed: f64,
        /// The value's distance from that, %.
        relaxed_gap_percent: f64,
        /// Whether no choice is worth more.
        exact: bool,
        /// Camera-ons to choose from.
        candidates: usize,
        /// Nodes of the search.
        nodes: u64,
    }

    /// What is known of the orbit and the clock, one sigma.
    UncertaintySummary {
        /// Sigmas that times are padded by.
        sigmas: f64,
        /// Place along the track at the start, m.
        along_track_m: f64,
        /// Semi-major axis at the start, m.
        semi_major_axis_m: f64,
        /// Density of the air, %.
        density_percent: f64,
        /// Rate of the clock, ppm.
        clock_drift_ppm: f64,
        /// Fall of the semi-major axis in the first revolution, m.
        decay_per_rev_m: f64,
        /// Growth over the run.
        growth: Vec<GrowthPoint>,
    }

    /// One sigma at one time, and the padding that follows.
    GrowthPoint {
        /// When, h.
        time_h: f64,
        /// Along the track from the place at the start, m.
        place_m: f64,
        /// From the semi-major axis, m.
        period_m: f64,
        /// From the air's density, m.
        density_m: f64,
        /// All three, m.
        along_track_m: f64,
        /// Of the clock, s.
        clock_s: f64,
        /// Padding of camera-on and camera-off, s.
        padding_s: f64,
    }

    /// An area.
    AreaSummary {
        /// Name.
        name: String,
        /// What the whole of it is worth.
        priority: f64,
        /// `single` or `stereo`.
        cover: String,
        /// Passes over it.
        passes: usize,
        /// Of these, fit to be flown.
        fit: usize,
        /// Of these, flown.
        flown: usize,
        /// Share covered by the plan, %.
        covered_percent: f64,
        /// Share that all fit passes together could cover, %.
        possible_percent: f64,
        /// Why nothing of it is planned, if so.
        why_not: Option<String>,
    }

    /// A camera-on.
    BurstSummary {
        /// Areas.
        areas: Vec<String>,
        /// Revolution, counted from 1 at the start.
        revolution: u32,
        /// Camera-on.
        on_utc: String,
        /// Camera-off.
        off_utc: String,
        /// Camera-on, s.
        on_s: f64,
        /// Camera-off, s.
        off_s: f64,
        /// The swath is over an area from then, s.
        over_from_s: f64,
        /// Until then, s.
        over_to_s: f64,
        /// Padding before, s.
        padding_before_s: f64,
        /// Padding after, s.
        padding_after_s: f64,
        /// Ordinary firing is held off from then to camera-off, s.
        quiet_from_s: f64,
        /// Placements of the attitude before and within.
        placings: u32,
        /// Sun on the ground below, lowest, degrees.
        sun_low_deg: f64,
        /// Sun on the ground below, highest, degrees.
        sun_high_deg: f64,
        /// Height, km.
        height_km: f64,
        /// Crab yaw at beginning, middle and end of the area, degrees.
        crab_deg: [f64; 3],
        /// Width of the swath, km.
        swath_km: f64,
        /// Frames, or pieces of strip.
        frames: u32,
        /// Time from frame to frame, s, where stereo asks for another than the camera's own.
        interval_s: Option<f64>,
        /// Film, m.
        film_m: f64,
        /// Gas beyond what hold takes anyway, g.
        gas_g: f64,
        /// Energy beyond what flying takes anyway, Wh.
        energy_wh: f64,
        /// Entries of the load expected.
        entries: usize,
        /// What is left after it.
        left: LeftSummary,
    }

    /// A pass over an area.
    PassSummary {
        /// Area.
        area: String,
        /// Revolution, counted from 1 at the start.
        revolution: u32,
        /// The swath covers some of it from then.
        start_utc: String,
        /// From then, s.
        start_s: f64,
        /// Until then, s.
        end_s: f64,
        /// Share of the area under the swath, %.
        share_percent: f64,
        /// Sun on the ground below, lowest, degrees.
        sun_low_deg: f64,
        /// Sun on the ground below, highest, degrees.
        sun_high_deg: f64,
        /// Distance of the area's middle from the swath's, km, positive to the right; none if it is far away.
        aside_km: Option<f64>,
        /// Whether the plan takes it.
        flown: bool,
        /// Why it cannot be flown, if so.
        unfit: Option<String>,
    }

    /// A station hears the vehicle.
    ContactSummary {
        /// Station.
        station: String,
        /// Rise through the mask.
        rise_utc: String,
        /// Set through the mask.
        set_utc: String,
        /// Rise, s.
        rise_s: f64,
        /// Set, s.
        set_s: f64,
        /// Length, s.
        duration_s: f64,
        /// Highest elevation, degrees.
        highest_deg: f64,
        /// Azimuth there, degrees from north through east.
        azimuth_deg: f64,
        /// Rise and set may be off by this, s.
        off_by_s: f64,
    }

    /// A stretch of time.
    WindowSummary {
        /// From, s.
        from_s: f64,
        /// To, s.
        to_s: f64,
    }

    /// What is left.
    LeftSummary {
        /// Film, m.
        film_m: f64,
        /// Gas, kg.
        gas_kg: f64,
        /// Energy, Wh.
        energy_wh: f64,
    }

    /// What may be spent.
    SpendSummary {
        /// Film, m.
        film_m: f64,
        /// Gas, kg.
        gas_kg: f64,
        /// Energy, Wh.
        energy_wh: f64,
        /// Entries of the load.
        entries: usize,
    }

    /// The command load.
    LoadSummary {
        /// Counter.
        counter: u16,
        /// Bytes.
        bytes: usize,
        /// Entries.
        entries: usize,
        /// Time to send it and put it in force, s.
        send_s: f64,
    }
}

impl Document {
    /// As indented JSON.
    pub fn to_json(&self) -> String {
        serde_json::to_string_pretty(self).unwrap_or_default()
    }
}

/// The published JSON Schema.
pub fn plan_schema() -> String {
    serde_json::to_string_pretty(&schemars::schema_for!(Document)).unwrap_or_default() + "\n"
}
