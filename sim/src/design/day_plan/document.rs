//! The plan for other programs: one JSON document with a published schema. Units are the endings of the names.

use super::study::Study;
use crate::passes::plan::{bursts::Burst, contacts::Pass as Contact, ledgers::Left, windows::Pass};
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
        /// Time to send it, s.
        send_s: f64,
    }
}

/// Gathers the document of a study (its own document is not read).
pub(super) struct Told<'a>(pub &'a Study);

impl Document {
    /// Of a study.
    pub(super) fn of(study: &Study) -> Self {
        let told = Told(study);
        let scenario = study.scenario();
        let plan = &study.plan;
        let [film_m, gas_kg, energy_j] = plan.ledger.to_spend;
        let bytes = study.load.encode().len();
        Self {
            format: FORMAT,
            scenario: scenario.run.name.clone(),
            vehicle: scenario.run.vehicle.clone(),
            camera: told.camera().into(),
            areas_from: study.areas_from.clone(),
            start_utc: told.utc(0.0),
            duration_h: scenario.run.duration_s / 3600.0,
            choice: ChoiceSummary {
                value: plan.choice.value,
                wished: plan.choice.wished,
                bound: plan.choice.bound,
                gap_percent: 100.0 * plan.choice.gap(),
                relaxed: plan.choice.relaxed,
                relaxed_gap_percent: 100.0 * plan.choice.relaxed_gap(),
                exact: plan.choice.exact,
                candidates: plan.bursts.len(),
                nodes: plan.choice.nodes,
            },
            uncertainty: told.uncertainty(),
            areas: (0..scenario.areas.len()).map(|area| told.area(area)).collect(),
            bursts: plan.flown().zip(&plan.ledger.after).map(|(burst, left)| told.burst(burst, left)).collect(),
            passes: plan.passes.iter().map(|pass| told.pass(pass)).collect(),
            contacts: plan.contacts.iter().map(|contact| told.contact(contact)).collect(),
            receiver: plan.receiver_s.iter().map(|&[from_s, to_s]| WindowSummary { from_s, to_s }).collect(),
            loaded_s: plan.loaded_s,
            start_left: left(&plan.ledger.start),
            to_spend: SpendSummary {
                film_m,
                gas_kg,
                energy_wh: energy_j / 3600.0,
                entries: stillframe_controller::programme::load::MAX_ENTRIES,
            },
            end_left: left(&plan.ledger.end),
            load: LoadSummary {
                counter: study.load.counter,
                bytes,
                entries: study.load.entries.len(),
                send_s: bytes as f64 / 250.0,
            },
        }
    }

    /// As indented JSON.
    pub fn to_json(&self) -> String {
        serde_json::to_string_pretty(self).unwrap_or_default()
    }
}

/// The published JSON Schema.
pub fn plan_schema() -> String {
    serde_json::to_string_pretty(&schemars::schema_for!(Document)).unwrap_or_default() + "\n"
}

fn left(left: &Left) -> LeftSummary {
    LeftSummary { film_m: left.film_m, gas_kg: left.gas_kg, energy_wh: left.energy_j / 3600.0 }
}

impl Told<'_> {
    fn utc(&self, time_s: f64) -> String {
        self.0.built.start.plus_seconds(time_s).to_string()
    }

    fn camera(&self) -> &'static str {
        use crate::scenario::parts::camera::CameraKind;
        match self.0.scenario().camera.kind {
            CameraKind::Strip(_) => "strip",
            CameraKind::Frame(_) => "frame",
            CameraKind::Sweep(_) => "sweep",
        }
    }

    fn uncertainty(&self) -> UncertaintySummary {
        let u = &self.0.plan.uncertainty;
        let end_s = self.0.scenario().run.duration_s;
        let growth = (0..=48).map(|k| {
            let time_s = end_s * f64::from(k) / 48.0;
            let along = u.along_track(time_s);
            GrowthPoint {
                time_h: time_s / 3600.0,
                place_m: along.place_m,
                period_m: along.period_m,
                density_m: along.density_m,
                along_track_m: along.sum_m(),
                clock_s: u.clock_s(time_s),
                padding_s: u.padding_s(time_s),
            }
        });
        UncertaintySummary {
            sigmas: u.sigmas,
            along_track_m: u.along_track_m,
            semi_major_axis_m: u.semi_major_axis_m,
            density_percent: 100.0 * u.density,
            clock_drift_ppm: 1e6 * u.clock_drift,
            decay_per_rev_m: u.decay_per_rev_m,
            growth: growth.collect(),
        }
    }

    fn area_name(&self, area: usize) -> String {
        self.0.scenario().areas.get(area).map_or_else(String::new, |area| area.name.clone())
    }

    fn area(&self, area: usize) -> AreaSummary {
        let plan = &self.0.plan;
        let wanted = &self.0.scenario().areas[area];
        let mine: Vec<&Pass> = plan.passes.iter().filter(|pass| pass.area == area).collect();
        let fit: Vec<&&Pass> = mine.iter().filter(|pass| pass.unfit.is_none()).collect();
        let flown = mine.iter().filter(|pass| pass.flown).count();
        let cells = plan.cells.get(area).map_or(1, |cells| cells.places_rad.len().max(1));
        let mut seen = vec![0_u32; cells];
        for &cell in fit.iter().flat_map(|pass| &pass.cells) {
            if let Some(count) = seen.get_mut(cell) {
                *count += 1;
            }
        }
        let need = mine.first().map_or(1, |pass| pass.need);
        let possible = seen.iter().filter(|count| **count >= need).count() as f64 / cells as f64;
        // The pass that came nearest says why there is none.
        let nearest = mine.iter().max_by(|a, b| a.share.total_cmp(&b.share));
        let why_not = match (flown, nearest.and_then(|pass| pass.unfit)) {
            (1.., _) => None,
            (0, _) if mine.is_empty() => Some("the swath never comes over it".to_owned()),
            (0, _) if !fit.is_empty() => Some("other camera-ons are worth more within the limits".to_owned()),
            (0, Some(unfit)) => Some(unfit.text().to_owned()),
            (0, None) => None,
        };
        AreaSummary {
            name: wanted.name.clone(),
            priority: wanted.priority,
            cover: wanted.cover.word().into(),
            passes: mine.len(),
            fit: fit.len(),
            flown,
            covered_percent: 100.0 * plan.covered(area),
            possible_percent: 100.0 * possible,
            why_not,
        }
    }

    fn burst(&self, burst: &Burst, after: &Left) -> BurstSummary {
        let plan = &self.0.plan;
        let passes: Vec<&Pass> = burst.passes.iter().filter_map(|&pass| plan.passes.get(pass)).collect();
        let sun = |part: usize, of: fn(f64, f64) -> f64| passes.iter().map(|pass| pass.sun_rad[part]).reduce(of);
        let (first, last) = (passes.first(), passes.last());
        let height_m = first.map_or(f64::NAN, |pass| pass.height_m);
        let crab = |pass: Option<&&Pass>, part: usize| pass.map_or(f64::NAN, |pass| pass.crab_rad[part].to_degrees());
        let half = crate::passes::plan::sight::half_field(self.0.scenario());
        BurstSummary {
            areas: passes.iter().map(|pass| self.area_name(pass.area)).collect(),
            revolution: first.map_or(0, |pass| pass.revolution),
            on_utc: self.utc(burst.on_s),
            off_utc: self.utc(burst.off_s),
            on_s: burst.on_s,
            off_s: burst.off_s,
            over_from_s: burst.over_s[0],
            over_to_s: burst.over_s[1],
            padding_before_s: burst.padding_s[0],
            padding_after_s: burst.padding_s[1],
            quiet_from_s: burst.quiet_s,
            placings: burst.placings,
            sun_low_deg: sun(0, f64::min).unwrap_or(f64::NAN).to_degrees(),
            sun_high_deg: sun(1, f64::max).unwrap_or(f64::NAN).to_degrees(),
            height_km: height_m * 1e-3,
            crab_deg: [crab(first, 0), crab(passes.get(passes.len() / 2), 1), crab(last, 2)],
            swath_km: 2.0 * half * height_m * 1e-3,
            frames: burst.frames,
            interval_s: burst.interval_s,
            film_m: burst.film_m,
            gas_g: burst.gas_kg * 1e3,
            energy_wh: burst.energy_j / 3600.0,
            entries: burst.entries,
            left: left(after),
        }
    }

    fn pass(&self, pass: &Pass) -> PassSummary {
        PassSummary {
            area: self.area_name(pass.area),
            revolution: pass.revolution,
            start_utc: self.utc(pass.start_s),
            start_s: pass.start_s,
            end_s: pass.end_s,
            share_percent: 100.0 * pass.share,
            sun_low_deg: pass.sun_rad[0].to_degrees(),
            sun_high_deg: pass.sun_rad[1].to_degrees(),
            aside_km: Some(pass.aside_m * 1e-3).filter(|km| km.is_finite()),
            flown: pass.flown,
            unfit: pass.unfit.map(|unfit| unfit.text().to_owned()),
        }
    }

    fn contact(&self, pass: &Contact) -> ContactSummary {
        let contact = &pass.contact;
        let station = self.0.scenario().stations.get(pass.station);
        ContactSummary {
            station: station.map_or_else(String::new, |station| station.name.clone()),
            rise_utc: self.utc(contact.aos_s),
            set_utc: self.utc(contact.los_s),
            rise_s: contact.aos_s,
            set_s: contact.los_s,
            duration_s: contact.duration_s(),
            highest_deg: contact.highest_elevation_rad.to_degrees(),
            azimuth_deg: pass.azimuth_rad.to_degrees(),
            off_by_s: self.0.plan.uncertainty.padding_s(contact.aos_s),
        }
    }
}
