//! The built-in wants, and cameras made from them.

use stillframe::design::camera::demo::demo;
use stillframe::design::camera::light::Opening;
use stillframe::design::camera::model::{Candidate, Model, Point};
use stillframe::design::camera::terms::{Term, Terms};
use stillframe::design::camera::wants::{ExposureKind, Wants};

/// The built-in wants.
pub fn wants() -> Wants {
    demo().expect("the built-in wants are sound")
}

/// The built-in wants over a grid that a test can afford, exposed exactly as the light asks.
pub fn small() -> Wants {
    let mut wants = wants();
    wants.search.focal_length_step_m = 0.02;
    wants.search.f_number_step = 0.4;
    fitted(wants)
}

/// With slits as wide as the light asks in place of a list.
pub fn fitted(mut wants: Wants) -> Wants {
    if let ExposureKind::Strip(strip) = &mut wants.exposure.kind {
        strip.slit_widths_m.clear();
    }
    wants
}

/// The camera of the hand arithmetic, 1 m f/5 on the first film with its slit of 0.137 mm.
pub const HAND: Point = Point { focal_length_m: 1.0, f_number: 5.0, film: 0, opening: Opening::Listed(3) };

/// Terms of the hand arithmetic, which has the lens in best focus.
pub fn in_focus() -> Terms {
    [Term::ThermalFocus, Term::FilmFlatness, Term::FocusSetting].into_iter().fold(Terms::ALL, Terms::without)
}

/// A camera of these wants.
#[track_caller]
pub fn camera(wants: &Wants, point: Point, terms: Terms) -> Candidate {
    Model::new(wants).evaluate(point, terms).expect("a film of the wants")
}

/// `value` within `tolerance` of `expected`.
#[track_caller]
pub fn within(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} is not {expected} ± {tolerance}");
}

/// `value` within a relative `tolerance` of `expected`.
#[track_caller]
pub fn close(value: f64, expected: f64, tolerance: f64) {
    within(value, expected, tolerance * expected.abs());
}
