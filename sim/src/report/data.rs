//! Everything a report is made from. The page reads this and nothing else.

use serde::Serialize;

use crate::record::{CodeNames, Digest, Summary};

/// A run, ready to be told.
#[derive(Clone, Debug)]
pub struct ReportData {
    /// What the run came to.
    pub summary: Summary,
    /// What the record kept in memory.
    pub digest: Digest,
    /// The frames, in the order of exposure.
    pub frames: Vec<FrameLine>,
    /// Pictures of some frames.
    pub sheet: Vec<SheetTile>,
    /// Smear over the format, all frames together.
    pub format: Vec<FormatCell>,
    /// The return, as a piece of the page, if the run has one.
    pub home: Option<String>,
    /// What stood fixed before the run.
    pub context: Context,
}

/// A rendered picture on the contact sheet.
#[derive(Clone, Debug)]
pub struct SheetTile {
    /// Number of the frame.
    pub number: u32,
    /// `best`, `median` or `worst`, if it is one of these.
    pub mark: Option<&'static str>,
    /// Area it was taken for.
    pub area: String,
    /// Ground resolved distance computed at the point shown (along, across), m.
    pub grd_m: [f64; 2],
    /// Line pair on the ground of the smallest bars read in the picture (along, across), m.
    pub read_m: [Option<f64>; 2],
    /// Sizes by which the reading is finer than the computed (along, across).
    pub steps_off: [i32; 2],
    /// The picture.
    pub png: Vec<u8>,
    /// Its width and height, pixels.
    pub size: [usize; 2],
}

/// Smear at one place of the format over all frames.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FormatCell {
    /// Place along the track, m on film.
    pub along_m: f64,
    /// Place across the track, m on film; of a sweep, focal length × angle.
    pub across_m: f64,
    /// Mean way of the image on the film within an exposure (along, across), m.
    pub mean_m: [f64; 2],
    /// Root mean square of the smear (along, across), m.
    pub rms_m: [f64; 2],
    /// Median ground resolved distance (along, across), m.
    pub grd_m: [f64; 2],
}

/// What stood fixed before the run: names, places, limits, settings.
#[derive(Clone, Debug, Default)]
pub struct Context {
    /// Names of codes.
    pub codes: CodeNames,
    /// Modes that count as holding still; the phase planes show only these.
    pub hold_modes: Vec<u8>,
    /// Switching lines of the fine hold, where they are to be drawn.
    pub phase_limits: Option<PhaseLimits>,
    /// The jets, in the order of the settings' jet table.
    pub jets: Vec<JetLabel>,
    /// Ground stations.
    pub stations: Vec<Station>,
    /// Areas to be photographed.
    pub areas: Vec<Area>,
    /// Largest film rate error wanted, as a ratio.
    pub film_rate_tolerance: Option<f64>,
    /// Settings used, group by group.
    pub settings: Vec<SettingsGroup>,
    /// Models used and where they come from.
    pub sources: Vec<Source>,
}

/// Limits of the phase-plane law about roll, pitch and yaw.
#[derive(Clone, Copy, Debug)]
pub struct PhaseLimits {
    /// Half-width of the deadband, degrees.
    pub deadband_deg: [f64; 3],
    /// Rate limit, degrees a second.
    pub rate_limit_deg_s: [f64; 3],
    /// Slope of the switching lines error + time × rate = ± deadband, s.
    pub rate_time_s: [f64; 3],
}

/// A jet's name and what it does.
#[derive(Clone, Debug)]
pub struct JetLabel {
    /// Name.
    pub name: String,
    /// Axis and sense of its torque, e.g. `pitch +`.
    pub turns: String,
}

/// A ground station.
#[derive(Clone, Debug)]
pub struct Station {
    /// Name.
    pub name: String,
    /// Geodetic latitude, degrees.
    pub latitude_deg: f64,
    /// Longitude, degrees.
    pub longitude_deg: f64,
    /// Earth-central angle out to which the vehicle is seen above the mask, degrees.
    pub visible_radius_deg: f64,
}

/// An area to be photographed.
#[derive(Clone, Debug)]
pub struct Area {
    /// Name.
    pub name: String,
    /// Corners, longitude and latitude in degrees; closed by the page.
    pub outline_deg: Vec<[f64; 2]>,
}

/// One judged frame, as the page shows it.
#[derive(Clone, Debug, Serialize)]
pub struct FrameLine {
    /// Number, from 1.
    pub number: u32,
    /// Start of the exposure since the start of the run, s.
    pub start_s: f64,
    /// Length of the exposure (strip: of the stretch judged as a frame), s.
    pub duration_s: f64,
    /// Area it was taken for.
    pub area: String,
    /// Latitude of its middle, degrees.
    pub latitude_deg: f64,
    /// Longitude of its middle, degrees.
    pub longitude_deg: f64,
    /// Height of the vehicle, m.
    pub height_m: f64,
    /// Elevation of the Sun at its middle, degrees.
    pub sun_elevation_deg: f64,
    /// Speed of the film, mm/s.
    pub film_speed_mm_s: f64,
    /// Speed of the image, mm/s.
    pub image_speed_mm_s: f64,
    /// Smear along the track, µm on the film.
    pub smear_along_um: f64,
    /// Smear across the track, µm on the film.
    pub smear_across_um: f64,
    /// Smear that the budget allows (along, across), vibration left out, µm on the film.
    pub budget_um: [f64; 2],
    /// Ground resolved distance, m.
    pub grd_m: f64,
    /// Whether it resolves what was asked for.
    pub met: bool,
    /// The contribution that dominated its smear.
    pub cause: String,
    /// Contributions to its smear, µm on the film.
    pub contributions_um: Vec<(String, f64)>,
}

impl FrameLine {
    /// Film speed less image speed, against image speed.
    pub fn rate_error(&self) -> f64 {
        self.film_speed_mm_s / self.image_speed_mm_s - 1.0
    }
}

/// A group of settings.
#[derive(Clone, Debug)]
pub struct SettingsGroup {
    /// Heading.
    pub title: String,
    /// Its settings.
    pub lines: Vec<SettingsLine>,
}

/// One setting.
#[derive(Clone, Debug)]
pub struct SettingsLine {
    /// Key in the settings file.
    pub key: String,
    /// Value used.
    pub value: String,
    /// Unit.
    pub unit: String,
    /// What it does.
    pub meaning: String,
    /// Whether this is the value where the file says nothing.
    pub is_default: bool,
}

/// A model used and where it comes from.
#[derive(Clone, Debug)]
pub struct Source {
    /// What it is for.
    pub subject: String,
    /// Title and number.
    pub text: String,
}
