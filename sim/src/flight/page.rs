//! What the report needs to know besides the record: names, places, limits, settings, sources.

use super::{
    build::Built,
    settings::{SettingsFile, jet_duties},
};
use crate::{
    record::CodeNames,
    report::{Area, Context, JetLabel, PhaseLimits, SettingsGroup, SettingsLine, Source, Station},
    scenario::{
        Loaded, Scenario,
        parts::ground,
        settings::{GroupVisitor, SettingsList},
    },
    world::ellipsoid::A_M,
};
use stillframe_controller::{attitude::mode::Mode, health::flags::Flag, settings::Settings, settings_table::Group};

/// Names of modes, flags and stations.
pub fn code_names(scenario: &Scenario) -> CodeNames {
    let modes = [
        (Mode::Drift, "drift"),
        (Mode::Damp, "damp"),
        (Mode::Search, "search"),
        (Mode::Level, "level"),
        (Mode::Coarse, "coarse hold"),
        (Mode::Fine, "fine hold"),
        (Mode::Turned, "turned"),
    ];
    CodeNames {
        modes: modes.iter().map(|(mode, name)| (mode.code(), (*name).into())).collect(),
        health_bits: Flag::ALL.iter().map(|flag| (flag.bit().trailing_zeros() as u8, flag.text().into())).collect(),
        stations: scenario.stations.iter().map(|station| station.name.clone()).collect(),
    }
}

/// Everything that stood fixed before the run.
pub fn context(loaded: &Loaded, built: &Built, codes: CodeNames) -> Context {
    let scenario = &loaded.scenario;
    let s = &built.settings;
    Context {
        codes,
        hold_modes: vec![Mode::Fine.code()],
        phase_limits: Some(PhaseLimits {
            deadband_deg: [s.roll.deadband_deg, s.pitch.deadband_deg, s.yaw.deadband_deg].map(f64::from),
            rate_limit_deg_s: [s.roll.rate_limit_deg_s, s.pitch.rate_limit_deg_s, s.yaw.rate_limit_deg_s]
                .map(f64::from),
            rate_time_s: [s.roll.lead_s, s.pitch.lead_s, s.yaw.lead_s].map(f64::from),
        }),
        jets: jet_labels(s, scenario),
        stations: scenario.stations.iter().map(|station| station_mark(station, start_height_m(built))).collect(),
        areas: scenario.areas.iter().map(area_mark).collect(),
        film_rate_tolerance: Some(0.01),
        settings: settings_groups(s),
        sources: sources(),
    }
}

fn jet_labels(settings: &Settings, scenario: &Scenario) -> Vec<JetLabel> {
    let names = scenario.jets.iter().map(|jet| jet.name.clone());
    let turns = jet_duties(settings).into_iter().map(|duty| match duty {
        Some((axis, positive)) => format!("{} {}", ["roll", "pitch", "yaw"][axis], if positive { '+' } else { '−' }),
        None => "unused".into(),
    });
    names.zip(turns).map(|(name, turns)| JetLabel { name, turns }).collect()
}

/// Circle on the map inside which a station sees the vehicle at its starting height above the mask.
pub(crate) fn station_mark(station: &ground::Station, height_m: f64) -> Station {
    let mask = station.mask_rad;
    let central_rad = ((A_M / (A_M + height_m)) * mask.cos()).acos() - mask;
    Station {
        name: station.name.clone(),
        latitude_deg: station.latitude_rad.to_degrees(),
        longitude_deg: station.longitude_rad.to_degrees(),
        visible_radius_deg: central_rad.to_degrees(),
    }
}

fn start_height_m(built: &Built) -> f64 {
    crate::world::ellipsoid::height_m(&built.start_state.position_m)
}

/// Outline of an area; a circle becomes 48 corners.
pub(crate) fn area_mark(area: &ground::Area) -> Area {
    let polygon = area.polygon_rad.iter().flatten().map(|[lat, lon]| [lon.to_degrees(), lat.to_degrees()]);
    let mut outline_deg: Vec<[f64; 2]> = polygon.collect();
    if let (Some([lat, lon]), Some(radius_m)) = (area.centre_rad, area.radius_m) {
        let radius = radius_m / A_M;
        outline_deg.extend((0..48).map(|corner| {
            let (sin, cos) = (std::f64::consts::TAU * f64::from(corner) / 48.0).sin_cos();
            [(lon + radius * sin / lat.cos()).to_degrees(), (lat + radius * cos).to_degrees()]
        }));
    }
    Area { name: area.name.clone(), outline_deg }
}

fn settings_groups(settings: &Settings) -> Vec<SettingsGroup> {
    struct List(Vec<SettingsGroup>);
    impl List {
        fn add<G: Group>(&mut self, title: String, group: &G) {
            let lines = G::FIELDS.iter().enumerate().map(|(index, field)| {
                let value = group.get(index).unwrap_or(f64::NAN);
                SettingsLine {
                    key: field.key.into(),
                    value: format!("{}", value as f32),
                    unit: field.unit.into(),
                    meaning: field.meaning.into(),
                    is_default: value as f32 == field.default as f32,
                }
            });
            self.0.push(SettingsGroup { title, lines: lines.collect() });
        }
    }
    impl GroupVisitor for List {
        fn group<G: Group>(&mut self, group: &mut G) {
            self.add(G::NAME.into(), group);
        }
        fn array<G, A>(&mut self, items: &mut A, _: usize)
        where
            G: Group,
            A: AsRef<[G]> + Default + Extend<G>,
        {
            for (item, number) in items.as_ref().iter().zip(1..) {
                self.add(format!("{} {number}", G::NAME), item);
            }
        }
    }
    let mut list = List(Vec::new());
    SettingsFile(settings.clone()).visit(&mut list);
    list.0
}

fn sources() -> Vec<Source> {
    let rows = [
        ("Earth's figure, rotation", "NGA.STND.0036, World Geodetic System 1984; IAU 1982 sidereal time"),
        ("Gravity", "EGM96 zonal terms J2 to J4"),
        ("Air", "US Standard Atmosphere 1976, times the scenario's density factor"),
        ("Sun", "J. Meeus, Astronomical Algorithms, ch. 25"),
        ("Element sets", "Vallado et al., AIAA 2006-6753 (SGP4)"),
        ("Nitrogen", "fit to CoolProp 8.0.0; Span et al., J. Phys. Chem. Ref. Data 29, 1361 (2000)"),
        ("Resolution", "reciprocal-square rule of lens, film and smear; common practice"),
        ("Light", "Kasten and Young 1989 air mass; illuminance 128 klx·exp(−0.21 m) and IES clear sky"),
        ("Messages", "CCSDS 502.0-B-3 (OEM), CCSDS 504.0-B-2 (AEM)"),
    ];
    rows.iter().map(|(subject, text)| Source { subject: (*subject).into(), text: (*text).into() }).collect()
}
