//! A sizing as JSON, with a published schema. Units are the endings of the names; what is not finite is left out.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::blur::Axes;
use super::budget::{Budget, Line, SunLine};
use super::choice::{Price, Requirement};
use super::model::Candidate;
use super::study::Study;
use super::terms::{Term, Terms};
use super::wants::Wants;

/// Number of this format; rises when a field changes its meaning or goes.
pub const SIZING_FORMAT: u32 = 1;

/// What a sizing came to.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct SizingSummary {
    /// Number of this format: 1.
    pub format: u32,
    /// Version of the program.
    pub program_version: String,
    /// Name of the mission.
    pub name: String,
    /// Rule that judged: reciprocal-squares or modulation.
    pub judged_by: String,
    /// Terms switched off.
    pub without: Vec<String>,
    /// Cameras evaluated.
    pub candidates: u64,
    /// Whether a camera meets every want.
    pub met: bool,
    /// The lightest camera that meets every want or, failing that, the one that comes nearest.
    pub camera: Option<CameraSummary>,
    /// Wants that camera misses, as keys of the wants file.
    pub missed: Vec<MissSummary>,
    /// Single wants that would let a camera through, if none was found.
    pub relaxations: Vec<MissSummary>,
    /// Term that limits the camera.
    pub limiting_term: Option<String>,
    /// Every term of the camera's budget.
    pub terms: Vec<TermSummary>,
    /// Exposure under every Sun.
    pub suns: Vec<SunSummary>,
    /// What ground resolved distances take, the wanted one first.
    pub prices: Vec<PriceSummary>,
    /// Best cameras in ground resolved distance against mass, lightest first.
    pub pareto: Vec<CameraSummary>,
}

/// A camera.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct CameraSummary {
    /// Focal length, mm.
    pub focal_length_mm: f64,
    /// Focal length over aperture.
    pub f_number: f64,
    /// Aperture, mm.
    pub aperture_mm: f64,
    /// Name of the film.
    pub film: String,
    /// Slit under the lowest Sun, mm (strip cameras).
    pub slit_mm: Option<f64>,
    /// Exposure time under the lowest Sun, ms.
    pub exposure_ms: f64,
    /// Largest error of exposure, stops.
    pub stops_off: f64,
    /// Height at which resolution is judged, the worst one, km.
    pub height_km: f64,
    /// Length on the ground of a length on film there.
    pub scale: f64,
    /// Width of ground in the picture at the lowest height, km.
    pub swath_km: f64,
    /// Half the field across the film, degrees.
    pub half_field_deg: f64,
    /// Error of focus, µm.
    pub focus_error_um: f64,
    /// Depth of focus to either side, µm.
    pub depth_of_focus_um: f64,
    /// Smear, µm.
    pub smear_um: AxesSummary,
    /// Resolution of the lens as focused, lp/mm.
    pub lens_lp_mm: Option<f64>,
    /// Resolution of the film, lp/mm.
    pub film_lp_mm: Option<f64>,
    /// Resolution by the reciprocal squares, lp/mm.
    pub squares_lp_mm: AxesSummary,
    /// Resolution by modulation and threshold, lp/mm.
    pub modulation_lp_mm: AxesSummary,
    /// Ground resolved distance by the reciprocal squares, m.
    pub squares_grd_m: AxesSummary,
    /// Ground resolved distance by modulation and threshold, m.
    pub modulation_grd_m: AxesSummary,
    /// Ground resolved distance of the worse axis by the rule that judges, m.
    pub grd_m: Option<f64>,
    /// Length, mm.
    pub length_mm: f64,
    /// Film to be loaded, m.
    pub film_m: f64,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Lens, kg.
    pub optics_kg: f64,
    /// Tube, kg.
    pub tube_kg: f64,
    /// Film transport without film, kg.
    pub transport_kg: f64,
    /// Film, kg.
    pub film_kg: f64,
    /// All else, kg.
    pub fixed_kg: f64,
}

/// A number along and across the track.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct AxesSummary {
    /// Along the track.
    pub along: Option<f64>,
    /// Across the track.
    pub across: Option<f64>,
}

/// A want that is missed.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct MissSummary {
    /// Its key.
    pub key: String,
    /// Its unit.
    pub unit: String,
    /// What is asked.
    pub asked: f64,
    /// What the camera has.
    pub has: f64,
}

/// A term of the budget.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct TermSummary {
    /// Its name, as `--without` takes it.
    pub term: String,
    /// Whether it counted.
    pub on: bool,
    /// Motion of the image or error of focus, µm.
    pub shift_um: Option<AxesSummary>,
    /// Share of contrast left at the camera's resolution.
    pub contrast: Option<AxesSummary>,
    /// Gain in ground resolved distance of the worse axis if it were away, m.
    pub worth_m: Option<f64>,
    /// Ground resolved distance without it by the reciprocal squares, m.
    pub squares_without_m: AxesSummary,
    /// Ground resolved distance without it by modulation and threshold, m.
    pub modulation_without_m: AxesSummary,
}

/// Exposure under one Sun.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct SunSummary {
    /// Elevation of the Sun, degrees.
    pub sun_elevation_deg: f64,
    /// Light on level ground, lx.
    pub ground_lx: f64,
    /// Light on film from the mean scene, lx.
    pub film_lx: f64,
    /// Slit, mm.
    pub slit_mm: Option<f64>,
    /// Exposure time, ms.
    pub exposure_ms: f64,
    /// Exposure of the mean scene, lx·s.
    pub exposure_lx_s: f64,
    /// Worst error over the heights, stops.
    pub stops_off: f64,
}

/// What a ground resolved distance takes.
#[derive(Clone, Debug, Deserialize, JsonSchema, PartialEq, Serialize)]
#[serde(deny_unknown_fields)]
pub struct PriceSummary {
    /// The distance, m.
    pub grd_m: f64,
    /// The lightest camera that reaches it.
    pub camera: Option<CameraSummary>,
    /// What that camera misses of the other wants.
    pub missed: Vec<MissSummary>,
}

impl SizingSummary {
    /// Of a study.
    pub fn of(wants: &Wants, study: &Study) -> Self {
        let camera = study.camera();
        let budget = study.budget.as_ref();
        let misses = |requirements: &[Requirement], camera: Option<&Candidate>| match camera {
            Some(camera) => requirements.iter().filter_map(|r| miss(wants, *r, camera)).collect(),
            None => Vec::new(),
        };
        let relaxed = study.relaxations.iter().filter_map(|r| miss(wants, r.requirement, study.at(r.camera)?));
        Self {
            format: SIZING_FORMAT,
            program_version: env!("CARGO_PKG_VERSION").to_owned(),
            name: wants.mission.name.clone(),
            judged_by: wants.mission.judged_by.word().to_owned(),
            without: switched_off(study.terms),
            candidates: study.candidates.len() as u64,
            met: study.chosen.is_some(),
            camera: camera.map(|camera| self::camera(wants, camera)),
            missed: misses(&study.missed, camera),
            relaxations: relaxed.collect(),
            limiting_term: budget.and_then(Budget::limiting).map(|line| line.term.word().to_owned()),
            terms: budget.map_or_else(Vec::new, |b| b.lines.iter().map(|line| term(b, line)).collect()),
            suns: budget.map_or_else(Vec::new, |b| b.suns.iter().map(sun).collect()),
            prices: study.prices.iter().map(|p| price(wants, study, p)).collect(),
            pareto: study.front.iter().filter_map(|i| Some(self::camera(wants, study.at(*i)?))).collect(),
        }
    }

    /// As JSON text.
    ///
    /// # Errors
    /// None that is known: every number is finite.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        serde_json::to_string_pretty(self)
    }
}

/// The schema of the JSON, as text.
pub fn sizing_schema() -> String {
    let schema = schemars::schema_for!(SizingSummary);
    format!("{:#}\n", serde_json::Value::from(schema))
}

/// Cameras as a CSV table, one a line, units in the names.
///
/// # Errors
/// None that is known: it is written to memory.
pub fn table(cameras: &[CameraSummary]) -> Result<String, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record([
        "focal_length_mm",
        "f_number",
        "film",
        "slit_mm",
        "exposure_ms",
        "grd_m",
        "squares_grd_along_m",
        "squares_grd_across_m",
        "modulation_grd_along_m",
        "modulation_grd_across_m",
        "swath_km",
        "length_mm",
        "aperture_mm",
        "film_m",
        "mass_kg",
    ])?;
    for c in cameras {
        let number = |value: Option<f64>| value.map_or_else(String::new, |value| format!("{value:.6}"));
        let all = [Some(c.exposure_ms), c.grd_m, c.squares_grd_m.along, c.squares_grd_m.across];
        let more = [c.modulation_grd_m.along, c.modulation_grd_m.across, Some(c.swath_km), Some(c.length_mm)];
        let last = [Some(c.aperture_mm), Some(c.film_m), Some(c.mass_kg)];
        let head = [format!("{:.3}", c.focal_length_mm), c.f_number.to_string(), c.film.clone(), number(c.slit_mm)];
        let numbers = all.into_iter().chain(more).chain(last).map(number);
        writer.write_record(head.into_iter().chain(numbers))?;
    }
    let bytes = writer.into_inner().map_err(|error| error.into_error())?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// Names of the terms that do not count.
pub fn switched_off(terms: Terms) -> Vec<String> {
    Term::ALL.into_iter().filter(|term| !terms.has(*term)).map(|term| term.word().to_owned()).collect()
}

fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

fn axes(axes: Axes, scale: f64) -> AxesSummary {
    AxesSummary { along: finite(axes.along * scale), across: finite(axes.across * scale) }
}

fn camera(wants: &Wants, c: &Candidate) -> CameraSummary {
    let strip = super::light::Openings::of(wants);
    let film = wants.films.get(c.point.film).map(|film| film.name.clone());
    CameraSummary {
        focal_length_mm: c.point.focal_length_m * 1e3,
        f_number: c.point.f_number,
        aperture_mm: c.aperture_m * 1e3,
        film: film.unwrap_or_default(),
        slit_mm: strip.slit_m(c.exposure_s, &c.height, c.point.focal_length_m).map(|slit_m| slit_m * 1e3),
        exposure_ms: c.exposure_s * 1e3,
        stops_off: c.stops_off,
        height_km: c.height.altitude_m * 1e-3,
        scale: c.height.altitude_m / c.point.focal_length_m,
        swath_km: c.swath_m * 1e-3,
        half_field_deg: c.half_field_rad.to_degrees(),
        focus_error_um: c.focus_error_m * 1e6,
        depth_of_focus_um: c.depth_of_focus_m * 1e6,
        smear_um: axes(c.smear_m, 1e6),
        lens_lp_mm: finite(c.lens_per_m * 1e-3),
        film_lp_mm: finite(c.film_per_m * 1e-3),
        squares_lp_mm: axes(c.squares_per_m, 1e-3),
        modulation_lp_mm: axes(c.modulation_per_m, 1e-3),
        squares_grd_m: axes(c.squares_grd_m, 1.0),
        modulation_grd_m: axes(c.modulation_grd_m, 1.0),
        grd_m: finite(c.grd_m),
        length_mm: c.length_m * 1e3,
        film_m: c.film_m,
        mass_kg: c.mass_kg,
        optics_kg: c.mass.optics_kg,
        tube_kg: c.mass.tube_kg,
        transport_kg: c.mass.transport_kg,
        film_kg: c.mass.film_kg,
        fixed_kg: c.mass.fixed_kg,
    }
}

fn miss(wants: &Wants, requirement: Requirement, camera: &Candidate) -> Option<MissSummary> {
    let (has, asked) = requirement.values(wants, camera)?;
    let unit = requirement.unit().0.to_owned();
    has.is_finite().then(|| MissSummary { key: requirement.key().to_owned(), unit, asked, has })
}

fn term(budget: &Budget, line: &Line) -> TermSummary {
    TermSummary {
        term: line.term.word().to_owned(),
        on: line.on,
        shift_um: line.shift_m.map(|shift| axes(shift, 1e6)),
        contrast: line.contrast.map(|contrast| axes(contrast, 1.0)),
        worth_m: finite(budget.worth_m(line)),
        squares_without_m: axes(line.squares_without_m, 1.0),
        modulation_without_m: axes(line.modulation_without_m, 1.0),
    }
}

fn sun(line: &SunLine) -> SunSummary {
    SunSummary {
        sun_elevation_deg: line.sun_rad.to_degrees(),
        ground_lx: line.ground_lx,
        film_lx: line.film_lx,
        slit_mm: line.slit_m.map(|slit_m| slit_m * 1e3),
        exposure_ms: line.exposure_s * 1e3,
        exposure_lx_s: line.film_lx * line.exposure_s,
        stops_off: line.stops_off,
    }
}

fn price(wants: &Wants, study: &Study, price: &Price) -> PriceSummary {
    let found = price.camera.and_then(|index| study.at(index));
    // The want that is missed at this price is never its own distance.
    let missed = found.map_or_else(Vec::new, |c| price.missed.iter().filter_map(|r| miss(wants, *r, c)).collect());
    PriceSummary { grd_m: price.grd_m, camera: found.map(|c| camera(wants, c)), missed }
}
