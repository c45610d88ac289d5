//! The whole account of one camera: each term's share along and across the track, and what it is worth.

use super::blur::{Axes, motions};
use super::geometry::Height;
use super::light::{Opening, film_illuminance_lx};
use super::model::{Candidate, Model};
use super::terms::{Term, Terms};
use super::wants::Rule;
use crate::imaging::exposure::ground_illuminance_lx;
use crate::imaging::mtf;

/// One term of the budget.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Which.
    pub term: Term,
    /// Whether it counts; one that was switched off has no worth left.
    pub on: bool,
    /// Distance it moves the image (motion) or the focus (focus, both axes alike), m; nothing for the others.
    pub shift_m: Option<Axes>,
    /// Share of contrast that it leaves at the camera's resolution; nothing for film, whose demand is the threshold.
    pub contrast: Option<Axes>,
    /// Ground resolved distance without it by the reciprocal squares, m.
    pub squares_without_m: Axes,
    /// The same by modulation and threshold.
    pub modulation_without_m: Axes,
}

/// Exposure under one elevation of the Sun.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SunLine {
    /// Elevation, rad.
    pub sun_rad: f64,
    /// Light on level ground, lx.
    pub ground_lx: f64,
    /// Light on film from the mean scene, lx.
    pub film_lx: f64,
    /// Slit or time used.
    pub opening: Opening,
    /// Exposure time at the height that is judged, s.
    pub exposure_s: f64,
    /// Width of the slit, m, if there is one.
    pub slit_m: Option<f64>,
    /// Worst error over the heights, stops.
    pub stops_off: f64,
}

/// The account of one camera.
#[derive(Clone, Debug, PartialEq)]
pub struct Budget {
    /// The camera.
    pub camera: Candidate,
    /// The same at rest: lens, focus and film alone.
    pub at_rest: Candidate,
    /// Resolution of the lens in best focus, cycles/m.
    pub best_focus_per_m: f64,
    /// Ground length of a length on film.
    pub scale: f64,
    /// Speed of the image at the height that is judged, m/s.
    pub image_speed_m_s: f64,
    /// Travel of the image during the exposure, if the film stood, m.
    pub travel_m: f64,
    /// Errors of focus, m.
    pub focus_m: [(Term, f64); 3],
    /// Every term.
    pub lines: Vec<Line>,
    /// Every elevation of the Sun.
    pub suns: Vec<SunLine>,
    /// The rule that judges.
    pub rule: Rule,
}

impl Budget {
    /// Of a camera, with the terms that count.
    pub fn of(model: &Model<'_>, camera: &Candidate, terms: Terms) -> Option<Self> {
        let (f, n) = (camera.point.focal_length_m, camera.point.f_number);
        let focus_off = [Term::ThermalFocus, Term::FilmFlatness, Term::FocusSetting];
        let best = focus_off.into_iter().fold(terms, Terms::without);
        let lines = Term::ALL.into_iter().filter_map(|term| line(model, camera, term, terms));
        let image_speed_m_s = camera.height.image_speed_m_s(f);
        Some(Self {
            camera: *camera,
            at_rest: model.evaluate(camera.point, terms.and(Terms::STATIC))?,
            best_focus_per_m: model.lens(f, n, best).resolution_per_m(model.modulation, model.wants.lens.threshold),
            scale: camera.height.altitude_m / f,
            image_speed_m_s,
            travel_m: image_speed_m_s * camera.exposure_s,
            focus_m: model.focus_errors(f, terms),
            lines: lines.collect(),
            suns: suns(model, camera),
            rule: model.wants.mission.judged_by,
        })
    }

    /// Gain on the worse axis if a term were away, m, by the rule that judges.
    pub fn worth_m(&self, line: &Line) -> f64 {
        self.camera.grd_m - without(line, self.rule).larger()
    }

    /// The term that limits the camera: the one worth most.
    pub fn limiting(&self) -> Option<&Line> {
        self.lines.iter().max_by(|a, b| self.worth_m(a).total_cmp(&self.worth_m(b)))
    }
}

/// Ground resolved distance without a term by one rule, m.
pub fn without(line: &Line, rule: Rule) -> Axes {
    match rule {
        Rule::ReciprocalSquares => line.squares_without_m,
        Rule::Modulation => line.modulation_without_m,
    }
}

fn line(model: &Model<'_>, camera: &Candidate, term: Term, terms: Terms) -> Option<Line> {
    let without = model.evaluate(camera.point, terms.without(term))?;
    let shift_m = shift_m(model, camera, term, terms);
    let at = match model.wants.mission.judged_by {
        Rule::ReciprocalSquares => camera.squares_per_m,
        Rule::Modulation => camera.modulation_per_m,
    };
    let lens = model.lens(camera.point.focal_length_m, camera.point.f_number, terms);
    let contrast = match term {
        Term::Film => None,
        Term::Diffraction if !lens.diffraction => Some(at.map(|_| 1.0)),
        Term::Diffraction => Some(at.map(|nu| mtf::diffraction(nu, lens.wavelength_m, lens.f_number))),
        Term::Aberration => Some(at.map(|nu| lens.aberration_mtf(nu))),
        Term::ThermalFocus | Term::FilmFlatness | Term::FocusSetting => {
            let defocus_m = shift_m.map_or(0.0, |shift| shift.along);
            Some(at.map(|nu| mtf::defocus(nu, defocus_m, lens.wavelength_m, lens.f_number)))
        }
        _ => shift_m.map(|shift| Axes {
            along: mtf::linear_smear(at.along, shift.along),
            across: mtf::linear_smear(at.across, shift.across),
        }),
    };
    Some(Line {
        term,
        on: terms.has(term),
        shift_m,
        contrast,
        squares_without_m: without.squares_grd_m,
        modulation_without_m: without.modulation_grd_m,
    })
}

fn shift_m(model: &Model<'_>, camera: &Candidate, term: Term, terms: Terms) -> Option<Axes> {
    let f = camera.point.focal_length_m;
    let focus = model.focus_errors(f, terms).into_iter().map(|(of, m)| (of, Axes { along: m, across: m }));
    let moved = motions(&model.wants.smear, &camera.height, f, camera.exposure_s, terms);
    focus.chain(moved).find(|(of, _)| *of == term).map(|(_, shift)| shift)
}

fn suns(model: &Model<'_>, camera: &Candidate) -> Vec<SunLine> {
    let (wants, point, high): (_, _, &Height) = (model.wants, &camera.point, &camera.height);
    let each = wants.light.sun_elevations_rad.iter().filter_map(|&sun_rad| {
        let (opening, stops_off) = model.opening_for(point, sun_rad)?;
        let needed_s = model.needed_s(point.film, point.f_number, sun_rad)?;
        let exposure_s = model.openings.time_s(opening, high, point.focal_length_m, needed_s);
        let (light, lens) = (&wants.light, &wants.lens);
        Some(SunLine {
            sun_rad,
            ground_lx: light.sky_clearness * ground_illuminance_lx(sun_rad),
            film_lx: film_illuminance_lx(light, lens, point.f_number, sun_rad, light.mean_reflectance),
            opening,
            exposure_s,
            slit_m: model.openings.slit_m(exposure_s, high, point.focal_length_m),
            stops_off,
        })
    });
    each.collect()
}
