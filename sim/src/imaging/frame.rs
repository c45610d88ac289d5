//! The judgement of one frame: what it resolved, whether that is enough, and why not.
//!
//! A frame of the strip camera is a stated length of strip, judged at several instants (one exposure
//! each); a frame of the framing camera is one exposure. A frame is *met* when it is whole, its
//! area-weighted ground resolved distance is no more than the wanted one along and across, and the light
//! was within the film's tolerance. Area-weighted distance is the reciprocal of the mean of the
//! reciprocals: resolution is averaged, as in AWAR, not blur.

use nalgebra::{Vector2, Vector3};

use super::camera::Camera;
use super::cause::{Attribution, Without, attribute, limits, resolution_cause, weighted_grd_m};
use super::earth::Earth;
use super::error::ImagingError;
use super::exposure::{Light, Scene, light};
use super::motion::{GroundPoint, View};
use super::resolution::{area_weighted_average_lp_mm, ground_resolved_distance_m};
use super::sample::{Exposure, Opening, TruthSample};
use super::smear::{ExposureSmear, GroundHeight, PointSmear, smear};

pub use super::cause::{Cause, Limit};

/// What is known of a frame besides its exposures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FrameInfo {
    /// Number of the frame.
    pub number: u32,
    /// Height of the ground, true and as the film-rate programme assumed.
    pub height: GroundHeight,
    /// Direction to the Sun, inertial unit vector.
    pub sun_direction: Vector3<f64>,
    /// Brightness of the ground.
    pub scene: Scene,
    /// Whether the frame was exposed over its whole length or format.
    pub whole: bool,
}

/// One judged point of one exposure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PointJudgement {
    /// Its smear, with the causes.
    pub smear: PointSmear,
    /// Resolution on film (along, across), lp/mm.
    pub resolution_lp_mm: Vector2<f64>,
    /// Ground resolved distance (along, across), m.
    pub grd_m: Vector2<f64>,
}

/// What one frame resolved, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct FrameJudgement {
    /// Number of the frame.
    pub number: u32,
    /// Middle of the frame, s since the start of the run.
    pub time_s: f64,
    /// Geodetic latitude of the frame's centre, rad.
    pub latitude_rad: f64,
    /// Longitude of the frame's centre, east positive, rad.
    pub longitude_rad: f64,
    /// Height of the camera above the ellipsoid along its geocentric radius, m (within 2 m of geodetic).
    pub camera_height_m: f64,
    /// Distance to the ground at the centre, m.
    pub slant_range_m: f64,
    /// True elevation of the Sun at the centre, rad; refraction left out.
    pub sun_elevation_rad: f64,
    /// Exposure time, mean, s.
    pub exposure_s: f64,
    /// Slit or shutter of the middle exposure.
    pub opening: Opening,
    /// Light on film.
    pub light: Light,
    /// Film speed, mean over the exposures, m/s.
    pub film_speed_m_s: f64,
    /// Film speed that would have matched the image, mean, m/s.
    pub required_film_speed_m_s: f64,
    /// Yaw still missing to lay the image along the film, at the middle exposure, rad.
    pub yaw_to_align_rad: f64,
    /// Smear allowed by the camera's budget at the format's centre (along, across), vibration left out, m.
    pub budget_smear_m: Vector2<f64>,
    /// Every judged point of every exposure.
    pub points: Vec<PointJudgement>,
    /// Worst ground resolved distance over the points (along, across), m.
    pub worst_grd_m: Vector2<f64>,
    /// Area-weighted ground resolved distance (along, across), m.
    pub grd_m: Vector2<f64>,
    /// Area-weighted average resolution, lp/mm.
    pub awar_lp_mm: f64,
    /// What costs the worse axis most resolution: the largest gain if it alone were taken out.
    pub dominant: Limit,
    /// Whether the frame gives what the mission wants.
    pub met: bool,
    /// Why not, if not.
    pub cause: Option<Cause>,
}

/// Judges one frame from the exposures that made it.
///
/// # Errors
/// [`ImagingError::NoExposure`] for an empty frame, [`ImagingError::EarthMissed`] for one that did not see the
/// Earth; otherwise whatever [`smear`] reports. What becomes of them says
/// [`FrameRow::unjudged`](super::row::FrameRow::unjudged).
pub fn judge(
    earth: &Earth,
    camera: &Camera,
    exposures: &[Exposure],
    info: &FrameInfo,
) -> Result<FrameJudgement, ImagingError> {
    let mut smears = Vec::with_capacity(exposures.len());
    for exposure in exposures {
        smears.push(smear(earth, camera, exposure, &info.height)?);
    }
    let number = info.number;
    let (Some(exposure), Some(middle)) = (exposures.get(exposures.len() / 2), smears.get(smears.len() / 2)) else {
        return Err(ImagingError::NoExposure { number });
    };
    let seen = Seen::new(earth, exposure.middle(), &middle.centre, info);
    let resolved = Resolved::new(camera, &smears);
    let exposure_s = mean(exposures, Exposure::duration_s);
    let effective_s = camera.shutter_efficiency * exposure_s;
    let light = light(camera, &info.scene, seen.sun_elevation_rad, effective_s);
    let jet_fired = exposures.iter().any(|exposure| exposure.jet_fired);
    let cause = cause(camera, info, &resolved, &light, jet_fired);
    let required_m_s = mean(&smears, |smear| smear.required_film_speed_m_s);
    Ok(FrameJudgement {
        number,
        time_s: exposure.middle().time_s,
        latitude_rad: middle.centre.latitude_rad(),
        longitude_rad: middle.centre.longitude_rad(),
        camera_height_m: seen.camera_height_m,
        slant_range_m: middle.centre.slant_range_m,
        sun_elevation_rad: seen.sun_elevation_rad,
        exposure_s,
        opening: exposure.opening,
        light,
        film_speed_m_s: mean(exposures, Exposure::film_speed_m_s),
        required_film_speed_m_s: required_m_s,
        budget_smear_m: camera.budget.smear_m(camera, required_m_s, exposure_s, middle.centre.slant_range_m),
        yaw_to_align_rad: middle.yaw_to_align_rad,
        worst_grd_m: resolved.worst_grd_m(),
        grd_m: resolved.grd_m,
        awar_lp_mm: resolved.awar_lp_mm(),
        dominant: resolved.attribution.dominant,
        met: cause.is_none(),
        cause,
        points: resolved.points,
    })
}

fn mean<T>(items: &[T], of: impl Fn(&T) -> f64) -> f64 {
    items.iter().map(of).sum::<f64>() / items.len() as f64
}

/// Where the frame was seen from, and in what light.
struct Seen {
    camera_height_m: f64,
    sun_elevation_rad: f64,
}

impl Seen {
    fn new(earth: &Earth, sample: &TruthSample, centre: &GroundPoint, info: &FrameInfo) -> Self {
        let up = View::new(earth, sample).to_inertial(&centre.up_earth_fixed);
        // Down the geocentric radius; the figure is round about its axis, so inertial axes will do.
        let position = &sample.position_m;
        let below = earth.meet(position, &-position.normalize(), 0.0);
        Self {
            camera_height_m: below.map_or(0.0, |below| (position - below).norm()),
            sun_elevation_rad: up.dot(&info.sun_direction).clamp(-1.0, 1.0).asin(),
        }
    }
}

/// Resolution of all points together.
struct Resolved {
    points: Vec<PointJudgement>,
    grd_m: Vector2<f64>,
    attribution: Attribution,
}

impl Resolved {
    fn new(camera: &Camera, smears: &[ExposureSmear]) -> Self {
        let points = smears.iter().flat_map(ExposureSmear::points);
        let grd = |axis| weighted_grd_m(camera, points.clone(), axis, Without::Nothing);
        let grd_m = Vector2::new(grd(0), grd(1));
        Self {
            attribution: attribute(camera, points.clone(), &grd_m),
            points: points.map(|point| judge_point(camera, point)).collect(),
            grd_m,
        }
    }

    fn worst_grd_m(&self) -> Vector2<f64> {
        let start = Vector2::zeros();
        self.points.iter().fold(start, |worst, point| worst.sup(&point.grd_m))
    }

    fn awar_lp_mm(&self) -> f64 {
        area_weighted_average_lp_mm(self.points.iter().map(|point| {
            let resolution = point.resolution_lp_mm;
            (point.smear.point.area_share, resolution.x, resolution.y)
        }))
    }
}

fn cause(camera: &Camera, info: &FrameInfo, resolved: &Resolved, light: &Light, jet_fired: bool) -> Option<Cause> {
    if !info.whole {
        Some(Cause::PartialFrame)
    } else if resolved.grd_m.max() > camera.wanted_grd_m {
        Some(resolution_cause(camera, &resolved.attribution, jet_fired))
    } else if light.stops_off < -camera.exposure_tolerance_stops {
        Some(Cause::UnderExposed)
    } else if light.stops_off > camera.exposure_tolerance_stops {
        Some(Cause::OverExposed)
    } else {
        None
    }
}

/// Resolution and ground resolved distance at one point.
pub fn judge_point(camera: &Camera, smear: &PointSmear) -> PointJudgement {
    let axis = |axis: usize| limits(camera, smear, axis, Without::Nothing).resolution_lp_mm(camera.rule);
    let resolution_lp_mm = Vector2::new(axis(0), axis(1));
    PointJudgement {
        smear: *smear,
        resolution_lp_mm,
        grd_m: smear.ground_per_image.zip_map(&resolution_lp_mm, ground_resolved_distance_m),
    }
}
