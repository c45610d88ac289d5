//! A study gathered into its document.

use super::{
    document::{
        AreaSummary, BurstSummary, ChoiceSummary, ContactSummary, Document, FORMAT, GrowthPoint, LeftSummary,
        LoadSummary, PassSummary, SpendSummary, UncertaintySummary, WindowSummary,
    },
    study::Study,
};
use crate::passes::check::contacts::send_s;
use crate::passes::contacts::Pass as Contact;
use crate::passes::plan::{bursts::Burst, ledgers::Left, windows::Pass};

/// Gathers the document of a study (its own document is not read).
struct Told<'a>(&'a Study);

impl Document {
    /// Of a study.
    pub(super) fn of(study: &Study) -> Self {
        let told = Told(study);
        let scenario = study.scenario();
        let plan = &study.plan;
        let [film_m, gas_kg, energy_j] = plan.ledger.to_spend;
        let bytes = study.built.load.encode().len();
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
                counter: study.built.load.counter,
                bytes,
                entries: study.built.load.entries.len(),
                send_s: send_s(bytes),
            },
        }
    }
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
        // The pass that came nearest says why there is none: one that settings keep out before one in the dark.
        let nearest = mine.iter().max_by(|a, b| a.unfit.cmp(&b.unfit).then(a.share.total_cmp(&b.share)));
        let why_not = match (flown, nearest.and_then(|pass| pass.unfit)) {
            (1.., _) => None,
            (0, _) if mine.is_empty() => Some("the swath never comes over it".to_owned()),
            (0, _) if !fit.is_empty() && possible == 0.0 => Some(
                "stereo: the camera's cycle is too long for overlap, and no place is seen on two fit passes".to_owned(),
            ),
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
