//! The camera to take: the lightest that meets every want; or why there is none, and what would have to give.

use super::model::Candidate;
use super::wants::Wants;

/// Something asked of a camera.
#[derive(Clone, Copy, Debug, Eq, Hash, Ord, PartialEq, PartialOrd)]
pub enum Requirement {
    /// Ground resolved distance.
    Resolution,
    /// Swath.
    Swath,
    /// Half-field that the lens covers.
    HalfField,
    /// Focus inside its share of the depth.
    Focus,
    /// Exposure inside its tolerance.
    Exposure,
    /// Length.
    Length,
    /// Mass.
    Mass,
    /// Aperture.
    Aperture,
}

impl Requirement {
    /// All of them.
    pub const ALL: [Self; 8] = [
        Self::Resolution,
        Self::Swath,
        Self::HalfField,
        Self::Focus,
        Self::Exposure,
        Self::Length,
        Self::Mass,
        Self::Aperture,
    ];
    /// What the pictures ask, whatever vehicle carries the camera.
    pub const MISSION: [Self; 5] = [Self::Resolution, Self::Swath, Self::HalfField, Self::Focus, Self::Exposure];
    /// What physics and the film ask; no vehicle can give more.
    pub const OPTICAL: [Self; 4] = [Self::Resolution, Self::HalfField, Self::Focus, Self::Exposure];

    /// Key of the wants file that sets it.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Resolution => "mission.grd_m",
            Self::Swath => "mission.swath_km",
            Self::HalfField => "lens.half_field_deg",
            Self::Focus => "focus.share_of_depth_percent",
            Self::Exposure => "exposure.tolerance_stops",
            Self::Length => "limits.length_mm",
            Self::Mass => "limits.mass_kg",
            Self::Aperture => "limits.aperture_mm",
        }
    }

    /// What it is about.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Resolution => "ground resolved distance",
            Self::Swath => "swath",
            Self::HalfField => "half-field",
            Self::Focus => "focus error of the depth of focus",
            Self::Exposure => "exposure error",
            Self::Length => "length",
            Self::Mass => "mass",
            Self::Aperture => "aperture",
        }
    }

    /// Unit and decimals of its numbers for people.
    pub const fn unit(self) -> (&'static str, usize) {
        match self {
            Self::Resolution => ("m", 2),
            Self::Swath => ("km", 1),
            Self::HalfField => ("°", 1),
            Self::Focus => ("%", 0),
            Self::Exposure => ("stops", 2),
            Self::Length | Self::Aperture => ("mm", 0),
            Self::Mass => ("kg", 1),
        }
    }

    /// What a camera has and what is asked, in the units of [`Requirement::unit`]; `None` if nothing is asked.
    pub fn values(self, wants: &Wants, camera: &Candidate) -> Option<(f64, f64)> {
        let limits = &wants.limits;
        Some(match self {
            Self::Resolution => (camera.grd_m, wants.mission.grd_m),
            Self::Swath => (camera.swath_m * 1e-3, wants.mission.swath_m * 1e-3),
            Self::HalfField => (camera.half_field_rad.to_degrees(), wants.lens.half_field_rad.to_degrees()),
            Self::Focus => (100.0 * camera.focus_error_m / camera.depth_of_focus_m, 100.0 * wants.focus.share),
            Self::Exposure => (camera.stops_off.abs(), wants.exposure.tolerance_stops),
            Self::Length => (camera.length_m * 1e3, limits.length_m? * 1e3),
            Self::Mass => (camera.mass_kg, limits.mass_kg?),
            Self::Aperture => (camera.aperture_m * 1e3, limits.aperture_m? * 1e3),
        })
    }

    /// By what share a camera misses it; zero or less if it is met.
    pub fn miss(self, wants: &Wants, camera: &Candidate) -> f64 {
        match self.values(wants, camera) {
            None => f64::NEG_INFINITY,
            // A billionth forgives what conversion of units leaves behind.
            Some((has, asked)) if self == Self::Swath => asked / has - 1.0 - 1e-9,
            Some((has, asked)) => has / asked - 1.0 - 1e-9,
        }
    }

    /// Whether a camera meets it.
    pub fn met(self, wants: &Wants, camera: &Candidate) -> bool {
        self.miss(wants, camera) <= 0.0
    }
}

/// What a camera misses.
pub fn missed(wants: &Wants, camera: &Candidate) -> Vec<Requirement> {
    Requirement::ALL.into_iter().filter(|requirement| !requirement.met(wants, camera)).collect()
}

/// The lightest of the candidates that meet all of `requirements`; of equal ones the sharper, then the first.
pub fn lightest(wants: &Wants, candidates: &[Candidate], requirements: &[Requirement]) -> Option<usize> {
    let meets = |camera: &Candidate| requirements.iter().all(|requirement| requirement.met(wants, camera));
    let each = candidates.iter().enumerate().filter(|(_, camera)| meets(camera));
    let best = each.min_by(|(_, a), (_, b)| a.mass_kg.total_cmp(&b.mass_kg).then(a.grd_m.total_cmp(&b.grd_m)));
    best.map(|(index, _)| index)
}

/// One requirement that, given up far enough, lets a camera through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Relaxation {
    /// Which.
    pub requirement: Requirement,
    /// The camera that misses it least while meeting everything else.
    pub camera: usize,
}

/// For each requirement the camera that misses only that one, and least; those least missed first.
pub fn relaxations(wants: &Wants, candidates: &[Candidate]) -> Vec<Relaxation> {
    let mut best: Vec<(f64, Relaxation)> = Vec::new();
    for (index, camera) in candidates.iter().enumerate() {
        let mut misses = Requirement::ALL.into_iter().filter(|requirement| !requirement.met(wants, camera));
        let (Some(requirement), None) = (misses.next(), misses.next()) else { continue };
        let miss = requirement.miss(wants, camera);
        let found = (miss, Relaxation { requirement, camera: index });
        match best.iter_mut().find(|(_, other)| other.requirement == requirement) {
            None => best.push(found),
            Some(other) if miss < other.0 => *other = found,
            Some(_) => {}
        }
    }
    best.sort_by(|a, b| a.0.total_cmp(&b.0));
    best.into_iter().map(|(_, relaxation)| relaxation).collect()
}

/// The camera that misses fewest requirements, and of those the one that misses them by least in all.
pub fn nearest(wants: &Wants, candidates: &[Candidate]) -> Option<usize> {
    let score = |camera: &Candidate| {
        let misses =
            Requirement::ALL.iter().map(|requirement| requirement.miss(wants, camera)).filter(|miss| *miss > 0.0);
        misses.fold((0_usize, 0.0), |(count, sum), miss| (count + 1, sum + miss))
    };
    let each = candidates.iter().enumerate().filter(|(_, camera)| camera.grd_m.is_finite());
    let scored = each.map(|(index, camera)| (score(camera), index));
    scored.min_by(|(a, _), (b, _)| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))).map(|(_, index)| index)
}

/// What another ground resolved distance would take.
#[derive(Clone, Debug, PartialEq)]
pub struct Price {
    /// The distance, m.
    pub grd_m: f64,
    /// The lightest camera that reaches it, if any does.
    pub camera: Option<usize>,
    /// What it misses of the other wants: nothing if a camera within all of them was found.
    pub missed: Vec<Requirement>,
}

/// The lightest camera for another ground resolved distance: within all other wants; where none is, without regard to
/// what the vehicle has room for; where none is even then, without regard to swath.
pub fn price(wants: &Wants, candidates: &[Candidate], grd_m: f64) -> Price {
    let mut other = wants.clone();
    other.mission.grd_m = grd_m;
    let within = |requirements: &[Requirement]| lightest(&other, candidates, requirements);
    let camera =
        within(&Requirement::ALL).or_else(|| within(&Requirement::MISSION)).or_else(|| within(&Requirement::OPTICAL));
    let found = camera.and_then(|index| candidates.get(index));
    Price { grd_m, camera, missed: found.map_or_else(Vec::new, |camera| missed(&other, camera)) }
}
