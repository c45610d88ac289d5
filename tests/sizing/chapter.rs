//! The handbook's chapter says what the program computes.

use stillframe::design::camera::model::Candidate;
use stillframe::design::camera::terms::{Term, Terms};
use stillframe::design::camera::wants::{Correction, Rule};
use stillframe::design::camera::{Study, size};

use crate::setup::{HAND, camera, in_focus, wants};

struct Chapter(String);

impl Chapter {
    fn open() -> Self {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/src/sizing.md");
        Self(std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{path}: {error}")))
    }

    #[track_caller]
    fn says(&self, words: &str) {
        assert!(self.0.contains(words), "docs/src/sizing.md does not say: {words}");
    }
}

fn lens(c: &Candidate) -> String {
    format!("{:.0} mm f/{}", c.point.focal_length_m * 1e3, c.point.f_number)
}

fn taken(study: &Study) -> &Candidate {
    study.chosen.and_then(|index| study.at(index)).expect("a camera")
}

#[test]
fn the_camera_taken_and_the_prices() {
    let (chapter, wants) = (Chapter::open(), wants());
    let study = size(&wants, Terms::ALL);
    let c = taken(&study);
    chapter.says(&format!("**{}**, {:.2} m, {:.1} kg", lens(c), c.grd_m, c.mass_kg));
    let budget = study.budget.as_ref().expect("a budget");
    let limiting = budget.limiting().expect("a term");
    assert_eq!(limiting.term, Term::Aberration);
    chapter.says(&format!("aberration: without it {:.2} m", c.grd_m - budget.worth_m(limiting)));
    for price in &study.prices {
        let at = price.camera.and_then(|index| study.at(index)).expect("a camera");
        let film_mm = wants.films[at.point.film].width_m * 1e3;
        chapter.says(&format!("| {} m | {} on {film_mm:.0} mm film, {:.0} kg |", price.grd_m, lens(at), at.mass_kg));
    }
    let smear_m = c.grd_m - camera(&wants, c.point, Terms::STATIC).grd_m;
    chapter.says(&format!("All the smear together is worth {:.0} cm", smear_m * 100.0));
}

#[test]
fn the_hand_arithmetic_and_the_two_rules() {
    let (chapter, mut wants) = (Chapter::open(), wants());
    let rest = camera(&wants, HAND, in_focus().and(Terms::STATIC));
    let c = camera(&wants, HAND, in_focus());
    chapter.says(&format!("{:.0} lp/mm, {:.2} m", rest.squares_per_m.along * 1e-3, rest.squares_grd_m.along));
    chapter.says(&format!("{:.2} m along, {:.2} m across", c.squares_grd_m.along, c.squares_grd_m.across));
    chapter.says(&format!(
        "±{:.1} µm; expected error {:.1}",
        c.depth_of_focus_m * 1e6,
        camera(&wants, HAND, Terms::ALL).focus_error_m * 1e6
    ));
    chapter.says(&format!("{:.0} m, {:.1} kg", c.film_m, c.mass.film_kg));
    let (coarse, fine) = (c.modulation_grd_m.across, c.squares_grd_m.across);
    chapter.says(&format!(
        "it gives {coarse:.2} m where the squares give {fine:.2}: {:.0} % coarser",
        100.0 * (coarse / fine - 1.0)
    ));
    chapter.says(&format!("at {:.0} lp/mm this film asks for 9 %", c.modulation_per_m.along * 1e-3));
    wants.mission.judged_by = Rule::Modulation;
    let study = size(&wants, Terms::ALL);
    assert!(study.chosen.is_none());
    chapter.says(&format!("the nearest is {:.2} m", study.camera().expect("a nearest").grd_m));
}

#[test]
fn the_scaled_design() {
    let (chapter, mut wants) = (Chapter::open(), wants());
    wants.lens.correction = Correction::Scaled;
    let study = size(&wants, Terms::ALL);
    let c = taken(&study);
    chapter.says(&format!("take {} and {:.0} kg", lens(c), c.mass_kg));
}
