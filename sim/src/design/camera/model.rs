//! One camera evaluated: everything that follows from focal length, f-number, film and slit.

use super::blur::{Axes, motions, total};
use super::film::Threshold;
use super::geometry::Height;
use super::lens::{Aberration, Lens, first_crossing_per_m};
use super::light::{Opening, Openings, needed_s};
use super::mass::{Mass, film_load_m, length_m, mass};
use super::terms::{Term, Terms};
use super::wants::{FilmStock, Rule, Wants};
use crate::imaging::mtf;
use crate::imaging::resolution;

const LP_MM: f64 = 1e3;

/// A place in the search.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Focal length, m.
    pub focal_length_m: f64,
    /// Focal length over aperture.
    pub f_number: f64,
    /// Film, by its place in the wants, from 0.
    pub film: usize,
    /// Slit or shutter time under the lowest Sun.
    pub opening: Opening,
}

/// A camera, and what comes of it. Resolution is judged under the lowest Sun at the greatest or the lowest height,
/// whichever is worse (the greatest, unless smear by relief rules); swath and film load at the lowest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Candidate {
    /// Which one.
    pub point: Point,
    /// Height at which resolution is worst.
    pub height: Height,
    /// Exposure time there under the lowest Sun, s.
    pub exposure_s: f64,
    /// Largest error of exposure over all Suns and heights, stops.
    pub stops_off: f64,
    /// Image motion during that exposure, root of the sum of squares, m.
    pub smear_m: Axes,
    /// Resolution of the lens as focused, cycles/m.
    pub lens_per_m: f64,
    /// Resolution of the film, cycles/m.
    pub film_per_m: f64,
    /// Resolution of all together by the reciprocal squares, cycles/m.
    pub squares_per_m: Axes,
    /// The same by modulation and threshold.
    pub modulation_per_m: Axes,
    /// Ground resolved distance by the reciprocal squares, m.
    pub squares_grd_m: Axes,
    /// The same by modulation and threshold.
    pub modulation_grd_m: Axes,
    /// Width of ground in the picture, m.
    pub swath_m: f64,
    /// Half the field across the film, rad.
    pub half_field_rad: f64,
    /// Distance of the film from best focus, root of the sum of squares, m.
    pub focus_error_m: f64,
    /// Depth of focus to either side, m.
    pub depth_of_focus_m: f64,
    /// Length along the optical axis, m.
    pub length_m: f64,
    /// Aperture, m.
    pub aperture_m: f64,
    /// Film to be loaded, m.
    pub film_m: f64,
    /// Mass by parts.
    pub mass: Mass,
    /// Mass of all, kg.
    pub mass_kg: f64,
    /// Ground resolved distance of the worse axis by the rule that judges, m.
    pub grd_m: f64,
}

/// What does not change from camera to camera.
#[derive(Clone, Debug)]
pub struct Model<'w> {
    /// The wants.
    pub wants: &'w Wants,
    /// Greatest height.
    pub high: Height,
    /// Lowest height.
    pub low: Height,
    /// Modulation of the target.
    pub modulation: f64,
    /// Lowest Sun, rad.
    pub lowest_sun_rad: f64,
    /// Slits or shutter times.
    pub openings: Openings,
    aberration: Option<Aberration>,
    thresholds: Vec<Threshold>,
    /// Exposure time wanted at f/1 under each Sun, s, film by film; it grows with the square of the f-number.
    needed_at_one_s: Vec<Vec<f64>>,
}

/// A lens of the search, as far as film and slit do not matter.
#[derive(Clone, Copy, Debug)]
struct Ground {
    focal_length_m: f64,
    lens: Lens,
    lens_per_m: f64,
}

/// What a camera resolves from one height.
#[derive(Clone, Copy, Debug)]
struct Resolved {
    height: Height,
    exposure_s: f64,
    smear_m: Axes,
    film_per_m: f64,
    squares_per_m: Axes,
    modulation_per_m: Axes,
    squares_grd_m: Axes,
    modulation_grd_m: Axes,
    grd_m: f64,
}

fn worse(a: Resolved, b: Resolved) -> Resolved {
    if b.grd_m > a.grd_m { b } else { a }
}

impl<'w> Model<'w> {
    /// For a wants file that passed its checks.
    pub fn new(wants: &'w Wants) -> Self {
        let needed = |film: &FilmStock| {
            let suns = wants.light.sun_elevations_rad.iter();
            suns.map(|sun_rad| needed_s(&wants.light, &wants.lens, film, 1.0, *sun_rad)).collect()
        };
        Self {
            wants,
            needed_at_one_s: wants.films.iter().map(needed).collect(),
            high: Height::new(wants.mission.highest_m),
            low: Height::new(wants.mission.lowest_m),
            modulation: mtf::target_modulation(wants.mission.target_contrast),
            lowest_sun_rad: wants.light.sun_elevations_rad.iter().copied().fold(f64::INFINITY, f64::min),
            openings: Openings::of(wants),
            aberration: Aberration::of(&wants.lens),
            thresholds: wants.films.iter().map(Threshold::of).collect(),
        }
    }

    /// Every camera of one focal length and f-number that is worth judging: each film with the slit (or time) nearest
    /// to the right exposure under the lowest Sun and any other within the tolerance.
    pub fn cameras(&self, focal_length_m: f64, f_number: f64, terms: Terms) -> Vec<Candidate> {
        let ground = self.ground(focal_length_m, f_number, terms);
        let mut cameras = Vec::new();
        for film in 0..self.wants.films.len() {
            for opening in self.openings_near(focal_length_m, f_number, film) {
                let point = Point { focal_length_m, f_number, film, opening };
                cameras.extend(self.judge(&ground, point, terms));
            }
        }
        cameras
    }

    /// One camera. `None` if its film is not in the wants.
    pub fn evaluate(&self, point: Point, terms: Terms) -> Option<Candidate> {
        self.judge(&self.ground(point.focal_length_m, point.f_number, terms), point, terms)
    }

    /// The film of a camera.
    pub fn film(&self, point: &Point) -> Option<&'w FilmStock> {
        self.wants.films.get(point.film)
    }

    /// Exposure time that a film wants at an f-number under one of the wants' Suns, s.
    pub fn needed_s(&self, film: usize, f_number: f64, sun_rad: f64) -> Option<f64> {
        let suns = &self.wants.light.sun_elevations_rad;
        let sun = suns.iter().position(|of| *of == sun_rad)?;
        Some(self.needed_at_one_s.get(film)?.get(sun)? * f_number * f_number)
    }

    /// Modulation that a film needs at a frequency, cycles/m; never less than the eye does that looks at it, and with the
    /// film switched off just that.
    pub fn modulation_needed(&self, film: usize, frequency_per_m: f64, terms: Terms) -> f64 {
        match self.thresholds.get(film) {
            Some(threshold) if terms.has(Term::Film) => {
                threshold.needed(frequency_per_m).max(self.wants.lens.threshold)
            }
            _ => self.wants.lens.threshold,
        }
    }

    /// The lens of a camera with the terms that count.
    pub fn lens(&self, focal_length_m: f64, f_number: f64, terms: Terms) -> Lens {
        let sigma_m = self.aberration.map_or(0.0, |aberration| aberration.sigma_m(focal_length_m, f_number));
        Lens {
            wavelength_m: self.wants.lens.wavelength_m,
            f_number,
            diffraction: terms.has(Term::Diffraction),
            sigma_m: if terms.has(Term::Aberration) { sigma_m } else { 0.0 },
            defocus_m: self.focus_error_m(focal_length_m, terms),
        }
    }

    /// Errors of focus by term, m.
    pub fn focus_errors(&self, focal_length_m: f64, terms: Terms) -> [(Term, f64); 3] {
        let focus = &self.wants.focus;
        let all = [
            (Term::ThermalFocus, focal_length_m * focus.expansion_per_k.abs() * focus.temperature_change_k),
            (Term::FilmFlatness, focus.flatness_m),
            (Term::FocusSetting, focus.setting_m),
        ];
        all.map(|(term, error_m)| (term, if terms.has(term) { error_m } else { 0.0 }))
    }

    /// All errors of focus together, m.
    fn focus_error_m(&self, focal_length_m: f64, terms: Terms) -> f64 {
        let errors = self.focus_errors(focal_length_m, terms);
        errors.iter().map(|(_, error_m)| error_m * error_m).sum::<f64>().sqrt()
    }

    fn ground(&self, focal_length_m: f64, f_number: f64, terms: Terms) -> Ground {
        let lens = self.lens(focal_length_m, f_number, terms);
        let lens_per_m = lens.resolution_per_m(self.modulation, self.wants.lens.threshold);
        Ground { focal_length_m, lens, lens_per_m }
    }

    fn openings_near(&self, focal_length_m: f64, f_number: f64, film: usize) -> Vec<Opening> {
        let Some(needed_s) = self.needed_s(film, f_number, self.lowest_sun_rad) else {
            return Vec::new();
        };
        let off = |opening: Opening| {
            let time_s = self.openings.time_s(opening, &self.high, focal_length_m, needed_s);
            self.openings.stops_off(time_s, needed_s).abs()
        };
        let nearest = self.openings.all().min_by(|a, b| off(*a).total_cmp(&off(*b)));
        let near =
            |opening: &Opening| off(*opening) <= self.wants.exposure.tolerance_stops || Some(*opening) == nearest;
        self.openings.all().filter(near).collect()
    }

    fn judge(&self, ground: &Ground, point: Point, terms: Terms) -> Option<Candidate> {
        let (wants, f) = (self.wants, ground.focal_length_m);
        let film = self.film(&point)?;
        let high = self.resolve(ground, &point, &self.high, terms)?;
        let resolved = match self.low == self.high {
            true => high,
            false => worse(high, self.resolve(ground, &point, &self.low, terms)?),
        };
        let film_m = film_load_m(&wants.mission, &wants.build, &wants.exposure.kind, &self.low, f);
        let mass = mass(&wants.build, f, point.f_number, film, film_m);
        Some(Candidate {
            point,
            height: resolved.height,
            exposure_s: resolved.exposure_s,
            stops_off: self.worst_stops(&point),
            smear_m: resolved.smear_m,
            lens_per_m: ground.lens_per_m,
            film_per_m: resolved.film_per_m,
            squares_per_m: resolved.squares_per_m,
            modulation_per_m: resolved.modulation_per_m,
            squares_grd_m: resolved.squares_grd_m,
            modulation_grd_m: resolved.modulation_grd_m,
            swath_m: self.low.ground_m(f, film.usable_m),
            half_field_rad: (0.5 * film.usable_m / f).atan(),
            focus_error_m: ground.lens.defocus_m,
            depth_of_focus_m: mtf::depth_of_focus_m(wants.lens.wavelength_m, point.f_number),
            length_m: length_m(&wants.build, f),
            aperture_m: f / point.f_number,
            film_m,
            mass,
            mass_kg: mass.total_kg(),
            grd_m: resolved.grd_m,
        })
    }

    /// What a camera resolves from one height under the lowest Sun.
    fn resolve(&self, ground: &Ground, point: &Point, height: &Height, terms: Terms) -> Option<Resolved> {
        let f = ground.focal_length_m;
        let needed_s = self.needed_s(point.film, point.f_number, self.lowest_sun_rad)?;
        let exposure_s = self.openings.time_s(point.opening, height, f, needed_s);
        let smear_m = total(&motions(&self.wants.smear, height, f, exposure_s, terms));
        let film_per_m = match terms.has(Term::Film) {
            true => self.thresholds.get(point.film)?.resolution_per_m(self.modulation),
            false => f64::INFINITY,
        };
        let squares_per_m = smear_m.map(|smear_m| by_squares(ground.lens_per_m, film_per_m, smear_m));
        let modulation_per_m = Axes {
            along: self.by_modulation(ground, point.film, smear_m.along, squares_per_m.along, terms),
            across: self.by_modulation(ground, point.film, smear_m.across, squares_per_m.across, terms),
        };
        let on_ground = |per_m: f64| resolution::ground_resolved_distance_m(height.altitude_m / f, per_m / LP_MM);
        let (squares_grd_m, modulation_grd_m) = (squares_per_m.map(on_ground), modulation_per_m.map(on_ground));
        let grd_m = match self.wants.mission.judged_by {
            Rule::ReciprocalSquares => squares_grd_m.larger(),
            Rule::Modulation => modulation_grd_m.larger(),
        };
        let height = *height;
        Some(Resolved {
            height,
            exposure_s,
            smear_m,
            film_per_m,
            squares_per_m,
            modulation_per_m,
            squares_grd_m,
            modulation_grd_m,
            grd_m,
        })
    }

    /// Where the modulation that lens and smear leave falls to what the film needs, cycles/m.
    fn by_modulation(&self, ground: &Ground, film: usize, smear_m: f64, guess_per_m: f64, terms: Terms) -> f64 {
        let excess = |frequency: f64| {
            let left = self.modulation * ground.lens.mtf(frequency) * mtf::linear_smear(frequency, smear_m);
            left - self.modulation_needed(film, frequency, terms)
        };
        first_crossing_per_m(excess, guess_per_m, ground.lens.first_zero_per_m().min(1.0 / smear_m))
    }

    /// The worst error of exposure over all Suns and both heights, each Sun with the slit that suits it best; the lowest
    /// with the camera's own.
    fn worst_stops(&self, point: &Point) -> f64 {
        let suns = self.wants.light.sun_elevations_rad.iter();
        let each = suns.filter_map(|sun_rad| Some(self.opening_for(point, *sun_rad)?.1));
        each.fold(0.0, |worst: f64, stops| if stops.abs() > worst.abs() { stops } else { worst })
    }

    /// Slit (or time) for a Sun, and its worst error over both heights, stops.
    pub fn opening_for(&self, point: &Point, sun_rad: f64) -> Option<(Opening, f64)> {
        let needed_s = self.needed_s(point.film, point.f_number, sun_rad)?;
        let off = |opening: Opening| {
            let at = |height: &Height| {
                let time_s = self.openings.time_s(opening, height, point.focal_length_m, needed_s);
                self.openings.stops_off(time_s, needed_s)
            };
            let (high, low) = (at(&self.high), at(&self.low));
            if high.abs() >= low.abs() { high } else { low }
        };
        if sun_rad == self.lowest_sun_rad {
            return Some((point.opening, off(point.opening)));
        }
        let each = self.openings.all().map(|opening| (opening, off(opening)));
        each.min_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
    }
}

fn by_squares(lens_per_m: f64, film_per_m: f64, smear_m: f64) -> f64 {
    // A smear of length s counts as a limit of 1/s; zero takes no part. A lens that resolves nothing ends it.
    LP_MM
        * resolution::Rule::ReciprocalSquare.combine_lp_mm(&[
            lens_per_m / LP_MM,
            film_per_m / LP_MM,
            1.0 / (smear_m * LP_MM),
        ])
}
