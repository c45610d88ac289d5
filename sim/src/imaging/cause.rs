//! Which limit costs a frame most, and why a frame is not met.

use nalgebra::Vector2;

use super::camera::Camera;
use super::resolution::{Limits, ground_resolved_distance_m};
use super::smear::{PointSmear, SmearCause};

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

const RATES: [SmearCause; 3] = [SmearCause::RollRate, SmearCause::PitchRate, SmearCause::YawRate];

/// What is left out of a computation of resolution.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Without {
    /// Nothing: the frame as it was.
    Nothing,
    /// One limit.
    Limit(Limit),
    /// All smear and vibration: lens and film alone.
    AllMotion,
}

/// What limits resolution along one axis (0 along, 1 across) at a point.
pub fn limits(camera: &Camera, smear: &PointSmear, axis: usize, without: Without) -> Limits {
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

/// Area-weighted ground resolved distance of one axis, m: the reciprocal of the mean reciprocal.
pub fn weighted_grd_m<'a>(
    camera: &Camera,
    points: impl Iterator<Item = &'a PointSmear>,
    axis: usize,
    without: Without,
) -> f64 {
    let (area, sum) = points.fold((0.0, 0.0), |(area, sum), point| {
        let resolution = limits(camera, point, axis, without).resolution_lp_mm(camera.rule);
        let grd = ground_resolved_distance_m(point.ground_per_image[axis], resolution);
        let share = point.point.area_share;
        (area + share, sum + share / grd)
    });
    area / sum
}

/// What limits the worse axis of a frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Attribution {
    /// Of everything, the one whose removal alone would better the axis most.
    pub dominant: Limit,
    /// The same among smear and vibration only.
    pub dominant_motion: Limit,
    /// Ground resolved distance of lens and film alone, m.
    pub still_grd_m: f64,
}

/// Finds what limits the worse axis, given the frame's ground resolved distance on both.
pub fn attribute<'a>(
    camera: &Camera,
    points: impl Iterator<Item = &'a PointSmear> + Clone,
    grd_m: &Vector2<f64>,
) -> Attribution {
    let axis = usize::from(grd_m.y > grd_m.x);
    let left_m = |without| weighted_grd_m(camera, points.clone(), axis, without);
    let best = |candidates: &mut dyn Iterator<Item = Limit>| {
        candidates.fold((Limit::Vibration, f64::INFINITY), |best, limit| {
            let left_m = left_m(Without::Limit(limit));
            if left_m < best.1 { (limit, left_m) } else { best }
        })
    };
    let motion = best(&mut SmearCause::ALL.map(Limit::Smear).into_iter().chain([Limit::Vibration]));
    let still = best(&mut [Limit::Lens, Limit::Film].into_iter());
    Attribution {
        dominant: if motion.1 < still.1 { motion.0 } else { still.0 },
        dominant_motion: motion.0,
        still_grd_m: left_m(Without::AllMotion),
    }
}

/// Why resolution falls short of the wanted distance.
pub fn resolution_cause(camera: &Camera, attribution: &Attribution, jet_fired: bool) -> Cause {
    if attribution.still_grd_m > camera.wanted_grd_m {
        return Cause::StaticOptics;
    }
    // Lens and film alone would do, so the blame lies with what moved.
    match attribution.dominant_motion {
        Limit::Smear(cause) if jet_fired && RATES.contains(&cause) => Cause::JetFired,
        Limit::Smear(cause) => Cause::Smear(cause),
        Limit::Vibration | Limit::Lens | Limit::Film => Cause::Vibration,
    }
}
