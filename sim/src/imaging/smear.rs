//! Image travel on the film during an exposure, and which part of it each cause made.
//!
//! Ground points are fixed at the middle of the exposure and followed through it. At every node the
//! image velocity less the film's velocity splits exactly into a sum:
//!
//! ```text
//! v_image + v_film = [rates of roll, pitch, yaw beyond the local orbital frame's]   linear, by the Jacobian
//!                  + [v_still(p) − R·v_still(p)]       the image does not run along the film: yaw error
//!                  + [R·v_still(p) − R·v_still(0)]     the point differs from the centre: field
//!                  + [(v_film − v_programme) + (v_programme − v_required at the height assumed)
//!                     + (v_required there − v_required at the true height)]          film rate, relief
//! ```
//!
//! with `v_still` the image velocity of a camera at rest in the local orbital frame and `R` the turn about
//! the boresight that lays the centre's image velocity along the film. Integrated by Boole's rule. The
//! small rate of crab steering itself (at most 3.5° × orbital rate) counts as yaw rate, which it is.

use nalgebra::{Vector2, Vector3};

use super::camera::{Camera, FormatPoint, MAX_POINTS};
use super::earth::Earth;
use super::error::ImagingError;
use super::motion::{GroundPoint, View, yaw_to_align_rad};
use super::sample::{BOOLE, Exposure, NODES, RUNNING};

/// Causes that a smear vector splits into.
#[derive(Clone, Copy, Debug, Eq, Hash, PartialEq)]
#[repr(usize)]
pub enum SmearCause {
    /// Film ran at another speed than the programme asked.
    FilmDrive,
    /// The programme asked for another speed than the image had (the whole film-rate error where the
    /// exposure does not say what the programme asked).
    FilmProgramme,
    /// The ground stood at another height than the programme assumed.
    Relief,
    /// Roll rate beyond the local orbital frame's.
    RollRate,
    /// Pitch rate beyond the local orbital frame's.
    PitchRate,
    /// Yaw rate beyond the local orbital frame's; acts away from the format's centre.
    YawRate,
    /// Yaw angle off the one that lays image motion along the film.
    YawError,
    /// Image motion at this point of the format differs from the centre's.
    Field,
}

/// Number of causes.
pub const CAUSES: usize = 8;

impl SmearCause {
    /// All causes, in the order of [`PointSmear::parts_m`].
    pub const ALL: [Self; CAUSES] = [
        Self::FilmDrive,
        Self::FilmProgramme,
        Self::Relief,
        Self::RollRate,
        Self::PitchRate,
        Self::YawRate,
        Self::YawError,
        Self::Field,
    ];
}

/// Heights that matter for film rate, m above the ellipsoid.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct GroundHeight {
    /// True height of the area.
    pub true_m: f64,
    /// Height that the film-rate programme assumed, if known.
    pub programme_m: Option<f64>,
}

/// Smear at one point of the format.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PointSmear {
    /// The point.
    pub point: FormatPoint,
    /// The ground there at the middle of the exposure.
    pub ground: GroundPoint,
    /// Ground length of one image metre (along, across), m/m.
    pub ground_per_image: Vector2<f64>,
    /// Image less film displacement from start to end (along, across), m.
    pub net_m: Vector2<f64>,
    /// Largest spread of that displacement within the exposure, per axis, m: equals `|net_m|` unless the
    /// motion turned back. Judged at the five nodes.
    pub extent_m: Vector2<f64>,
    /// Share of each cause in `net_m`, m; they add up to it.
    pub parts_m: [Vector2<f64>; CAUSES],
    /// The displacement from the start on at the five nodes, m: the path that the image drew on the film.
    pub path_m: [Vector2<f64>; NODES],
}

impl PointSmear {
    /// Share of one cause, m.
    pub fn part_m(&self, cause: SmearCause) -> Vector2<f64> {
        self.parts_m[cause as usize]
    }

    /// Smear lengths per axis if `cause` were taken out, m.
    pub fn extent_without_m(&self, cause: SmearCause) -> Vector2<f64> {
        let turned_back = self.extent_m - self.net_m.abs();
        (self.net_m - self.part_m(cause)).abs() + turned_back
    }
}

/// Smear of one exposure at all judged points (the first is the centre).
#[derive(Clone, Copy, Debug)]
pub struct ExposureSmear {
    points: [Option<PointSmear>; MAX_POINTS],
    /// The ground at the format's centre at the middle of the exposure.
    pub centre: GroundPoint,
    /// Film speed that would have matched the image at the centre, mean over the exposure, m/s.
    pub required_film_speed_m_s: f64,
    /// Yaw that would have laid the image along the film, at the middle of the exposure, rad.
    pub yaw_to_align_rad: f64,
}

impl ExposureSmear {
    /// The judged points, centre first.
    pub fn points(&self) -> impl Iterator<Item = &PointSmear> + Clone {
        self.points.iter().flatten()
    }
}

/// What the centre of the format asks for at one node.
#[derive(Clone, Copy, Default)]
struct Centre {
    still_m_s: Vector2<f64>,
    required_m_s: f64,
    required_at_programme_height_m_s: f64,
}

impl Centre {
    /// Turn about the boresight that lays the centre's image velocity along the film.
    fn align(&self, v: Vector2<f64>) -> Vector2<f64> {
        if self.required_m_s == 0.0 {
            return v; // Nothing moves at the centre: every yaw is right.
        }
        let (c, s) = (-self.still_m_s.x / self.required_m_s, -self.still_m_s.y / self.required_m_s);
        Vector2::new(c * v.x + s * v.y, c * v.y - s * v.x)
    }
}

/// Follows one exposure: smear, its extent and its causes at every judged point.
///
/// # Errors
/// [`ImagingError::NotFinite`] and [`ImagingError::BadWindow`] for bad input, [`ImagingError::EarthMissed`]
/// if a judged point does not see the Earth.
pub fn smear(
    earth: &Earth,
    camera: &Camera,
    exposure: &Exposure,
    height: &GroundHeight,
) -> Result<ExposureSmear, ImagingError> {
    exposure.check()?;
    let views = views(earth, exposure);
    let centres = centres(&views, camera, exposure, height)?;
    let (points, used) = camera.points();
    let mut smeared = [None; MAX_POINTS];
    for (slot, point) in smeared.iter_mut().zip(points.iter().take(used)) {
        *slot = Some(point_smear(&views, &centres, camera, exposure, height, point)?);
    }
    let required = centres.map(|centre| centre.required_m_s);
    Ok(ExposureSmear {
        points: smeared,
        centre: ground(&views, camera, exposure, (0.0, 0.0), height.true_m)?,
        required_film_speed_m_s: BOOLE.iter().zip(required).map(|(w, v)| w * v).sum(),
        yaw_to_align_rad: yaw_to_align_rad(&centres[NODES / 2].still_m_s),
    })
}

/// As [`smear`], at any points of the format.
///
/// # Errors
/// As [`smear`].
pub fn smear_at(
    earth: &Earth,
    camera: &Camera,
    exposure: &Exposure,
    height: &GroundHeight,
    points: &[FormatPoint],
) -> Result<Vec<PointSmear>, ImagingError> {
    exposure.check()?;
    let views = views(earth, exposure);
    let centres = centres(&views, camera, exposure, height)?;
    points.iter().map(|point| point_smear(&views, &centres, camera, exposure, height, point)).collect()
}

/// The exposure's instants, seen along its line of sight.
fn views(earth: &Earth, exposure: &Exposure) -> [View; NODES] {
    exposure.samples.map(|sample| View::new(earth, &sample).looking_across(exposure.sweep_angle_rad))
}

fn missed(exposure: &Exposure, x_m: f64, y_m: f64) -> ImagingError {
    ImagingError::EarthMissed { time_s: exposure.middle().time_s, x_m, y_m }
}

/// Ground at a point of the format at the middle of the exposure.
fn ground(
    views: &[View; NODES],
    camera: &Camera,
    exposure: &Exposure,
    (x_m, y_m): (f64, f64),
    height_m: f64,
) -> Result<GroundPoint, ImagingError> {
    views[NODES / 2].ground_at(camera.focal_length_m, x_m, y_m, height_m).ok_or_else(|| missed(exposure, x_m, y_m))
}

fn centres(
    views: &[View; NODES],
    camera: &Camera,
    exposure: &Exposure,
    height: &GroundHeight,
) -> Result<[Centre; NODES], ImagingError> {
    let still = |height_m: f64| {
        let ground = ground(views, camera, exposure, (0.0, 0.0), height_m)?;
        let mut velocities = [Vector2::zeros(); NODES];
        for (velocity, view) in velocities.iter_mut().zip(views) {
            *velocity = view
                .image_of(camera.focal_length_m, &ground.earth_fixed_m)
                .ok_or_else(|| missed(exposure, 0.0, 0.0))?
                .velocity_m_s(view.orbital_rate_rad_s());
        }
        Ok(velocities)
    };
    let actual = still(height.true_m)?;
    let assumed = match height.programme_m {
        Some(programme_m) if programme_m != height.true_m => still(programme_m)?,
        _ => actual,
    };
    let mut centres = [Centre::default(); NODES];
    for ((centre, actual), assumed) in centres.iter_mut().zip(actual).zip(assumed) {
        *centre =
            Centre { still_m_s: actual, required_m_s: actual.norm(), required_at_programme_height_m_s: assumed.norm() };
    }
    Ok(centres)
}

fn point_smear(
    views: &[View; NODES],
    centres: &[Centre; NODES],
    camera: &Camera,
    exposure: &Exposure,
    height: &GroundHeight,
    point: &FormatPoint,
) -> Result<PointSmear, ImagingError> {
    let at = (point.x_m, point.y_m);
    let ground = ground(views, camera, exposure, at, height.true_m)?;
    let mut parts_m = [Vector2::zeros(); CAUSES];
    let mut velocities = [Vector2::zeros(); NODES];
    for node in 0..NODES {
        let (view, sample) = (&views[node], &exposure.samples[node]);
        let image = view
            .image_of(camera.focal_length_m, &ground.earth_fixed_m)
            .ok_or_else(|| missed(exposure, point.x_m, point.y_m))?;
        velocities[node] = image.velocity_m_s(view.rate_rad_s()) + Vector2::new(sample.film_speed_m_s, 0.0);

        let centre = &centres[node];
        let still = image.velocity_m_s(view.orbital_rate_rad_s());
        let aligned = centre.align(still);
        let excess: Vector3<f64> = view.rate_rad_s() - view.orbital_rate_rad_s();
        let programme = exposure.programme_film_speed_m_s.unwrap_or(sample.film_speed_m_s);
        let assumed = centre.required_at_programme_height_m_s;
        let weight = BOOLE[node] * exposure.duration_s();
        let along = |speed: f64| Vector2::new(speed, 0.0);
        let rates = [
            along(sample.film_speed_m_s - programme),
            along(programme - assumed),
            along(assumed - centre.required_m_s),
            image.per_rate_m[0] * excess.x,
            image.per_rate_m[1] * excess.y,
            image.per_rate_m[2] * excess.z,
            still - aligned,
            aligned - along(-centre.required_m_s),
        ];
        for (part, rate) in parts_m.iter_mut().zip(rates) {
            *part += rate * weight;
        }
    }
    let path_m = travel(&velocities, exposure.duration_s());
    let (net_m, extent_m) = (path_m[NODES - 1], extent(&path_m));
    Ok(PointSmear {
        point: *point,
        ground,
        ground_per_image: views[NODES / 2].ground_per_image(camera.focal_length_m, &ground),
        net_m,
        extent_m,
        parts_m,
        path_m,
    })
}

/// Displacement from the first node to every node.
fn travel(velocities: &[Vector2<f64>; NODES], duration_s: f64) -> [Vector2<f64>; NODES] {
    RUNNING.map(|row| {
        let terms = row.iter().zip(velocities).map(|(weight, velocity)| velocity * (weight * duration_s));
        terms.sum::<Vector2<f64>>()
    })
}

/// Spread of a path over its nodes, per axis.
fn extent(path_m: &[Vector2<f64>; NODES]) -> Vector2<f64> {
    let start = (Vector2::zeros(), Vector2::zeros());
    let (low, high) = path_m.iter().fold(start, |(low, high), at| (low.inf(at), high.sup(at)));
    high - low
}
