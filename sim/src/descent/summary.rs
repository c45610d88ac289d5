//! From a study to its document.

use super::casualty::{GUIDANCE, estimate};
use super::confidence::{quantile, share_below_largest, share_bounds};
use super::document::{
    AngleSummary, CapsuleSummary, CasualtySummary, ColumnSummary, Descent, EntrySummary, EventSummary, FORMAT,
    FootprintSummary, PartSummary, PassSummary, Quantile, RegionSummary, RetroSummary, Share, TimerSummary,
    TouchdownSummary, ZoneSummary,
};
use super::fall::{End, Fall, What};
use super::footprint::Landing;
use super::ground::{Along, below};
use super::model::Faults;
use super::recovery::Canopies;
use super::repredict::{Form, LateFacts, News, Region};
use super::retro::{Burn, G0, ideal_speed_m_s, tip_rad};
use super::sensitivity::{Column, straight_sigmas_m};
use super::study::{Options, Study};
use crate::record::summary::{Bound, Criterion};
use crate::world::Vec3;
use crate::world::ellipsoid::Geodetic;

const KM: f64 = 1e-3;
/// Density of the standard air at sea level, kg/m³.
const SEA_LEVEL_KG_M3: f64 = 1.225;
/// Confidence of every bound of a share or quantile.
const BOUNDS: f64 = 0.95;

/// The document of a study.
pub(super) fn summary(made: &Study, scenario: &str, seed: u64, options: &Options) -> Descent {
    let d = &made.descents;
    let zone = &made.model.plan.zone;
    let footprint = footprint(made);
    let casualty = estimate(&made.model.plan.casualty, footprint.in_zone.hits, footprint.in_zone.runs);
    let mut summary = Descent {
        format: FORMAT,
        scenario: scenario.to_owned(),
        seed,
        faults: faults(&made.model.faults),
        criteria: Vec::new(),
        zone: ZoneSummary {
            name: zone.name.clone(),
            latitude_deg: zone.centre_rad[0].to_degrees(),
            longitude_deg: zone.centre_rad[1].to_degrees(),
            half_along_km: zone.half_along_m * KM,
            half_across_km: zone.half_across_m * KM,
        },
        passes: passes(made),
        retro: retro(made),
        capsule: capsule(made),
        timers: TimerSummary {
            drogue_after_g_s: d.timers.drogue_after_g_s.unwrap_or_default(),
            drogue_backup_s: d.timers.drogue_backup_s.unwrap_or_default(),
            main_after_drogue_s: d.timers.main_after_drogue_s.unwrap_or_default(),
            main_backup_s: d.timers.main_backup_s.unwrap_or_default(),
        },
        sequence: sequence(made, d.shown()),
        entry: entry(made, d.shown()),
        touchdown: touchdown(made, d.shown()),
        footprint,
        sensitivity: d.columns.iter().map(column).collect(),
        angle: AngleSummary {
            used_deg: d.at.angle_rad().to_degrees(),
            least_sensitive_deg: made.scan.stationary_rad.map(f64::to_degrees),
            here_km_deg: made.scan.here_m_rad.to_radians() * KM,
            straight_back_km_deg: finite(made.scan.straight_back_m_rad.to_radians() * KM),
        },
        casualty: CasualtySummary {
            area_m2: casualty.area_m2,
            in_zone: casualty.in_zone,
            around: casualty.around,
            failed: casualty.failed,
            expected: casualty.expected,
            upper: casualty.upper,
            guidance: GUIDANCE,
        },
        region: made.region.as_ref().zip(options.late.as_ref()).map(|(region, facts)| told(made, region, facts)),
        wall_s: 0.0,
    };
    summary.criteria = criteria(made, &summary);
    summary
}

fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

fn criteria(made: &Study, s: &Descent) -> Vec<Criterion> {
    let ask = |name: &str, value: Option<f64>, limit: f64, bound: Bound, unit: &str| Criterion {
        name: name.to_owned(),
        value,
        limit,
        bound,
        unit: unit.to_owned(),
    };
    let plan = &made.model.plan;
    let f = &s.footprint;
    vec![
        ask("Most deceleration of any descent", Some(f.worst_g), plan.most_g, Bound::AtMost, "g"),
        ask(
            "Share that comes down in the zone, lower 95 % bound",
            Some(f.in_zone.low * 100.0),
            plan.confidence * 100.0,
            Bound::AtLeast,
            "%",
        ),
        ask(
            "Share under both canopies, lower 95 % bound",
            Some(f.under_canopies.low * 100.0),
            plan.confidence * 100.0,
            Bound::AtLeast,
            "%",
        ),
        ask("Speed at touchdown", s.touchdown.speed_m_s, 1.1 * s.capsule.landing_speed_m_s, Bound::AtMost, "m/s"),
    ]
}

/// Faults in words.
fn faults(faults: &Faults) -> Vec<String> {
    let mut words = Vec::new();
    if faults.pitch_rad != 0.0 {
        words.push(format!("retro attitude {:+.2}° in the plane", faults.pitch_rad.to_degrees()));
    }
    if faults.yaw_rad != 0.0 {
        words.push(format!("retro attitude {:+.2}° out of the plane", faults.yaw_rad.to_degrees()));
    }
    if faults.impulse_missing != 0.0 {
        words.push(format!("retro gives {:.1} % less than its impulse", 100.0 * faults.impulse_missing));
    }
    if let Some(spin) = faults.spin_rad_s {
        words.push(format!("spin {:.1} rev/min", spin * 60.0 / std::f64::consts::TAU));
    }
    if faults.early_drogue_s != 0.0 {
        words.push(format!("drogue fired {:.0} s early", faults.early_drogue_s));
    }
    let flags = [
        (faults.g_switch_dead, "g-switch never closes: backup timers alone"),
        (faults.drogue_dead, "drogue does not come out"),
        (faults.main_dead, "main canopy does not come out"),
    ];
    words.extend(flags.iter().filter(|flag| flag.0).map(|flag| flag.1.to_owned()));
    words
}

fn passes(made: &Study) -> Vec<PassSummary> {
    let each = made.passes.iter().enumerate().map(|(place, pass)| PassSummary {
        retro_utc: made.utc(pass.at.time_s),
        retro_s: pass.at.time_s,
        touchdown_utc: made.utc(pass.touchdown_s),
        latitude_deg: pass.touchdown.latitude_rad.to_degrees(),
        longitude_deg: pass.touchdown.longitude_rad.to_degrees(),
        across_km: pass.across_m * KM,
        along_km: pass.along_m * KM,
        track_deg: pass.azimuth_rad.to_degrees().rem_euclid(360.0),
        used: place == made.used,
    });
    each.collect()
}

fn retro(made: &Study) -> RetroSummary {
    let (at, capsule) = (&made.descents.at, &made.model.capsule);
    let burn = Burn::new(&capsule.retro, 1.0);
    let propellant_kg = burn.used_kg(f64::INFINITY);
    let place = below(&at.position_m, at.time_s, &made.model.earth);
    let bend = tip_rad(burn.mean_n() * 1e-3, capsule.spin_inertia_kg_m2, at.spin_rad_s);
    RetroSummary {
        utc: made.utc(at.time_s),
        time_s: at.time_s,
        separation_utc: made.utc(at.time_s - made.model.plan.separation_s),
        latitude_deg: place.latitude_rad.to_degrees(),
        longitude_deg: place.longitude_rad.to_degrees(),
        height_km: place.height_m * KM,
        angle_deg: at.angle_rad().to_degrees(),
        axis: at.axis.into(),
        spin_rpm: at.spin_rad_s * 60.0 / std::f64::consts::TAU,
        ideal_speed_m_s: ideal_speed_m_s(capsule.retro.isp_s, capsule.mass_kg, propellant_kg),
        propellant_kg,
        mean_thrust_n: burn.mean_n(),
        bend_deg_per_mm: finite(bend.to_degrees()),
    }
}

fn capsule(made: &Study) -> CapsuleSummary {
    let capsule = &made.model.capsule;
    let entry_kg = capsule.mass_kg - made.model.propellant_kg() - capsule.motor_kg;
    let canopies = Canopies::new(&made.model.plan, 1.0);
    CapsuleSummary {
        entry_kg,
        ballistic_coefficient_kg_m2: entry_kg / capsule.drag_area_m2.last().copied().unwrap_or(f64::INFINITY),
        canopy_kg: capsule.canopy_kg,
        landing_speed_m_s: canopies.main.steady_m_s(capsule.canopy_kg, G0, SEA_LEVEL_KG_M3),
    }
}

/// What happens when.
fn sequence(made: &Study, fall: &Fall) -> Vec<EventSummary> {
    let ignition_s = made.descents.at.time_s;
    let each = fall.events.iter().map(|(what, m)| {
        let place = below(&m.at.position_m(), m.at.t_s, &made.model.earth);
        EventSummary {
            what: what.words().to_owned(),
            after_ignition_s: m.at.t_s - ignition_s,
            utc: made.utc(m.at.t_s),
            latitude_deg: place.latitude_rad.to_degrees(),
            longitude_deg: place.longitude_rad.to_degrees(),
            height_km: m.height_m * KM,
            inertial_m_s: m.inertial_m_s,
            inertial_angle_deg: m.inertial_angle_rad.to_degrees(),
            speed_m_s: m.speed_m_s,
            mach: m.mach,
            pressure_kpa: m.pressure_pa * KM,
            g: m.g,
        }
    });
    each.collect()
}

fn entry(made: &Study, fall: &Fall) -> EntrySummary {
    let at = &made.descents.at;
    let from = below(&at.position_m, at.time_s, &made.model.earth);
    let range = |to: &Vec3, t_s: f64| {
        let along = Along { origin: from, azimuth_rad: 0.0 };
        let [n, e] = along.offset_m(&below(to, t_s, &made.model.earth));
        n.hypot(e) * KM
    };
    EntrySummary {
        most_g: fall.most_g.value,
        most_g_height_km: fall.most_g.at.height_m * KM,
        most_flux_w_m2: fall.most_flux.value,
        most_flux_height_km: fall.most_flux.at.height_m * KM,
        heat_j_m2: fall.last.at.heat_j_m2(),
        most_pressure_kpa: fall.most_pressure.value * KM,
        range_to_drogue_km: fall.at(What::Drogue).map(|m| range(&m.at.position_m(), m.at.t_s)),
    }
}

fn touchdown(made: &Study, fall: &Fall) -> TouchdownSummary {
    let last = &fall.last;
    let down = fall.end == End::Down;
    let place = below(&last.at.position_m(), last.at.t_s, &made.model.earth);
    let offset = made.descents.along.offset_m(&place);
    let if_down = |value: f64| down.then_some(value);
    TouchdownSummary {
        end: match fall.end {
            End::Down => "down",
            End::Up => "stays in orbit",
            End::Lost => "not computed: numbers ran away",
        }
        .to_owned(),
        utc: down.then(|| made.utc(last.at.t_s)),
        latitude_deg: if_down(place.latitude_rad.to_degrees()),
        longitude_deg: if_down(place.longitude_rad.to_degrees()),
        along_km: if_down(offset[0] * KM),
        across_km: if_down(offset[1] * KM),
        speed_m_s: if_down(last.speed_m_s),
        drogue: fall.drogue.words().to_owned(),
        main: fall.main.words().to_owned(),
    }
}

fn share(hits: usize, runs: usize) -> Share {
    let (low, high) = share_bounds(hits, runs, BOUNDS);
    Share { hits, runs, value: hits as f64 / runs.max(1) as f64, low, high }
}

/// Whether a place lies in the zone, whose long axis is the track's.
pub(super) fn in_zone(made: &Study, place: &Geodetic) -> bool {
    let zone = &made.model.plan.zone;
    let centre = Geodetic { latitude_rad: zone.centre_rad[0], longitude_rad: zone.centre_rad[1], height_m: 0.0 };
    let along = Along { origin: centre, azimuth_rad: made.descents.along.azimuth_rad };
    let [x, y] = along.offset_m(place);
    (x / zone.half_along_m).powi(2) + (y / zone.half_across_m).powi(2) <= 1.0
}

fn footprint(made: &Study) -> FootprintSummary {
    let d = &made.descents;
    let runs = d.landings.len();
    let down: Vec<&Landing> = d.landings.iter().filter(|l| l.down).collect();
    let ellipse = d.ellipse.unwrap_or_default();
    let middle = d.along.place(ellipse.middle_m);
    let sorted = |k: usize| {
        let mut values: Vec<f64> = down.iter().map(|l| l.offset_m[k]).collect();
        values.sort_by(f64::total_cmp);
        values
    };
    let (along, across) = (sorted(0), sorted(1));
    let end = |value: Option<&f64>| value.copied().unwrap_or_default() * KM;
    let most = |of: &dyn Fn(&Landing) -> f64| down.iter().map(|l| of(l)).fold(0.0, f64::max);
    let heights = down.iter().map(|l| l.drogue[0]).filter(|h| h.is_finite());
    let heights = heights.fold((f64::INFINITY, 0.0_f64), |(low, high), h| (low.min(h), high.max(h)));
    let inside = down.iter().filter(|l| d.ellipse.is_some_and(|e| e.holds(l.offset_m))).count();
    FootprintSummary {
        runs,
        down: share(down.len(), runs),
        in_zone: share(down.iter().filter(|l| in_zone(made, &l.place)).count(), runs),
        under_canopies: share(down.iter().filter(|l| l.under_canopy).count(), runs),
        confidence: made.model.plan.confidence,
        sigmas: ellipse.sigmas,
        in_ellipse: share(inside, down.len()),
        latitude_deg: middle.latitude_rad.to_degrees(),
        longitude_deg: middle.longitude_rad.to_degrees(),
        middle_km: ellipse.middle_m.map(|m| m * KM),
        sigma_km: ellipse.sigma_m.map(|m| m * KM),
        half_axes_km: ellipse.half_axes_m().map(|m| m * KM),
        azimuth_deg: (d.along.azimuth_rad + ellipse.turn_rad).to_degrees().rem_euclid(360.0),
        straight_sigma_km: straight_sigmas_m(&d.columns).map(|m| m * KM),
        along: quantiles(&along),
        across: quantiles(&across),
        farthest_km: [end(along.first()), end(along.last())],
        below_farthest: share_below_largest(down.len(), BOUNDS),
        worst_g: most(&|l| l.most_g),
        worst_heat_j_m2: most(&|l| l.heat_j_m2),
        drogue_height_km: if heights.0.is_finite() { [heights.0 * KM, heights.1 * KM] } else { [0.0; 2] },
        drogue_mach: most(&|l| if l.drogue[1].is_finite() { l.drogue[1] } else { 0.0 }),
    }
}

fn quantiles(sorted: &[f64]) -> Vec<Quantile> {
    let each = [0.01, 0.05, 0.5, 0.95, 0.99].into_iter().filter_map(|share| {
        let found = quantile(sorted, share, BOUNDS)?;
        let km = |bound: Option<f64>| bound.map(|m| m * KM);
        Some(Quantile { share, value_km: found.value * KM, low_km: km(found.low), high_km: km(found.high) })
    });
    each.collect()
}

fn column(column: &Column) -> ColumnSummary {
    let (unit, factor) = column.axis.quantity.unit();
    ColumnSummary {
        what: column.axis.quantity.name().to_owned(),
        sigma: column.axis.sigma * factor,
        unit: unit.to_owned(),
        law: if column.axis.even { "even" } else { "normal" }.to_owned(),
        along_km: column.offset_m[0] * KM,
        across_km: column.offset_m[1] * KM,
        curved_km: column.curved_m * KM,
        g: column.g,
        time_s: column.time_s,
        share_percent: 100.0 * column.share,
    }
}

fn told(made: &Study, region: &Region, facts: &LateFacts) -> RegionSummary {
    let news = match facts.news {
        News::None => "nothing heard of the retro yet".to_owned(),
        News::Heard { time_s, sigma_s } => format!("retro heard at {} ± {sigma_s} s", made.utc(time_s)),
        News::NotHeard => "a station listened for the retro and did not hear it".to_owned(),
    };
    let drift = facts.drift_m.map_or(String::new(), |(drift_m, sigma_m)| {
        format!("; vehicle {:+.1} ± {:.1} km ahead of its prediction", drift_m * KM, sigma_m * KM)
    });
    let parts = region.parts.iter().map(|part| PartSummary {
        chance_percent: 100.0 * part.chance,
        why: part.why.to_owned(),
        place: place(made, &part.form),
    });
    RegionSummary { news: news + &drift, parts: parts.collect() }
}

/// A part's form in words.
fn place(made: &Study, form: &Form) -> String {
    let point = |p: &Geodetic| degrees(p.latitude_rad, p.longitude_rad);
    match form {
        Form::Ellipse(outline) => {
            let offsets: Vec<[f64; 2]> = outline.iter().map(|p| made.descents.along.offset_m(p)).collect();
            let span = |k: usize| {
                let ends = offsets.iter().map(|o| o[k]);
                ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)))
            };
            let ((a, b), (c, d)) = (span(0), span(1));
            let middle = made.descents.along.place([0.5 * (a + b), 0.5 * (c + d)]);
            format!(
                "an ellipse about {}, {:.0} km along the track by {:.0} km across",
                point(&middle),
                (b - a) * KM,
                (d - c) * KM
            )
        }
        Form::Strip(line, half_m) => {
            let ends = line.first().zip(line.last());
            if let [alone] = line.as_slice() {
                return format!("within {:.0} km of {}", half_m * KM, point(alone));
            }
            let (from, to) = ends.map_or((String::new(), String::new()), |(a, b)| (point(a), point(b)));
            format!("along the ground track from {from} to {to}, {:.0} km to either side", half_m * KM)
        }
        Form::UnderOrbit(latitude) => format!(
            "anywhere between {:.1}° N and {:.1}° S, days later, where the air ends the orbit",
            latitude.to_degrees(),
            latitude.to_degrees()
        ),
    }
}

/// A place for people.
pub(super) fn degrees(latitude_rad: f64, longitude_rad: f64) -> String {
    let part = |value: f64, plus: char, minus: char| {
        format!("{:.2}° {}", value.abs().to_degrees(), if value < 0.0 { minus } else { plus })
    };
    format!("{} {}", part(latitude_rad, 'N', 'S'), part(longitude_rad, 'E', 'W'))
}
