//! The judgement of one frame: what it resolved, whether that is enough, and why not.
//!
//! A frame of the strip camera is a stated length of strip, judged at several instants (one exposure
//! each); a frame of the framing camera is one exposure. A frame is *met* when it is whole, its
//! area-weighted ground resolved distance is no more than the wanted one along and across, and the light
//! was within the film's tolerance. Area-weighted distance is the reciprocal of the mean of the
//! reciprocals: resolution is averaged, as in AWAR, not blur.

use nalgebra::{Vector2, Vector3};

use super::camera::{Camera, FormatPoint};
use super::earth::Earth;
use super::error::ImagingError;
use super::exposure::{Light, Scene, light};
use super::motion::View;
use super::resolution::{Limits, area_weighted_average_lp_mm, ground_resolved_distance_m};
use super::sample::{Exposure, NODES};
use super::smear::{ExposureSmear, GroundHeight, PointSmear, SmearCause, smear};

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

/// Anything that costs resolution.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Limit {
    /// The lens.
    Lens,
    /// The film's own resolution.
    Film,
    /// Vibration.
    Vibration,
    /// One cause of smear.
    Smear(SmearCause),
}

/// Why a frame is not met.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub enum Cause {
    /// Not exposed over its whole length or format.
    PartialFrame,
    /// Too far from the ground for lens and film, even without any smear.
    StaticOptics,
    /// A jet fired inside the exposure, and a body rate smeared the image.
    JetFired,
    /// Smear, mostly from one cause.
    Smear(SmearCause),
    /// Smear, mostly from vibration.
    Vibration,
    /// Too little light.
    UnderExposed,
    /// Too much light.
    OverExposed,
    /// The camera did not see the Earth.
    EarthMissed,
}

impl Cause {
    /// Plain sentence for a report.
    pub fn sentence(self) -> &'static str {
        match self {
            Self::PartialFrame => "The frame was not exposed over its whole length.",
            Self::StaticOptics => {
                "The ground was too far away: lens and film alone do not resolve the wanted distance."
            }
            Self::JetFired => "A jet fired inside the exposure and the body's rate smeared the image.",
            Self::Smear(cause) => smear_sentence(cause),
            Self::Vibration => "Vibration smeared the image.",
            Self::UnderExposed => "Too little light reached the film.",
            Self::OverExposed => "Too much light reached the film.",
            Self::EarthMissed => "The camera did not see the Earth over its whole format.",
        }
    }
}

fn smear_sentence(cause: SmearCause) -> &'static str {
    match cause {
        SmearCause::FilmDrive => "The film was not at the programmed speed.",
        SmearCause::FilmProgramme => "The programmed film speed did not match the image.",
        SmearCause::Relief => "The ground stood at another height than the film-rate programme assumed.",
        SmearCause::RollRate => "The body rolled during the exposure.",
        SmearCause::PitchRate => "The body pitched during the exposure.",
        SmearCause::YawRate => "The body turned in yaw during the exposure.",
        SmearCause::YawError => "The yaw angle did not lay the image's motion along the film.",
        SmearCause::Field => "Image motion at the edge of the format differed from the centre's.",
    }
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
    /// Light on film.
    pub light: Light,
    /// Film speed, mean over the exposures, m/s.
    pub film_speed_m_s: f64,
    /// Film speed that would have matched the image, mean, m/s.
    pub required_film_speed_m_s: f64,
    /// Yaw still missing to lay the image along the film, at the middle exposure, rad.
    pub yaw_to_align_rad: f64,
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
/// [`ImagingError::NoExposure`] for an empty frame; otherwise whatever [`smear`] reports. A frame that
/// did not see the Earth comes back as [`ImagingError::EarthMissed`]; see
/// [`FrameRow::lost`](super::row::FrameRow::lost).
pub fn judge(
    earth: &Earth,
    camera: &Camera,
    exposures: &[Exposure],
    info: &FrameInfo,
) -> Result<FrameJudgement, ImagingError> {
    let number = info.number;
    let middle = exposures
        .get(exposures.len() / 2)
        .ok_or(ImagingError::NoExposure { number })?;
    let mut points = Vec::with_capacity(exposures.len() * super::camera::MAX_POINTS);
    let mut required_film_speed_m_s = 0.0;
    let mut at_middle: Option<ExposureSmear> = None;
    let share = 1.0 / exposures.len() as f64;
    for (index, exposure) in exposures.iter().enumerate() {
        let smear = smear(earth, camera, exposure, &info.height)?;
        required_film_speed_m_s += share * smear.required_film_speed_m_s;
        points.extend(smear.points().map(|point| judge_point(camera, point)));
        if index == exposures.len() / 2 {
            at_middle = Some(smear);
        }
    }
    let at_middle = at_middle.ok_or(ImagingError::NoExposure { number })?;
    let centre = at_middle
        .points()
        .next()
        .ok_or(ImagingError::NoExposure { number })?
        .ground;

    let sample = middle.middle();
    let view = View::new(earth, sample);
    let sin_sun = view
        .to_inertial(&centre.up_earth_fixed)
        .dot(&info.sun_direction);
    let sun_elevation_rad = sin_sun.clamp(-1.0, 1.0).asin();
    let mean = |of: &dyn Fn(&Exposure) -> f64| share * exposures.iter().map(of).sum::<f64>();
    let exposure_s = mean(&Exposure::duration_s);
    let effective_s = camera.shutter_efficiency * exposure_s;
    let mut judgement = FrameJudgement {
        number,
        time_s: sample.time_s,
        latitude_rad: centre.latitude_rad(),
        longitude_rad: centre.longitude_rad(),
        camera_height_m: camera_height_m(earth, &sample.position_m),
        slant_range_m: centre.slant_range_m,
        sun_elevation_rad,
        exposure_s,
        light: light(camera, &info.scene, sun_elevation_rad, effective_s),
        film_speed_m_s: mean(&|exposure: &Exposure| {
            exposure.samples.iter().map(|s| s.film_speed_m_s).sum::<f64>() / NODES as f64
        }),
        required_film_speed_m_s,
        yaw_to_align_rad: at_middle.yaw_to_align_rad,
        worst_grd_m: points
            .iter()
            .fold(Vector2::zeros(), |worst, point| worst.sup(&point.grd_m)),
        grd_m: Vector2::new(
            weighted_grd_m(camera, &points, 0, Without::Nothing),
            weighted_grd_m(camera, &points, 1, Without::Nothing),
        ),
        awar_lp_mm: area_weighted_average_lp_mm(points.iter().map(|point| {
            let resolution = point.resolution_lp_mm;
            (point.smear.point.area_share, resolution.x, resolution.y)
        })),
        dominant: Limit::Lens,
        met: false,
        cause: None,
        points,
    };
    judgement.dominant = dominant(camera, &judgement, &ALL_LIMITS);
    let jet_fired = exposures.iter().any(|exposure| exposure.jet_fired);
    judgement.cause = cause(camera, info, &judgement, jet_fired);
    judgement.met = judgement.cause.is_none();
    Ok(judgement)
}

fn judge_point(camera: &Camera, smear: &PointSmear) -> PointJudgement {
    let axis = |axis: usize| limits(camera, smear, axis, Without::Nothing).resolution_lp_mm(camera.rule);
    let resolution_lp_mm = Vector2::new(axis(0), axis(1));
    PointJudgement {
        smear: *smear,
        resolution_lp_mm,
        grd_m: smear
            .ground_per_image
            .zip_map(&resolution_lp_mm, ground_resolved_distance_m),
    }
}

/// Height above the ellipsoid along the geocentric radius. The figure is round about the axis, so the
/// turn of the Earth does not matter.
fn camera_height_m(earth: &Earth, position_m: &Vector3<f64>) -> f64 {
    earth
        .meet(position_m, &-position_m.normalize(), 0.0)
        .map_or(0.0, |below| (position_m - below).norm())
}

const RATES: [SmearCause; 3] = [
    SmearCause::RollRate,
    SmearCause::PitchRate,
    SmearCause::YawRate,
];

const fn all_limits() -> [Limit; SmearCause::ALL.len() + 3] {
    let mut all = [Limit::Lens; SmearCause::ALL.len() + 3];
    all[1] = Limit::Film;
    all[2] = Limit::Vibration;
    let mut at = 0;
    while at < SmearCause::ALL.len() {
        all[at + 3] = Limit::Smear(SmearCause::ALL[at]);
        at += 1;
    }
    all
}

const ALL_LIMITS: [Limit; SmearCause::ALL.len() + 3] = all_limits();

/// What is left out of a computation of resolution.
#[derive(Clone, Copy)]
enum Without {
    Nothing,
    Limit(Limit),
    AllMotion,
}

fn limits(camera: &Camera, smear: &PointSmear, axis: usize, without: Without) -> Limits {
    let mut limits = Limits {
        lens_lp_mm: camera.lens_resolution_lp_mm,
        film_lp_mm: camera.film_resolution_lp_mm,
        smear_m: smear.extent_m[axis],
        vibration_m: camera.vibration_m,
    };
    match without {
        Without::Nothing => {}
        Without::Limit(Limit::Lens) => limits.lens_lp_mm = f64::INFINITY,
        Without::Limit(Limit::Film) => limits.film_lp_mm = f64::INFINITY,
        Without::Limit(Limit::Vibration) => limits.vibration_m = 0.0,
        Without::Limit(Limit::Smear(cause)) => limits.smear_m = smear.extent_without_m(cause)[axis],
        Without::AllMotion => {
            limits.smear_m = 0.0;
            limits.vibration_m = 0.0;
        }
    }
    limits
}

/// Area-weighted ground resolved distance of one axis, m.
fn weighted_grd_m(
    camera: &Camera,
    points: &[PointJudgement],
    axis: usize,
    without: Without,
) -> f64 {
    let (area, sum) = points.iter().fold((0.0, 0.0), |(area, sum), point| {
        let FormatPoint { area_share, .. } = point.smear.point;
        let resolution = limits(camera, &point.smear, axis, without).resolution_lp_mm(camera.rule);
        let grd = ground_resolved_distance_m(point.smear.ground_per_image[axis], resolution);
        (area + area_share, sum + area_share / grd)
    });
    area / sum
}

/// The worse axis: 0 along, 1 across.
fn worse_axis(judgement: &FrameJudgement) -> usize {
    usize::from(judgement.grd_m.y > judgement.grd_m.x)
}

/// Of `candidates`, the one whose removal alone would better the worse axis most.
fn dominant(camera: &Camera, judgement: &FrameJudgement, candidates: &[Limit]) -> Limit {
    let axis = worse_axis(judgement);
    let mut best = (Limit::Lens, f64::INFINITY);
    for &limit in candidates {
        let left_m = weighted_grd_m(camera, &judgement.points, axis, Without::Limit(limit));
        if left_m < best.1 {
            best = (limit, left_m);
        }
    }
    best.0
}

fn cause(
    camera: &Camera,
    info: &FrameInfo,
    judgement: &FrameJudgement,
    jet_fired: bool,
) -> Option<Cause> {
    if !info.whole {
        return Some(Cause::PartialFrame);
    }
    if judgement.grd_m.max() > camera.wanted_grd_m {
        return Some(resolution_cause(camera, judgement, jet_fired));
    }
    let stops_off = judgement.light.stops_off;
    if stops_off < -camera.exposure_tolerance_stops {
        Some(Cause::UnderExposed)
    } else if stops_off > camera.exposure_tolerance_stops {
        Some(Cause::OverExposed)
    } else {
        None
    }
}

fn resolution_cause(camera: &Camera, judgement: &FrameJudgement, jet_fired: bool) -> Cause {
    let still_m = weighted_grd_m(
        camera,
        &judgement.points,
        worse_axis(judgement),
        Without::AllMotion,
    );
    if still_m > camera.wanted_grd_m {
        return Cause::StaticOptics;
    }
    // Lens and film alone would do, so the blame lies with what moved.
    match dominant(camera, judgement, &ALL_LIMITS[2..]) {
        Limit::Smear(cause) if jet_fired && RATES.contains(&cause) => Cause::JetFired,
        Limit::Smear(cause) => Cause::Smear(cause),
        Limit::Vibration | Limit::Lens | Limit::Film => Cause::Vibration,
    }
}
