//! One frame as a flat row, for `frames.csv` and `summary.json`: human units, named in the columns.

use serde::{Deserialize, Serialize};

use super::cause::{Cause, Limit};
use super::error::ImagingError;
use super::frame::{FrameJudgement, PointJudgement};
use super::sample::Opening;
use super::smear::SmearCause;

/// One frame. Columns that a frame which was never exposed or never saw the Earth cannot have are empty.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Serialize)]
pub struct FrameRow {
    /// Number of the frame.
    pub frame: u32,
    /// Middle of the frame since the start of the run.
    pub time_s: f64,
    /// Geodetic latitude of the centre.
    pub latitude_deg: Option<f64>,
    /// Longitude of the centre, east positive.
    pub longitude_deg: Option<f64>,
    /// Height of the camera.
    pub height_km: Option<f64>,
    /// Distance to the ground at the centre.
    pub slant_range_km: Option<f64>,
    /// Elevation of the Sun at the centre.
    pub sun_elevation_deg: Option<f64>,
    /// Exposure time.
    pub exposure_ms: Option<f64>,
    /// Slit width; empty for a shutter.
    pub slit_mm: Option<f64>,
    /// Exposure of the dark detail against the speed point; positive is over-exposed. Empty by night.
    pub exposure_error_stops: Option<f64>,
    /// Film speed.
    pub film_speed_mm_s: Option<f64>,
    /// Film speed that would have matched the image.
    pub required_film_speed_mm_s: Option<f64>,
    /// Yaw missing to lay the image along the film.
    pub yaw_to_align_deg: Option<f64>,
    /// Smear along at the format's centre, vibration left out.
    pub smear_along_centre_um: Option<f64>,
    /// Smear across at the format's centre, vibration left out.
    pub smear_across_centre_um: Option<f64>,
    /// Largest smear along at any judged point.
    pub smear_along_worst_um: Option<f64>,
    /// Largest smear across at any judged point.
    pub smear_across_worst_um: Option<f64>,
    /// Smear along that the budget allows at the centre, vibration left out.
    pub budget_along_um: Option<f64>,
    /// Smear across that the budget allows at the centre, vibration left out.
    pub budget_across_um: Option<f64>,
    /// Along, from film not at its programmed speed (mean over the format, signed).
    pub film_drive_um: Option<f64>,
    /// Along, from the programmed speed (mean, signed).
    pub film_programme_um: Option<f64>,
    /// Along, from ground height (mean, signed).
    pub relief_um: Option<f64>,
    /// Along, from pitch rate (mean, signed).
    pub pitch_rate_um: Option<f64>,
    /// Across, from roll rate (mean, signed).
    pub roll_rate_um: Option<f64>,
    /// Across, from yaw error (mean, signed).
    pub yaw_error_um: Option<f64>,
    /// Largest length from yaw rate at any judged point.
    pub yaw_rate_worst_um: Option<f64>,
    /// Largest length from the difference to the centre at any judged point.
    pub field_worst_um: Option<f64>,
    /// Area-weighted average resolution.
    pub awar_lp_mm: Option<f64>,
    /// Area-weighted ground resolved distance along.
    pub grd_along_m: Option<f64>,
    /// Area-weighted ground resolved distance across.
    pub grd_across_m: Option<f64>,
    /// Worst ground resolved distance along.
    pub grd_along_worst_m: Option<f64>,
    /// Worst ground resolved distance across.
    pub grd_across_worst_m: Option<f64>,
    /// What costs the worse axis most resolution.
    pub dominant: String,
    /// Whether the frame gives what the mission wants.
    pub met: bool,
    /// Key of the cause if not; else empty.
    pub cause: String,
    /// The cause in a plain sentence; else empty.
    pub why: String,
}

impl FrameRow {
    /// Row of a frame that could not be judged: cut before its first exposure, or the camera did not see the Earth.
    pub fn unjudged(number: u32, time_s: f64, error: &ImagingError) -> Self {
        let cause = match error {
            ImagingError::NoExposure { .. } => Cause::PartialFrame,
            // Truth that is no number has no line of sight to the Earth either.
            ImagingError::EarthMissed { .. } | ImagingError::NotFinite { .. } | ImagingError::BadWindow { .. } => {
                Cause::EarthMissed
            }
        };
        Self { frame: number, time_s, cause: cause_key(cause).into(), why: cause.sentence().into(), ..Self::default() }
    }
}

impl From<&FrameJudgement> for FrameRow {
    fn from(judged: &FrameJudgement) -> Self {
        let points = &judged.points;
        let centre = points.get(centre_index(judged));
        let centre_um = |axis: usize| centre.map(|point| 1e6 * point.smear.extent_m[axis]);
        let worst_um = |of: &dyn Fn(&PointJudgement) -> f64| Some(1e6 * points.iter().map(of).fold(0.0, f64::max));
        let mean_um = |cause: SmearCause, axis: usize| {
            let area: f64 = points.iter().map(|p| p.smear.point.area_share).sum();
            let sum: f64 = points.iter().map(|p| p.smear.point.area_share * p.smear.part_m(cause)[axis]).sum();
            Some(1e6 * sum / area)
        };
        Self {
            frame: judged.number,
            time_s: judged.time_s,
            latitude_deg: Some(judged.latitude_rad.to_degrees()),
            longitude_deg: Some(judged.longitude_rad.to_degrees()),
            height_km: Some(1e-3 * judged.camera_height_m),
            slant_range_km: Some(1e-3 * judged.slant_range_m),
            sun_elevation_deg: Some(judged.sun_elevation_rad.to_degrees()),
            exposure_ms: Some(1e3 * judged.exposure_s),
            slit_mm: match judged.opening {
                Opening::Slit { width_m } | Opening::SweptSlit { width_m } => Some(1e3 * width_m),
                Opening::Shutter => None,
            },
            exposure_error_stops: Some(judged.light.stops_off).filter(|stops| stops.is_finite()),
            film_speed_mm_s: Some(1e3 * judged.film_speed_m_s),
            required_film_speed_mm_s: Some(1e3 * judged.required_film_speed_m_s),
            yaw_to_align_deg: Some(judged.yaw_to_align_rad.to_degrees()),
            smear_along_centre_um: centre_um(0),
            smear_across_centre_um: centre_um(1),
            smear_along_worst_um: worst_um(&|p| p.smear.extent_m.x),
            smear_across_worst_um: worst_um(&|p| p.smear.extent_m.y),
            budget_along_um: Some(1e6 * judged.budget_smear_m.x),
            budget_across_um: Some(1e6 * judged.budget_smear_m.y),
            film_drive_um: mean_um(SmearCause::FilmDrive, 0),
            film_programme_um: mean_um(SmearCause::FilmProgramme, 0),
            relief_um: mean_um(SmearCause::Relief, 0),
            pitch_rate_um: mean_um(SmearCause::PitchRate, 0),
            roll_rate_um: mean_um(SmearCause::RollRate, 1),
            yaw_error_um: mean_um(SmearCause::YawError, 1),
            yaw_rate_worst_um: worst_um(&|p| p.smear.part_m(SmearCause::YawRate).norm()),
            field_worst_um: worst_um(&|p| p.smear.part_m(SmearCause::Field).norm()),
            awar_lp_mm: Some(judged.awar_lp_mm),
            grd_along_m: Some(judged.grd_m.x),
            grd_across_m: Some(judged.grd_m.y),
            grd_along_worst_m: Some(judged.worst_grd_m.x),
            grd_across_worst_m: Some(judged.worst_grd_m.y),
            dominant: limit_key(judged.dominant).into(),
            met: judged.met,
            cause: judged.cause.map_or("", cause_key).into(),
            why: judged.cause.map_or("", Cause::sentence).into(),
        }
    }
}

/// Index of the format's centre in the middle exposure: the points of each exposure start with it.
fn centre_index(judged: &FrameJudgement) -> usize {
    let is_centre = |point: &PointJudgement| point.smear.point.x_m == 0.0 && point.smear.point.y_m == 0.0;
    let centres = judged.points.iter().filter(|point| is_centre(point)).count();
    judged
        .points
        .iter()
        .enumerate()
        .filter(|(_, point)| is_centre(point))
        .nth(centres / 2)
        .map_or(0, |(index, _)| index)
}

/// Short key of a limit.
pub fn limit_key(limit: Limit) -> &'static str {
    match limit {
        Limit::Lens => "lens",
        Limit::Film => "film",
        Limit::Vibration => "vibration",
        Limit::Smear(cause) => smear_key(cause),
    }
}

/// Short key of a cause.
pub fn cause_key(cause: Cause) -> &'static str {
    match cause {
        Cause::PartialFrame => "partial_frame",
        Cause::StaticOptics => "static_optics",
        Cause::JetFired => "jet_fired",
        Cause::Smear(cause) => smear_key(cause),
        Cause::Vibration => "vibration",
        Cause::UnderExposed => "under_exposed",
        Cause::OverExposed => "over_exposed",
        Cause::EarthMissed => "earth_missed",
    }
}

/// Short key of a cause of smear.
pub fn smear_key(cause: SmearCause) -> &'static str {
    match cause {
        SmearCause::FilmDrive => "film_drive",
        SmearCause::FilmProgramme => "film_programme",
        SmearCause::Relief => "relief",
        SmearCause::RollRate => "roll_rate",
        SmearCause::PitchRate => "pitch_rate",
        SmearCause::YawRate => "yaw_rate",
        SmearCause::YawError => "yaw_error",
        SmearCause::Field => "field",
    }
}
