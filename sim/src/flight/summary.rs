//! The summary of a run, from its tallies.

use super::{
    build::Built,
    closed_loop::ClosedLoop,
    frames::JudgedFrame,
    settings::{gas_by_axis_kg, jet_duties},
    tally::Tally,
};
use crate::{
    record::summary::{
        Balance, BalanceSummary, Bound, ContactSummary, Criterion, FilmSummary, FrameSummary, GasSummary, OrbitSummary,
        PowerSummary, RunIdentity, SUMMARY_FORMAT, SpeedSummary, Summary,
    },
    scenario::Loaded,
    world::kepler::Elements,
};
use std::collections::BTreeMap;

/// Largest relative residual of the balances in truth: they differ from zero by the ledgers' own quadrature
/// and by rounding only.
const TRUTH_LIMIT: f64 = 1e-6;
/// Share of frames that must meet the wanted ground resolved distance.
const MET_SHARE: f64 = 0.95;
/// Largest gas in hold against the momentum minimum.
const GAS_RATIO: f64 = 1.3;

/// What the run itself adds.
pub struct Ended<'a> {
    /// The scenario.
    pub loaded: &'a Loaded,
    /// What it was built from.
    pub built: &'a Built,
    /// Seed used.
    pub seed: u64,
    /// Length flown, s.
    pub duration_s: f64,
    /// Wall-clock time, s.
    pub wall_s: f64,
    /// Rows written.
    pub rows: u64,
    /// Events by kind.
    pub events: BTreeMap<String, u64>,
}

/// Makes the summary.
pub fn summarise(flight: &mut ClosedLoop, tally: &Tally, frames: &[JudgedFrame], ended: &Ended<'_>) -> Summary {
    let gas = gas(flight, tally, ended);
    let orbit = orbit(tally, ended);
    let frame_summary = frame_summary(frames, ended);
    let criteria = criteria(&frame_summary, &gas);
    Summary {
        format: SUMMARY_FORMAT,
        run: identity(flight, ended),
        criteria,
        attitude: crate::record::summary::AttitudeSummary {
            capture_s: tally.capture_s,
            hold_s: tally.gas.time_s,
            hold: tally.hold.statistics(),
            exposures: tally.exposures.statistics(),
        },
        film: film(flight, tally, frames, ended),
        power: power(tally, ended),
        balances: balances(flight, tally),
        contacts: contacts(tally, ended),
        way_home: None,
        events: ended.events.clone(),
        speed: SpeedSummary {
            wall_s: ended.wall_s,
            times_real_time: ended.duration_s / ended.wall_s.max(1e-9),
            attitude_steps: flight.plant.ticks() / 2,
            rows: ended.rows,
        },
        torques: tally.torques.summary(orbit.period_s, ended.loaded.scenario.world.solar_flux_sfu),
        orbit,
        frames: frame_summary,
        gas,
    }
}

fn identity(flight: &ClosedLoop, ended: &Ended<'_>) -> RunIdentity {
    let scenario = &ended.loaded.scenario;
    RunIdentity {
        scenario: scenario.run.name.clone(),
        vehicle: scenario.run.vehicle.clone(),
        seed: ended.seed,
        epoch_utc: scenario.run.start.to_string(),
        duration_s: ended.duration_s,
        scenario_hash: format!("{:08x}", crate::scenario::settings::text_digest(&ended.loaded.text)),
        settings_hash: format!("{:08x}", ended.built.settings_digest),
        program_version: env!("CARGO_PKG_VERSION").into(),
        output_digest: Some(format!("{:016x}", flight.output_digest())),
    }
}

fn orbit(tally: &Tally, ended: &Ended<'_>) -> OrbitSummary {
    let elements = Elements::from_state(&ended.built.start_state);
    let period_s = elements.as_ref().map_or(f64::NAN, Elements::period_s);
    let revolutions = ended.duration_s / period_s;
    let now = tally.last.as_ref().and_then(|row| {
        Elements::from_state(&crate::world::kepler::State {
            position_m: row.position_m.into(),
            velocity_m_s: row.velocity_m_s.into(),
        })
    });
    let fall =
        elements.as_ref().zip(now).map(|(start, now)| (now.semi_major_axis_m - start.semi_major_axis_m) / revolutions);
    OrbitSummary {
        semi_major_axis_m: elements.as_ref().map_or(0.0, |e| e.semi_major_axis_m),
        eccentricity: elements.as_ref().map_or(0.0, |e| e.eccentricity),
        inclination_deg: elements.as_ref().map_or(0.0, |e| e.inclination_rad.to_degrees()),
        period_s,
        height_min_m: tally.height_m.0,
        height_max_m: tally.height_m.1,
        revolutions,
        height_change_per_revolution_m: fall.filter(|_| revolutions >= 1.0),
        eclipse_fraction: tally.rows.1 as f64 / tally.rows.0.max(1) as f64,
    }
}

fn gas(flight: &ClosedLoop, tally: &Tally, ended: &Ended<'_>) -> GasSummary {
    let tank = flight.plant.tank();
    let least_kg = tally.gas.least_kg.sum();
    GasSummary {
        loaded_kg: ended.loaded.scenario.tank.gas_kg,
        used_kg: tank.used_kg() + tank.leaked_kg(),
        remaining_kg: tank.mass_kg(),
        used_by_axis_kg: gas_by_axis_kg(flight.plant.jets(), &jet_duties(&ended.built.settings)),
        leaked_kg: tank.leaked_kg(),
        firings: tally.firings,
        hold_used_kg: tally.gas.used_kg,
        momentum_minimum_kg: least_kg,
        hold_ratio: (least_kg > 0.0).then(|| tally.gas.used_kg / least_kg),
    }
}

fn film(flight: &ClosedLoop, tally: &Tally, frames: &[JudgedFrame], ended: &Ended<'_>) -> FilmSummary {
    let film = flight.plant.film();
    let wound_m = ended.loaded.scenario.film.wound_m;
    let metered_m = f64::from(flight.controller.telemetry().film_metered_m) - wound_m;
    let exposed_m = frames.len() as f64 * ended.loaded.scenario.camera.frame_length_m;
    FilmSummary {
        loaded_m: ended.loaded.scenario.film.load_m,
        metered_m,
        exposed_m,
        wasted_m: (film.gate_m() - exposed_m).max(0.0),
        remaining_m: film.supply_m(),
        starts: tally.film_starts,
    }
}

fn power(tally: &Tally, ended: &Ended<'_>) -> PowerSummary {
    let used_wh = tally.last.as_ref().map_or(0.0, |row| row.energy_used_wh);
    PowerSummary {
        mean_w: used_wh * 3600.0 / ended.duration_s,
        peak_w: tally.peak_w,
        used_wh,
        loaded_wh: ended.loaded.scenario.power.battery_j / 3600.0,
    }
}

fn frame_summary(frames: &[JudgedFrame], ended: &Ended<'_>) -> FrameSummary {
    let count = frames.len() as u64;
    let met = frames.iter().filter(|frame| frame.row.met).count() as u64;
    let mut grd: Vec<f64> = frames.iter().map(|frame| frame.line.grd_m).filter(|grd| grd.is_finite()).collect();
    grd.sort_by(f64::total_cmp);
    let mut by_cause = BTreeMap::new();
    let mut missed_by_cause = BTreeMap::new();
    for frame in frames {
        *by_cause.entry(frame.row.dominant.clone()).or_insert(0) += 1;
        if !frame.row.met {
            *missed_by_cause.entry(frame.row.cause.clone()).or_insert(0) += 1;
        }
    }
    FrameSummary {
        wanted_grd_m: ended.loaded.scenario.camera.wanted_grd_m,
        count,
        met,
        met_fraction: (count > 0).then(|| met as f64 / count as f64),
        grd_median_m: grd.get(grd.len() / 2).copied(),
        grd_worst_m: grd.last().copied(),
        smear_along_rms_um: rms(frames.iter().filter_map(|frame| frame.row.smear_along_centre_um)),
        smear_across_rms_um: rms(frames.iter().filter_map(|frame| frame.row.smear_across_centre_um)),
        by_cause,
        missed_by_cause,
    }
}

fn rms(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (count, sum) = values.fold((0_u64, 0.0), |(count, sum), value| (count + 1, sum + value * value));
    (count > 0).then(|| (sum / count as f64).sqrt())
}

fn balances(flight: &mut ClosedLoop, tally: &Tally) -> BalanceSummary {
    let relative = flight.plant.momentum_residual();
    let momentum = flight.plant.ledger().throughput_nms();
    let tank = flight.plant.tank();
    let film = flight.plant.film();
    let telemetry = flight.controller.telemetry();
    let (residual, through) = tally.on_board_momentum;
    let film_share =
        telemetry.film_residual.iter().flatten().fold(0.0_f64, |worst, share| worst.max(f64::from(share.abs())));
    let metered_m = f64::from(telemetry.film_metered_m);
    BalanceSummary {
        truth: vec![
            Balance::new("angular momentum", "N m s", momentum, relative * momentum, Some(TRUTH_LIMIT)),
            Balance::new("gas", "kg", tank.used_kg() + tank.leaked_kg(), tank.imbalance_kg(), Some(TRUTH_LIMIT)),
            Balance::new("film", "m", film.gate_m(), film.ledger_residual_m(), Some(TRUTH_LIMIT)),
        ],
        on_board: vec![
            Balance::new("angular momentum, worst ten minutes", "N m s", through, residual, None),
            Balance::new(
                "gas, gauges against valve times",
                "kg",
                f64::from(telemetry.gas_used_kg),
                f64::from(telemetry.gas_residual_kg),
                None,
            ),
            Balance::new("film, roller against reels", "m", metered_m, film_share * metered_m, None),
        ],
    }
}

fn contacts(tally: &Tally, ended: &Ended<'_>) -> ContactSummary {
    let stations = &ended.loaded.scenario.stations;
    let by_station = tally.contacts.by_station.iter();
    ContactSummary {
        count: tally.contacts.by_station.values().sum(),
        total_s: tally.contacts.total_s,
        longest_gap_s: tally.contacts.longest_gap_s,
        first_heard_s: tally.contacts.heard_s.map(|(first_s, _)| first_s),
        last_heard_s: tally.contacts.heard_s.map(|(_, last_s)| last_s),
        place: tally.contacts.place.clone(),
        by_station: by_station
            .filter_map(|(index, count)| Some((stations.get(*index)?.name.clone(), *count)))
            .collect(),
    }
}

fn criteria(frames: &FrameSummary, gas: &GasSummary) -> Vec<Criterion> {
    let mut criteria = Vec::new();
    if frames.count > 0 {
        criteria.push(Criterion {
            name: "Share of frames that resolve the ground distance wanted".into(),
            value: frames.met_fraction,
            limit: MET_SHARE,
            bound: Bound::AtLeast,
            unit: "1".into(),
        });
    }
    if gas.hold_ratio.is_some() {
        criteria.push(Criterion {
            name: "Gas in fine hold against the momentum minimum".into(),
            value: gas.hold_ratio,
            limit: GAS_RATIO,
            bound: Bound::AtMost,
            unit: "1".into(),
        });
    }
    criteria
}
