//! A made-up run with the right physics in outline: a circular orbit, a one-sided limit cycle in pitch, free
//! cycles in roll and yaw, passes over areas with film running, one Sun intrusion. For looking at the page
//! and for exercising the record; nothing of the product is computed here.

use std::f64::consts::{PI, TAU};

use jiff::Timestamp;
use stillframe::imaging::picture::Picture;
use stillframe::record::ccsds::MessageHeader;
use stillframe::record::summary::{
    AirSpread, AttitudeSummary, AxisStatistics, Balance, BalanceSummary, Bound, ContactSummary, Criterion, FilmSummary,
    FrameSummary, GasSummary, OrbitSummary, PlaceSummary, PowerSummary, RunIdentity, SpeedSummary, Summary, TorqueLine,
    TorqueSummary,
};
use stillframe::record::{CodeNames, Digest, Event, EventKind, JetEdge, Row, RunInfo, Window};
use stillframe::report::{
    Area, Context, FormatCell, FrameLine, JetLabel, PhaseLimits, ReportData, SettingsGroup, SettingsLine, SheetTile,
    Source, Station,
};

/// WGS-84 equatorial radius, m, and the numbers of a circular orbit at 220 km.
const EARTH_M: f64 = 6_378_137.0;
const AXIS_M: f64 = EARTH_M + 220_000.0;
const RATE_RAD_S: f64 = 1.177_95e-3;
const EARTH_RATE_RAD_S: f64 = 7.292_115e-5;
const INCLINATION_RAD: f64 = 82.0 * PI / 180.0;

/// Camera passes of the made-up day: start and length, s.
pub const PASSES: [(f64, f64); 9] = [
    (6_800.0, 90.0),
    (12_350.0, 150.0),
    (17_800.0, 60.0),
    (29_000.0, 120.0),
    (40_100.0, 110.0),
    (51_200.0, 75.0),
    (62_400.0, 140.0),
    (73_000.0, 100.0),
    (80_900.0, 80.0),
];

/// Start of the made-up run.
pub fn epoch() -> Timestamp {
    "2031-04-12T06:30:00Z".parse().expect("a fixed instant")
}

/// What the recorder is told of the made-up run.
pub fn info() -> RunInfo {
    let names = ["safe", "damp rates", "capture", "coarse hold", "fine hold"];
    RunInfo {
        header: MessageHeader {
            created: "2031-04-14T09:00:00Z".parse().expect("a fixed instant"),
            epoch: epoch(),
            object_name: "Whimbrel".into(),
            comments: vec!["Simulated run; no such object flies".into(), "scenario coastal-strip seed 1".into()],
        },
        codes: CodeNames {
            modes: (0_u8..).zip(names.map(String::from)).collect(),
            health_bits: vec![(0, "horizon lost".into()), (1, "gas low".into())],
            stations: vec!["Skerry".into(), "Lowmoor".into()],
        },
        metadata: vec![("stillframe.scenario".into(), "coastal-strip".into())],
        close_ups: vec![
            Window { title: "Capture after release".into(), start_s: 0.0, end_s: 900.0 },
            Window { title: "First pass".into(), start_s: 6_740.0, end_s: 6_950.0 },
        ],
        orbit_every_s: 60.0,
        attitude_every_s: 10.0,
        attitude_in_pass_every_s: 1.0,
    }
}

fn pass_at(t: f64) -> Option<f64> {
    PASSES.iter().find(|(start, length)| t >= *start && t < start + length).map(|(start, _)| t - start)
}

/// A saw tooth between −1 and 1.
fn triangle(phase: f64) -> f64 {
    4.0 * (phase - (phase + 0.5).floor()).abs() - 1.0
}

/// The row at time `t`.
pub fn row(t: f64) -> Row {
    let mut row = Row { time_s: t, tick: (t * 100.0).round() as u32, ..Row::default() };
    orbit(&mut row);
    attitude(&mut row);
    ledgers(&mut row);
    row.observed_mode = if t < 1_200.0 { 1 } else { 4 };
    row.contact_station = if t % 21_000.0 < 290.0 { ((t / 21_000.0) as i16) % 2 } else { -1 };
    row.observation_age_s = (t % 21_000.0 - 290.0).max(0.0) as f32;
    let grown_m = |age_s: f64| (500.0 + 22_000.0 * (age_s / 86_400.0).powi(2)) as f32;
    row.ahead_m = (8_400.0 * (t / 86_400.0).powi(2)) as f32;
    (row.place_since_start_m, row.place_since_tracked_m) = (grown_m(t), grown_m(row.observation_age_s.into()));
    row
}

fn orbit(row: &mut Row) {
    let t = row.time_s;
    let (u, height) = (RATE_RAD_S * t + 0.3, 220_000.0 - 0.04 * t + 9_000.0 * (RATE_RAD_S * t).sin());
    let r = EARTH_M + height;
    let in_plane = |u: f64| [u.cos(), u.sin() * INCLINATION_RAD.cos(), u.sin() * INCLINATION_RAD.sin()];
    row.position_m = in_plane(u).map(|v| v * r);
    row.velocity_m_s = in_plane(u + PI / 2.0).map(|v| v * RATE_RAD_S * AXIS_M);
    let [x, y, z] = row.position_m;
    row.latitude_deg = (z / r).asin().to_degrees();
    let longitude = (y.atan2(x) - EARTH_RATE_RAD_S * t - 0.6).to_degrees();
    row.longitude_deg = (longitude + 180.0).rem_euclid(360.0) - 180.0;
    row.height_m = height;
    row.sun_elevation_deg = (62.0 * (u - 0.9).cos()) as f32;
    row.in_eclipse = (u - 0.9).cos() < -0.35;
    row.air_density_kg_m3 = (1.6e-10 * (-(height - 220_000.0) / 32_000.0).exp()) as f32;
    row.attitude_q = [(u / 2.0).cos(), 0.0, (u / 2.0).sin(), 0.0];
}

fn attitude(row: &mut Row) {
    let t = row.time_s;
    let tumble = (-t / 70.0).exp();
    let sun = if (55_000.0..55_400.0).contains(&t) { (PI * (t - 55_000.0) / 400.0).sin() } else { 0.0 };
    let period = [210.0, 12.0, 640.0];
    let width = [0.25, 0.012, 0.22].map(f64::to_radians);
    let middle = [0.0, 0.21, 0.05].map(f64::to_radians);
    for axis in 0..3 {
        let spin = f64::from(axis as u8) * 1.3 + 1.0;
        let cycle = triangle(t / period[axis]) * width[axis] + middle[axis];
        let slope = 4.0 * width[axis] / period[axis] * (t / period[axis] + 0.25).fract().mul_add(-2.0, 1.0).signum();
        row.attitude_error_rad[axis] = (cycle + 0.9 * tumble * (t / 19.0 * spin).sin() + 0.008 * sun) as f32;
        row.rate_error_rad_s[axis] = (slope + 0.017 * tumble * (t / 19.0 * spin).cos()) as f32;
        row.assumed_angle_rad[axis] = row.attitude_error_rad[axis] + (0.0004 * (t / 97.0).sin() - 0.008 * sun) as f32;
        row.assumed_rate_rad_s[axis] = row.rate_error_rad_s[axis];
        row.assumed_gyro_drift_rad_s[axis] = (2.4e-6 * (1.0 - (-t / 1_500.0).exp()) * spin) as f32;
    }
    row.yaw_steering_rad = (0.0611 * (RATE_RAD_S * t + 0.3).cos()) as f32;
    row.orbital_angle_rad = row.attitude_error_rad;
    row.orbital_angle_rad[2] += row.yaw_steering_rad;
    row.disturbance_torque_n_m = [2e-5, 1.0e-3, 3e-4 * (RATE_RAD_S * t).sin()].map(|v| v as f32);
    row.commanded_mode = 4;
    row.assumed_mode = match t {
        t if t < 180.0 => 1,
        t if t < 420.0 => 2,
        t if t < 660.0 => 3,
        _ => 4,
    };
}

fn ledgers(row: &mut Row) {
    let t = row.time_s;
    let capture = 1.0 - (-t / 80.0).exp();
    row.gas_kg = 4.0 - 0.017 * capture - 0.21 * t / 86_400.0;
    row.tank_pressure_pa = (19.6e6 * row.gas_kg / 4.0) as f32;
    row.tank_temperature_k = (291.0 + 2.0 * (RATE_RAD_S * t).sin()) as f32;
    let on = [0.4, 0.4, 1.0, 0.1, 0.6, 0.6, 0.3, 0.3];
    for (seconds, share) in row.jet_on_s.iter_mut().zip(on) {
        *seconds = share * (16.0 * capture + 155.0 * t / 86_400.0);
    }
    row.image_speed_m_s = (0.03415 * 220_000.0 / row.height_m) as f32;
    let step = (f64::from(row.image_speed_m_s) / 0.000_15).round();
    let run_up = pass_at(t).map_or(0.0, |since| 1.0 - (-(since) / 0.4).exp());
    row.camera_on = run_up > 0.0;
    row.shutter_open = pass_at(t).is_some_and(|since| since > 2.0);
    row.film_speed_step = if row.camera_on { step as u32 } else { 0 };
    row.film_speed_m_s = (step * 0.000_15 * run_up * (1.0 + 0.002 * (t * 7.0).sin())) as f32;
    let used: f64 = PASSES.iter().map(|(start, length)| (t - start).clamp(0.0, *length) * 0.0341).sum();
    row.metered_film_m = used;
    row.film_supply_m = 900.0 - used;
    row.film_take_up_m = used;
    row.supply_tension_n = (5.0 + 0.4 * run_up * (t * 3.0).sin()) as f32;
    row.take_up_tension_n = (5.4 + 0.3 * run_up * (t * 2.2).sin()) as f32;
    row.reel_momentum_n_m_s = (0.031 * run_up) as f32;
    row.power_w = (70.0 + 60.0 * run_up) as f32;
    row.energy_used_wh = 70.0 * t / 3_600.0 + used / 0.0341 * 60.0 / 3_600.0;
    row.assumed_gas_kg = (row.gas_kg + 0.012 * (t / 4_000.0).sin()) as f32;
}

/// The digest of the made-up run, `every_s` apart and finer in the close-ups.
pub fn digest(length_s: f64, every_s: f64) -> Digest {
    let mut digest = Digest::new(info().close_ups);
    let mut t = 0.0;
    while t <= length_s {
        digest.row(&row(t));
        let close = digest.close_ups.iter().any(|c| t >= c.window.start_s && t < c.window.end_s);
        t += if close { every_s.min(0.2) } else { every_s };
    }
    for edge in edges(length_s) {
        digest.edge(&edge);
    }
    for event in events() {
        digest.event(&event);
    }
    digest
}

/// Jet edges: a pitch pulse every 12 s, roll and yaw pairs now and then.
pub fn edges(length_s: f64) -> Vec<JetEdge> {
    let mut edges = Vec::new();
    let plan: [(u8, f64, f64); 6] = [
        (2, 12.0, 0.020),
        (0, 210.0, 0.020),
        (1, 210.0, 0.020),
        (4, 640.0, 0.024),
        (6, 900.0, 0.024),
        (3, 310.0, 0.020),
    ];
    for (jet, period, on) in plan {
        let mut t = 3.0 + f64::from(jet);
        while t < length_s {
            edges.push(JetEdge { time_s: t, jet, open: true });
            edges.push(JetEdge { time_s: t + on, jet, open: false });
            t += period * (1.0 + 0.05 * (t / 50.0).sin());
        }
    }
    edges.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
    edges
}

/// Events of the made-up run.
pub fn events() -> Vec<Event> {
    let mut events = vec![
        Event::new(0.0, EventKind::Note, "released from the carrier").with("rate_deg_s", 1.0),
        Event::new(180.0, EventKind::Mode, "damp rates → capture"),
        Event::new(420.0, EventKind::Mode, "capture → coarse hold"),
        Event::new(660.0, EventKind::Mode, "coarse hold → fine hold"),
        Event::new(1_200.0, EventKind::LoadAccepted, "load 1: 18 commands").with("commands", 18.0),
        Event::new(55_000.0, EventKind::FaultStart, "Sun in the horizon sensor's field"),
        Event::new(55_030.0, EventKind::Health, "horizon lost raised"),
        Event::new(55_400.0, EventKind::FaultStop, "Sun out of the horizon sensor's field"),
        Event::new(55_410.0, EventKind::Health, "horizon lost cleared"),
    ];
    for (k, (start, length)) in PASSES.iter().enumerate() {
        events.push(Event::new(*start, EventKind::Camera, format!("camera on, area {}", AREAS[k].0)));
        events.push(Event::new(start + length, EventKind::Camera, format!("camera off, area {}", AREAS[k].0)));
    }
    events.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
    events
}

/// Names of the made-up areas.
pub const AREAS: [(&str, f64); 9] = [
    ("Aldersand", 1.8),
    ("Brackwater", 3.0),
    ("Cold Spit", 1.4),
    ("Dunlin Bay", 2.4),
    ("Eelgrass", 2.2),
    ("Farrow Sound", 1.6),
    ("Gullstone", 2.8),
    ("Hollow Cape", 2.0),
    ("Inkle Firth", 1.6),
];

/// Judged frames: about one every four seconds of a pass.
pub fn frames() -> Vec<FrameLine> {
    let mut frames = Vec::new();
    for (k, (start, length)) in PASSES.iter().enumerate() {
        let mut t = start + 3.0;
        while t < start + length {
            frames.push(frame(frames.len() as u32 + 1, t, AREAS[k].0));
            t += 4.0;
        }
    }
    frames
}

fn frame(number: u32, t: f64, area: &str) -> FrameLine {
    let at = row(t);
    let wobble = f64::from(number).sin();
    let rate = f64::from(at.film_speed_m_s / at.image_speed_m_s) - 1.0;
    let parts = vec![
        ("film rate".to_string(), rate.abs() * 136.6),
        ("roll rate".to_string(), 1.1 + 0.5 * wobble),
        ("yaw error".to_string(), 0.9 + 0.4 * (f64::from(number) * 1.7).sin()),
        ("vibration".to_string(), if number.is_multiple_of(41) { 8.0 } else { 1.0 }),
    ];
    let along = (parts[0].1.powi(2) + 1.0).sqrt();
    let across = (parts[1].1.powi(2) + parts[2].1.powi(2) + parts[3].1.powi(2)).sqrt();
    let grd = 2.18 * (1.0 + (along.max(across) / 8.6).powi(2)).sqrt();
    let worst = parts.iter().max_by(|a, b| a.1.total_cmp(&b.1)).map(|p| p.0.clone());
    FrameLine {
        number,
        start_s: t,
        duration_s: 4.0,
        area: area.into(),
        latitude_deg: at.latitude_deg,
        longitude_deg: at.longitude_deg,
        height_m: at.height_m,
        sun_elevation_deg: at.sun_elevation_deg.into(),
        film_speed_mm_s: f64::from(at.film_speed_m_s) * 1e3,
        image_speed_mm_s: f64::from(at.image_speed_m_s) * 1e3,
        smear_along_um: along,
        smear_across_um: across,
        budget_um: [2.2, 2.4],
        grd_m: grd,
        met: grd <= 2.5,
        cause: worst.unwrap_or_default(),
        contributions_um: parts,
    }
}

/// A whole summary that fits the frames.
pub fn summary(frames: &[FrameLine], length_s: f64) -> Summary {
    let met = frames.iter().filter(|f| f.met).count() as u64;
    let mut grd: Vec<f64> = frames.iter().map(|f| f.grd_m).collect();
    grd.sort_by(f64::total_cmp);
    let share = met as f64 / frames.len().max(1) as f64;
    let statistics = AxisStatistics {
        samples: 4_287_000,
        error_mean_deg: [0.001, 0.209, 0.048],
        error_rms_deg: [0.145, 0.211, 0.139],
        error_max_deg: [0.287, 0.231, 0.301],
        rate_rms_deg_s: [0.0048, 0.0040, 0.0014],
        rate_max_deg_s: [0.0102, 0.0081, 0.0039],
    };
    let mut frame_summary = FrameSummary {
        wanted_grd_m: 2.5,
        count: frames.len() as u64,
        met,
        met_fraction: Some(share),
        grd_median_m: grd.get(grd.len() / 2).copied(),
        grd_worst_m: grd.last().copied(),
        smear_along_rms_um: Some(1.21),
        smear_across_rms_um: Some(2.04),
        ..FrameSummary::default()
    };
    for frame in frames {
        *frame_summary.by_cause.entry(frame.cause.clone()).or_default() += 1;
        if !frame.met {
            *frame_summary.missed_by_cause.entry(frame.cause.clone()).or_default() += 1;
        }
    }
    let criterion = |name: &str, value, limit, bound, unit: &str| Criterion {
        name: name.into(),
        value: Some(value),
        limit,
        bound,
        unit: unit.into(),
    };
    Summary {
        format: 1,
        run: RunIdentity {
            scenario: "coastal-strip".into(),
            vehicle: "Whimbrel".into(),
            seed: 1,
            epoch_utc: epoch().to_string(),
            duration_s: length_s,
            scenario_hash: "5c1f09e2b7a4d3861f20".into(),
            settings_hash: "90ab77e1c2f4".into(),
            program_version: "0.1.0".into(),
            output_digest: Some("d41c88a0f2be".into()),
        },
        criteria: vec![
            criterion("Frames that resolve the wanted distance", share, 0.95, Bound::AtLeast, "1"),
            criterion("Gas in hold against the momentum minimum", 1.17, 1.3, Bound::AtMost, "1"),
            criterion("Fine hold reached after release", 660.0, 1_800.0, Bound::AtMost, "s"),
        ],
        orbit: OrbitSummary {
            semi_major_axis_m: AXIS_M,
            eccentricity: 0.0014,
            inclination_deg: 82.0,
            period_s: TAU / RATE_RAD_S,
            height_min_m: 207_600.0,
            height_max_m: 229_000.0,
            revolutions: length_s * RATE_RAD_S / TAU,
            height_change_per_revolution_m: Some(-213.0),
            eclipse_fraction: 0.386,
        },
        attitude: AttitudeSummary {
            capture_s: Some(660.0),
            hold_s: length_s - 660.0,
            hold: statistics.clone(),
            exposures: AxisStatistics { samples: 46_200, ..statistics },
        },
        torques: TorqueSummary {
            hold_s: 7_000.0,
            sources: vec![TorqueLine {
                source: "air".into(),
                mean_n_m: [0.0, 6.1e-4, 0.0],
                peak_n_m: [6e-6, 8e-4, 1e-6],
                momentum_per_orbit_n_m_s: [0.01, 3.29, 0.002],
            }],
            air: AirSpread {
                height_m: 224_000.0,
                density_kg_m3: 1.4e-10,
                solar_flux_sfu: 150.0,
                quiet_sun_ratio: 0.51,
                active_sun_ratio: 1.6,
                model_sigma: 0.15,
            },
        },
        gas: GasSummary {
            loaded_kg: 4.0,
            used_kg: 0.227,
            remaining_kg: 3.773,
            used_by_axis_kg: [0.031, 0.142, 0.052],
            leaked_kg: 0.002,
            firings: 9_240,
            hold_used_kg: 0.208,
            momentum_minimum_kg: 0.178,
            hold_ratio: Some(1.17),
        },
        film: FilmSummary {
            loaded_m: 900.0,
            metered_m: 31.54,
            exposed_m: 30.7,
            wasted_m: 0.84,
            remaining_m: 868.46,
            starts: 9,
        },
        power: PowerSummary { mean_w: 70.6, peak_w: 130.0, used_wh: 1_695.0, loaded_wh: 14_400.0 },
        frames: frame_summary,
        balances: BalanceSummary {
            truth: vec![
                Balance::new("body momentum", "N m s", 93.2, 2.1e-7, Some(1e-6)),
                Balance::new("gas", "kg", 0.227, 4.4e-12, Some(1e-6)),
                Balance::new("film", "m", 31.54, 6.0e-12, Some(1e-6)),
            ],
            on_board: vec![
                Balance::new("momentum from rates and on-times", "N m s", 93.0, 1.9, None),
                Balance::new("gas from gauges and on-times", "kg", 0.225, 0.006, Some(0.05)),
                Balance::new("film from roller and reels", "m", 31.54, 0.09, Some(0.02)),
            ],
        },
        way_home: None,
        contacts: ContactSummary {
            count: 5,
            total_s: 1_450.0,
            longest_gap_s: 20_710.0,
            first_heard_s: Some(1_130.0),
            last_heard_s: Some(81_300.0),
            place: PlaceSummary {
                ahead_m: 8_400.0,
                since_start_m: 23_700.0,
                since_tracked_worst_m: 1_500.0,
                worst_s: 81_000.0,
                worst_sigmas: 0.35,
            },
            by_station: [("Skerry".to_string(), 3), ("Lowmoor".to_string(), 2)].into(),
        },
        events: [("mode".to_string(), 3), ("camera".to_string(), 18)].into(),
        speed: SpeedSummary { wall_s: 9.4, times_real_time: 9_190.0, attitude_steps: 4_320_000, rows: 90_000 },
    }
}

/// Everything the page needs.
pub fn report_data(length_s: f64) -> ReportData {
    let frames = frames();
    ReportData {
        home: None,
        summary: summary(&frames, length_s),
        digest: digest(length_s, 1.0),
        frames,
        sheet: sheet(),
        format: format(),
        context: context(),
    }
}

fn sheet() -> Vec<SheetTile> {
    let picture = Picture { width: 64, height: 200, grey: (0..12_800_u32).map(|at| (at * 31 % 251) as u8).collect() };
    let tile = |number: u32, mark, read_m| SheetTile {
        number,
        mark,
        area: "Sandhook".into(),
        grd_m: [2.2, 2.3],
        read_m: [Some(2.23), read_m],
        steps_off: [0, -1],
        png: picture.small_png().expect("a picture"),
        size: [picture.width, picture.height],
    };
    vec![tile(1, Some("best"), Some(2.5)), tile(9, None, Some(2.5)), tile(12, Some("worst"), None)]
}

fn format() -> Vec<FormatCell> {
    let places = [-0.057, 0.0, 0.057];
    let cell = |along_m: f64, across_m: f64| FormatCell {
        along_m,
        across_m,
        mean_m: [3e-6 * across_m, -4e-6 * along_m],
        rms_m: [1e-6, 0.5e-6 + 1e-5 * across_m.abs()],
        grd_m: [2.2, 2.3],
    };
    places.iter().flat_map(|&along_m| places.map(|across_m| cell(along_m, across_m))).collect()
}

fn context() -> Context {
    let stations = vec![
        Station { name: "Skerry".into(), latitude_deg: 58.2, longitude_deg: -6.5, visible_radius_deg: 10.6 },
        Station { name: "Lowmoor".into(), latitude_deg: -41.0, longitude_deg: 146.0, visible_radius_deg: 10.6 },
    ];
    let areas = PASSES.iter().zip(AREAS).map(|((start, length), (name, half))| {
        let middle = row(start + length / 2.0);
        let (lat, lon) = (middle.latitude_deg, middle.longitude_deg);
        let corner = |a: f64, b: f64| [lon + a * half * 1.4, lat + b * half];
        Area {
            name: name.into(),
            outline_deg: vec![corner(-1.0, -1.0), corner(1.0, -0.8), corner(0.9, 1.0), corner(-1.1, 0.9)],
        }
    });
    let limits = PhaseLimits {
        deadband_deg: [0.3, 0.3, 0.3],
        rate_limit_deg_s: [0.02, 0.02, 0.02],
        rate_time_s: [5.0, 5.0, 5.0],
    };
    let line = |key: &str, value: &str, unit: &str, meaning: &str, is_default| SettingsLine {
        key: key.into(),
        value: value.into(),
        unit: unit.into(),
        meaning: meaning.into(),
        is_default,
    };
    let axis = ["roll +", "roll −", "pitch +", "pitch −", "yaw +", "yaw +", "yaw −", "yaw −"];
    Context {
        codes: info().codes,
        hold_modes: vec![4],
        phase_limits: Some(limits),
        jets: axis
            .iter()
            .enumerate()
            .map(|(k, turns)| JetLabel { name: format!("J{}", k + 1), turns: (*turns).into() })
            .collect(),
        stations,
        areas: areas.collect(),
        film_rate_tolerance: Some(0.01),
        settings: vec![
            SettingsGroup {
                title: "attitude".into(),
                lines: vec![
                    line("fine_deadband_rad", "0.005236", "rad", "Half-width of the error band without firing.", true),
                    line("minimum_pulse_us", "20000", "µs", "Shortest time a valve is opened.", true),
                    line("lock_out_s", "0.15", "s", "Time after a pulse in which the axis stays quiet.", false),
                ],
            },
            SettingsGroup {
                title: "film".into(),
                lines: vec![line("speed_step_mm_s", "0.15", "mm/s", "Step of the film speed.", true)],
            },
        ],
        sources: vec![
            Source { subject: "Earth's figure and rotation".into(), text: "WGS 84, NGA.STND.0036".into() },
            Source {
                subject: "Air density".into(),
                text: "US Standard Atmosphere 1976, NOAA-S/T 76-1562, times the scenario's factor".into(),
            },
        ],
    }
}
