//! The study as one self-contained page, and its tables as files.

use std::path::Path;

use maud::{Markup, html};
use serde_json::{Value, json};

use super::document::{Descent, EventSummary, Quantile, Share};
use super::fall::Moment;
use super::footprint::Landing;
use super::ground::below;
use super::repredict::Form;
use super::study::Study;
use super::summary::{degrees, in_zone};
use super::{map, plots};
use crate::world::ellipsoid::Geodetic;
use crate::{
    record::{RecordError, files, write_new, writer::TableWriter},
    record_table,
    report::{
        page::{Section, shell},
        renumbered,
        tables::criteria,
        text::{fixed, significant},
    },
};

record_table! {
    /// One moment of the descent shown.
    TrajectoryRow {
        time_s: f64 ["time_s"] Time, "s", "-", "Time since the start of the run.";
        latitude_deg: f64 ["latitude_deg"] Truth, "deg", "WGS-84", "Geodetic latitude of the point below.";
        longitude_deg: f64 ["longitude_deg"] Truth, "deg", "WGS-84", "Longitude of the point below, east positive.";
        height_m: f64 ["height_m"] Truth, "m", "WGS-84", "Height above the ellipsoid.";
        position_m: [f64; 3] ["position_x_m" "position_y_m" "position_z_m"] Truth, "m", "inertial", "Position.";
        velocity_m_s: [f64; 3] ["velocity_x_m_s" "velocity_y_m_s" "velocity_z_m_s"] Truth, "m/s", "inertial", "Velocity.";
        speed_m_s: f64 ["speed_m_s"] Truth, "m/s", "air", "Speed against the air.";
        mach: f64 ["mach"] Truth, "1", "air", "Mach number.";
        pressure_pa: f64 ["dynamic_pressure_pa"] Truth, "Pa", "air", "Dynamic pressure.";
        deceleration_g: f64 ["deceleration_g"] Truth, "9.80665 m/s2", "air", "Deceleration by the air.";
        flux_w_m2: f64 ["heat_flux_w_m2"] Truth, "W/m2", "-", "Heat flux at the stagnation point (Sutton and Graves).";
        heat_j_m2: f64 ["heat_j_m2"] Truth, "J/m2", "-", "Heat taken up there since ignition.";
    }
}

record_table! {
    /// One of the many descents.
    LandingRow {
        run: u32 ["run"] Time, "1", "-", "Number of the run; with the seed it gives the draw.";
        down: bool ["down"] Truth, "1", "-", "It came down.";
        in_zone: bool ["in_zone"] Truth, "1", "-", "In the recovery zone.";
        under_canopy: bool ["under_canopies"] Truth, "1", "-", "Under drogue and main canopy.";
        time_s: f64 ["time_s"] Truth, "s", "-", "Touchdown since the start of the run.";
        latitude_deg: f64 ["latitude_deg"] Truth, "deg", "WGS-84", "Geodetic latitude.";
        longitude_deg: f64 ["longitude_deg"] Truth, "deg", "WGS-84", "Longitude, east positive.";
        offset_m: [f64; 2] ["along_m" "across_m"] Truth, "m", "track", "Along the track from the nominal landing place, and across to the right.";
        most_g: f64 ["most_g"] Truth, "9.80665 m/s2", "air", "Most deceleration.";
        heat_j_m2: f64 ["heat_j_m2"] Truth, "J/m2", "-", "Heat taken up at the stagnation point.";
        drogue: [f64; 3] ["drogue_height_m" "drogue_mach" "drogue_pressure_pa"] Truth, "m, 1, Pa", "air", "Height, Mach number and dynamic pressure where the drogue was fired; NaN if it was not.";
        speed_m_s: f64 ["touchdown_speed_m_s"] Truth, "m/s", "air", "Speed at touchdown.";
    }
}

/// Names of the files of a study.
pub mod names {
    /// The study for programs.
    pub const DESCENT: &str = "descent.json";
    /// The descent shown, step by step (`.parquet`).
    pub const TRAJECTORY: &str = "trajectory";
    /// Every one of the many descents (`.parquet`).
    pub const LANDINGS: &str = "landings";
    /// Zone, footprint and region for charts.
    pub const REGION: &str = "region.geojson";
}

/// Writes a study into an empty folder: JSON, tables, outlines and page.
///
/// # Errors
/// If a file is there already or cannot be written.
pub fn write_folder(folder: &Path, made: &Study) -> Result<(), RecordError> {
    write_new(&folder.join(names::DESCENT), made.summary.to_json().as_bytes())?;
    let mut table = TableWriter::<TrajectoryRow>::create(folder, names::TRAJECTORY, &[])?;
    made.descents.shown().rows.iter().try_for_each(|moment| table.push(trajectory_row(made, moment)))?;
    table.finish()?;
    let mut table = TableWriter::<LandingRow>::create(folder, names::LANDINGS, &[])?;
    made.descents.landings.iter().try_for_each(|landing| table.push(landing_row(made, landing)))?;
    table.finish()?;
    write_new(&folder.join(names::REGION), format!("{:#}\n", outlines(made)).as_bytes())?;
    write_new(&folder.join(files::REPORT), renumbered(&page(made).into_string()).as_bytes())
}

fn trajectory_row(made: &Study, m: &Moment) -> TrajectoryRow {
    let place = below(&m.at.position_m(), m.at.t_s, &made.model.earth);
    TrajectoryRow {
        time_s: m.at.t_s,
        latitude_deg: place.latitude_rad.to_degrees(),
        longitude_deg: place.longitude_rad.to_degrees(),
        height_m: m.height_m,
        position_m: m.at.position_m().into(),
        velocity_m_s: m.at.velocity_m_s().into(),
        speed_m_s: m.speed_m_s,
        mach: m.mach,
        pressure_pa: m.pressure_pa,
        deceleration_g: m.g,
        flux_w_m2: m.flux_w_m2,
        heat_j_m2: m.at.heat_j_m2(),
    }
}

fn landing_row(made: &Study, l: &Landing) -> LandingRow {
    LandingRow {
        run: l.run,
        down: l.down,
        in_zone: l.down && in_zone(made, &l.place),
        under_canopy: l.under_canopy,
        time_s: l.time_s,
        latitude_deg: l.place.latitude_rad.to_degrees(),
        longitude_deg: l.place.longitude_rad.to_degrees(),
        offset_m: l.offset_m,
        most_g: l.most_g,
        heat_j_m2: l.heat_j_m2,
        drogue: l.drogue,
        speed_m_s: l.speed_m_s,
    }
}

/// Longitudes and latitudes of a line, each longitude within half a turn of the one before: past ±180° they go on.
fn line(places: &[Geodetic], closed: bool) -> Vec<Value> {
    let mut last: Option<f64> = None;
    let around = places.iter().chain(places.first().filter(|_| closed));
    let each = around.map(|place| {
        let longitude = place.longitude_rad.to_degrees();
        let longitude = last.map_or(longitude, |last| last + (longitude - last + 180.0).rem_euclid(360.0) - 180.0);
        last = Some(longitude);
        json!([longitude, place.latitude_rad.to_degrees()])
    });
    each.collect()
}

/// Footprint, landing place and region as GeoJSON.
fn outlines(made: &Study) -> Value {
    let d = &made.descents;
    let feature = |geometry: Value, properties: Value| json!({ "type": "Feature", "geometry": geometry, "properties": properties });
    let polygon = |places: &[Geodetic]| json!({ "type": "Polygon", "coordinates": [line(places, true)] });
    let mut features = Vec::new();
    if let Some(ellipse) = &d.ellipse {
        let places: Vec<Geodetic> = ellipse.outline(72).into_iter().map(|offset| d.along.place(offset)).collect();
        let what = json!({ "what": "footprint", "confidence": made.model.plan.confidence });
        features.push(feature(polygon(&places), what));
    }
    for part in made.region.iter().flat_map(|region| &region.parts) {
        let what = json!({ "what": "region", "chance": part.chance, "why": part.why });
        match &part.form {
            Form::Ellipse(outline) => features.push(feature(polygon(outline), what)),
            Form::Strip(places, half_m) => {
                let mut what = what;
                what["half_width_m"] = json!(half_m);
                // A line of one place would be no line (RFC 7946, section 3.1.4).
                let geometry = match line(places, false).as_slice() {
                    [alone] => json!({ "type": "Point", "coordinates": alone }),
                    several => json!({ "type": "LineString", "coordinates": several }),
                };
                features.push(feature(geometry, what));
            }
            Form::UnderOrbit(latitude) => {
                let l = latitude.to_degrees();
                let ring = json!([[[-180.0, -l], [180.0, -l], [180.0, l], [-180.0, l], [-180.0, -l]]]);
                features.push(feature(json!({ "type": "Polygon", "coordinates": ring }), what));
            }
        }
    }
    json!({ "type": "FeatureCollection", "features": features })
}

/// Charts and sequence, for a report of something larger.
pub fn fragment(made: &Study) -> Markup {
    html! {
        figure { (map::close(made))
            figcaption { "The landing place: zone (shaded), every descent of the prediction (dots), its ellipse, the ground track, and where the capsule came down (large dot)." } }
        figure { (map::world(made))
            figcaption { "The way from ignition (ring) to touchdown (dot), over the turning Earth. Plate carrée." } }
        (sequence(&made.summary))
        figure { (plots::trajectory(made)) }
    }
}

fn page(made: &Study) -> Markup {
    let s = &made.summary;
    let title = format!("{} · descent", s.scenario);
    let heading = format!("{}: the return", s.scenario);
    let identity = html! {
        p { "Separation " (s.retro.separation_utc) ", ignition " (s.retro.utc) ", for " (s.zone.name) ". Seed " (s.seed) "." }
        @for fault in &s.faults { p { b { "Suffered on purpose: " (fault) "." } } }
    };
    let lead = html! { (verdict(s)) (key_numbers(s)) };
    shell((&title, "Descent · prediction", &heading), &identity, &lead, &sections(made))
}

fn sections(made: &Study) -> Vec<Section> {
    let s = &made.summary;
    let mut sections = vec![
        Section { id: "chart", title: "Where", body: places(made) },
        Section { id: "sequence", title: "What happens when", body: sequence(s) },
        Section { id: "entry", title: "Entry", body: plots::trajectory(made) },
        Section { id: "footprint", title: "Footprint", body: html! { (plots::scatter(made)) (footprint(s)) } },
        Section {
            id: "contributors",
            title: "What makes it",
            body: html! { (plots::contributors(made)) (sensitivity(s)) },
        },
        Section { id: "angle", title: "The retro angle", body: html! { (plots::angle(made)) (angle(s)) } },
    ];
    if s.region.is_some() {
        sections.insert(1, Section { id: "news", title: "After the late news", body: news(s) });
    }
    sections.push(Section { id: "casualty", title: "Casualties, as guidance", body: casualty(s) });
    sections.push(Section { id: "models", title: "Models and sources", body: models() });
    sections.push(Section { id: "cautions", title: "Cautions", body: cautions() });
    sections
}

fn verdict(s: &Descent) -> Markup {
    let met = s.all_met();
    html! {
        div class=(if met { "verdict met" } else { "verdict missed" }) {
            strong { @if met { "✓ Everything asked of this return is met." } @else { "✗ Not everything asked of this return is met." } }
        }
        (criteria(&s.criteria, &html! {}))
    }
}

fn key_numbers(s: &Descent) -> Markup {
    let item = |name: &str, value: String| html! { div { dt { (name) } dd { (value) } } };
    let place = s.touchdown.latitude_deg.zip(s.touchdown.longitude_deg);
    html! {
        dl class="key" {
            (item("ignition", s.retro.utc.get(11..19).unwrap_or("").to_owned() + " UTC"))
            (item("retro", format!("{} m/s at {}°", fixed(s.retro.ideal_speed_m_s, 0), fixed(s.retro.angle_deg, 0))))
            (item("entry angle", s.sequence.iter().find(|e| e.what.starts_with("entry")).map_or("—".into(), |e| format!("{}°", fixed(e.inertial_angle_deg, 2)))))
            (item("most", format!("{} g", fixed(s.entry.most_g, 1))))
            (item("heat", format!("{} MJ/m²", fixed(s.entry.heat_j_m2 * 1e-6, 0))))
            (item("lands", place.map_or("stays up".into(), |(lat, lon)| degrees(lat.to_radians(), lon.to_radians()))))
            (item("at", format!("{} m/s", s.touchdown.speed_m_s.map_or("—".into(), |v| fixed(v, 1)))))
            (item("ellipse", if s.footprint.half_axes_km[0] > 0.0 { format!("±{} × ±{} km", fixed(s.footprint.half_axes_km[0], 0), fixed(s.footprint.half_axes_km[1], 0)) } else { "none".into() }))
            (item("in the zone", share(&s.footprint.in_zone)))
            (item("made mostly by", s.sensitivity.first().map_or("—".into(), |c| c.what.clone())))
        }
    }
}

fn share(share: &Share) -> String {
    format!("{} of {}", share.hits, share.runs)
}

fn bounded(share: &Share) -> String {
    format!("{} of {}: {} to {} %", share.hits, share.runs, fixed(100.0 * share.low, 2), fixed(100.0 * share.high, 2))
}

fn places(made: &Study) -> Markup {
    let s = &made.summary;
    html! {
        figure { (map::close(made))
            figcaption { "The landing place: zone (shaded), every descent (dots), the footprint's ellipse, the ground track, the descent shown (large dot)"
                @if s.region.is_some() { ", the ellipse after the late news (broken)" } ". The cross is the zone's centre." } }
        figure { (map::world(made))
            figcaption { "The way from ignition (ring) to touchdown (dot), over the turning Earth. Plate carrée." } }
        h3 { "Passes that reach the zone's neighbourhood" }
        table class="numbers" {
            thead { tr { th scope="col" { "" } th scope="col" class="word" { "ignition, UTC" } th scope="col" class="word" { "touchdown, UTC" } th scope="col" { "track" }
                th scope="col" { "centre to the right, km" } th scope="col" { "ahead, km" } th scope="col" class="word" { "" } } }
            tbody { @for (k, p) in s.passes.iter().enumerate() { tr { td { (k + 1) } td class="word" { (p.retro_utc) } td class="word" { (p.touchdown_utc) }
                td { (fixed(p.track_deg, 1)) "°" } td { (fixed(p.across_km, 1)) } td { (fixed(p.along_km, 3)) } td class="word" { @if p.used { b { "used" } } } } } }
        }
        p { "Along the track the instant of ignition is found so that the centre is met, to the tick of 10 ms on board. Across it, only the choice of the pass helps." }
    }
}

fn sequence(s: &Descent) -> Markup {
    let row = |e: &EventSummary| {
        html! {
            tr { td class="word" { (e.what) } td { (fixed(e.after_ignition_s, 1)) } td { (fixed(e.height_km, 2)) } td { (fixed(e.inertial_m_s, 1)) } td { (fixed(e.inertial_angle_deg, 2)) }
                td { (fixed(e.speed_m_s, 1)) } td { (fixed(e.mach, 2)) } td { (significant(e.pressure_kpa, 3)) } td { (significant(e.g, 3)) } td { (fixed(e.latitude_deg, 2)) } td { (fixed(e.longitude_deg, 2)) } }
        }
    };
    let t = &s.timers;
    html! {
        table class="numbers dense" {
            thead { tr { th scope="col" class="word" { "" } th scope="col" { "from ignition, s" } th scope="col" { "height, km" } th scope="col" { "inertial, m/s" } th scope="col" { "angle, °" }
                th scope="col" { "in the air, m/s" } th scope="col" { "Mach" } th scope="col" { "kPa" } th scope="col" { "g" } th scope="col" { "lat., °" } th scope="col" { "lon., °" } } }
            tbody { @for e in &s.sequence { (row(e)) } }
        }
        p { "Drogue " (s.touchdown.drogue) ", main canopy " (s.touchdown.main) ". Drogue timer " (fixed(t.drogue_after_g_s, 1)) " s from the g-switch, backup "
            (fixed(t.drogue_backup_s, 1)) " s from separation; main " (fixed(t.main_after_drogue_s, 1)) " s from the drogue, backup " (fixed(t.main_backup_s, 1)) " s from separation." }
        p { "Spin " (fixed(s.retro.spin_rpm, 1)) " rev/min"
            @if let Some(bend) = s.retro.bend_deg_per_mm { "; a line of thrust one millimetre off the mass centre bends the mean thrust by " (fixed(bend, 2)) "°" }
            ". " (fixed(s.retro.propellant_kg, 2)) " kg of propellant, " (fixed(s.capsule.entry_kg, 1)) " kg enter at "
            (fixed(s.capsule.ballistic_coefficient_kg_m2, 1)) " kg/m²." }
    }
}

fn footprint(s: &Descent) -> Markup {
    let f = &s.footprint;
    let bound = |km: Option<f64>| fixed(km.unwrap_or(f64::NAN), 2);
    let rows = |name: &'static str, quantiles: &[Quantile]| {
        html! {
            @for q in quantiles { tr { td class="word" { (name) } td { (fixed(100.0 * q.share, 0)) } td { (fixed(q.value_km, 2)) } td { (bound(q.low_km)) " to " (bound(q.high_km)) } } }
        }
    };
    html! {
        table class="numbers keep" {
            thead { tr { th scope="col" class="word" { "" } th scope="col" { "95 % bounds" } } }
            tbody {
                tr { td class="word" { "come down in the zone" } td { (bounded(&f.in_zone)) } }
                tr { td class="word" { "under both canopies" } td { (bounded(&f.under_canopies)) } }
                tr { td class="word" { "inside the ellipse" } td { (bounded(&f.in_ellipse)) } }
            }
        }
        @if f.half_axes_km[0] == 0.0 { p { b { "No ellipse: " } "landing places are spread along the track, or too few came down." } }
        @else { p { "Ellipse for " (fixed(100.0 * f.confidence, 2)) " %: ±" (fixed(f.half_axes_km[0], 1)) " by ±" (fixed(f.half_axes_km[1], 1)) " km, long axis towards "
            (fixed(f.azimuth_deg, 1)) "°, that is " (fixed(f.sigmas, 2)) " σ of " (fixed(f.sigma_km[0], 2)) " and " (fixed(f.sigma_km[1], 2))
            " km. Straight lines through the sensitivity matrix give " (fixed(f.straight_sigma_km[0], 2)) " and " (fixed(f.straight_sigma_km[1], 2)) " km along and across." } }
        table class="numbers keep" {
            thead { tr { th scope="col" class="word" { "" } th scope="col" { "share below, %" } th scope="col" { "at, km" } th scope="col" { "95 % bounds, km" } } }
            tbody { (rows("along", &f.along)) (rows("across", &f.across)) }
        }
        p { "No law is assumed for the quantiles' bounds: they are order statistics, and — where too few descents were flown to give one. The farthest of all lie " (fixed(f.farthest_km[0], 1)) " and +" (fixed(f.farthest_km[1], 1))
            " km along; with 95 % confidence " (fixed(100.0 * f.below_farthest, 2)) " % of all descents stay short of the farthest one. Worst of all: " (fixed(f.worst_g, 1)) " g, "
            (fixed(f.worst_heat_j_m2 * 1e-6, 0)) " MJ/m²; drogue fired between " (fixed(f.drogue_height_km[0], 1)) " and " (fixed(f.drogue_height_km[1], 1)) " km, up to Mach "
            (fixed(f.drogue_mach, 2)) "." }
    }
}

fn sensitivity(s: &Descent) -> Markup {
    html! {
        table class="numbers" {
            thead { tr { th scope="col" class="word" { "" } th scope="col" { "one σ" } th scope="col" class="word" { "" } th scope="col" class="word" { "law" } th scope="col" { "along, km" } th scope="col" { "across, km" }
                th scope="col" { "curved, km" } th scope="col" { "g" } th scope="col" { "later, s" } th scope="col" { "share, %" } } }
            tbody { @for c in &s.sensitivity { tr { td class="word" { (c.what) } td { (significant(c.sigma, 3)) } td class="word" { (c.unit) } td class="word" { (c.law) } td { (fixed(c.along_km, 2)) }
                td { (fixed(c.across_km, 2)) } td { (fixed(c.curved_km, 2)) } td { (fixed(c.g, 3)) } td { (fixed(c.time_s, 1)) } td { (fixed(c.share_percent, 1)) } } } }
        }
        p { "Central differences of one sigma. “Curved” is what straight lines miss: half the second difference." }
    }
}

fn angle(s: &Descent) -> Markup {
    let a = &s.angle;
    html! {
        p { "At " (fixed(a.used_deg, 1)) "° a degree of pitch changes the range by " (fixed(a.here_km_deg, 1)) " km"
            @if let Some(back) = a.straight_back_km_deg { "; straight back it would be " (fixed(back, 1)) " km" }
            @match a.least_sensitive_deg { Some(best) => { ". Pitch matters least at " (fixed(best, 1)) "°." } None => { ". No angle between 95° and 180° makes it vanish." } } }
    }
}

fn news(s: &Descent) -> Markup {
    html! {
        @if let Some(region) = &s.region {
            p { "News: " (region.news) "." }
            table class="numbers" {
                thead { tr { th scope="col" { "chance, %" } th scope="col" class="word" { "if" } th scope="col" class="word" { "then it came down" } } }
                tbody { @for p in &region.parts { tr { td { (fixed(p.chance_percent, 1)) } td class="word" { (p.why) } td class="word" { (p.place) } } } }
            }
            p { "A region, not a point. The chances are the scenario's beliefs changed by the news after Bayes; outlines are in " code { "region.geojson" } "." }
        }
    }
}

fn casualty(s: &Descent) -> Markup {
    let c = &s.casualty;
    html! {
        table class="numbers keep" {
            tbody {
                tr { td class="word" { "casualty area of all pieces, Σ (0.6 + √A)²" } td { (fixed(c.area_m2, 2)) " m²" } }
                tr { td class="word" { "expected in the zone" } td { (significant(c.in_zone, 2)) } }
                tr { td class="word" { "around it" } td { (significant(c.around, 2)) } }
                tr { td class="word" { "from descents that go wrong, anywhere under the orbit" } td { (significant(c.failed, 2)) } }
                tr { td class="word" { b { "together" } } td { b { (significant(c.expected, 2)) } } }
                tr { td class="word" { "with the share outside the zone at its upper 95 % bound" } td { (significant(c.upper, 2)) } }
                tr { td class="word" { "published limit, for guidance" } td { (significant(c.guidance, 1)) } }
            }
        }
        p { "With the population densities and the chance of failure stated in the scenario. NASA-STD-8719.14, " i { "Process for Limiting Orbital Debris" }
            ", asks for less than 1 in 10,000 (number and area formula from memory). An estimate is not a licence: the authorities of the launching state decide." }
    }
}

fn models() -> Markup {
    html! {
        table class="plain" { tbody {
            tr { th { "gravity" } td { "Point mass with J2, J3, J4 (EGM96) over the WGS-84 ellipsoid; touchdown at height 0 of the ellipsoid, which may lie a hundred metres from the sea." } }
            tr { th { "air" } td { "US Standard Atmosphere 1976 (NOAA-S/T 76-1562), turning with the Earth, with the winds of the scenario. No season, no latitude." } }
            tr { th { "burn" } td { "Integrated with the thrust curve and falling mass; thrust along the axis that spin holds, bent by M/(I ω²) for an offset of thrust; slow spin by Euler's equations." } }
            tr { th { "entry" } td { "Point mass, drag area against Mach number, no lift, no heating of the shape; free-molecular drag above 100 km is taken as the high-Mach value." } }
            tr { th { "heat" } td { "Sutton and Graves, NASA TR R-376 (1971), k = 1.7415 × 10⁻⁴." } }
            tr { th { "canopies" } td { "Area grows evenly while they fill; torn if fired beyond Mach number or pressure; no swing, no reefing." } }
            tr { th { "integration" } td { "Dormand–Prince 5(4), own step, events to 0.1 µs." } }
        } }
    }
}

fn cautions() -> Markup {
    html! {
        div class="cautions" { ul {
            li { "Re-entry kills when it goes wrong. Nothing here is a release to fire, fly or recover anything." }
            li { "The dispersions are what the scenario states. A footprint of invented sigmas is an invented footprint." }
            li { "Cleared zones, notices to air and sea and casualty limits are set by range safety and the authorities of the launching state." }
            li { "A capsule that has landed carries unfired ordnance and hot parts until its safe plug is in." }
        } }
    }
}
