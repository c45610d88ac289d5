//! The set of best cameras, the choice among them, and what is said when there is none.

use proptest::prelude::*;
use stillframe::design::camera::choice::{Requirement, lightest};
use stillframe::design::camera::model::{Candidate, Model};
use stillframe::design::camera::search::{pareto, search};
use stillframe::design::camera::summary::SizingSummary;
use stillframe::design::camera::terms::{Term, Terms};
use stillframe::design::camera::wants::Wants;
use stillframe::design::camera::{Study, render, size};

use crate::setup::{HAND, camera, small, wants};

/// Whether `a` beats `b`: no worse in both, better in one.
fn beats(a: &Candidate, b: &Candidate) -> bool {
    a.mass_kg <= b.mass_kg && a.grd_m <= b.grd_m && (a.mass_kg < b.mass_kg || a.grd_m < b.grd_m)
}

/// No member is beaten; every other one is.
#[track_caller]
fn is_the_best(candidates: &[Candidate], front: &[usize], allowed: impl Fn(&Candidate) -> bool) {
    for (index, candidate) in candidates.iter().enumerate().filter(|(_, c)| c.grd_m.is_finite() && allowed(c)) {
        let beaten =
            candidates.iter().any(|other| other.grd_m.is_finite() && allowed(other) && beats(other, candidate));
        assert_eq!(front.contains(&index), !beaten, "camera {index}");
    }
    assert!(front.iter().all(|index| allowed(&candidates[*index])));
}

#[test]
fn the_best_of_a_search_are_the_best() {
    let wants = small();
    let study = size(&wants, Terms::ALL);
    let traded = [Requirement::Resolution, Requirement::Mass];
    let asked = |requirements: &[Requirement], c: &Candidate| {
        requirements.iter().filter(|r| !traded.contains(r)).all(|r| r.met(&wants, c))
    };
    assert!(study.candidates.len() > 1_000 && study.front.len() > 5 && study.free_front.len() > study.front.len());
    is_the_best(&study.candidates, &study.front, |c| asked(&Requirement::ALL, c));
    is_the_best(&study.candidates, &study.free_front, |c| asked(&Requirement::OPTICAL, c));
    let chosen = study.chosen.expect("a camera");
    assert!(study.front.contains(&chosen));
}

proptest! {
    /// Small whole numbers make ties and twins common.
    #[test]
    fn the_best_of_any_set_are_the_best(values in prop::collection::vec((1_u8..8, 1_u8..8), 0..40)) {
        let like = camera(&wants(), HAND, Terms::ALL);
        let made = values.iter().map(|(mass, grd)| Candidate { mass_kg: f64::from(*mass), grd_m: f64::from(*grd), ..like });
        let candidates: Vec<Candidate> = made.collect();
        is_the_best(&candidates, &pareto(&candidates, |_| true), |_| true);
        is_the_best(&candidates, &pareto(&candidates, |c| c.mass_kg > 3.0), |c| c.mass_kg > 3.0);
    }
}

#[test]
fn the_camera_taken_meets_all_and_none_lighter_does() {
    let wants = small();
    let study = size(&wants, Terms::ALL);
    let chosen = study.chosen.and_then(|index| study.at(index)).expect("a camera");
    for requirement in Requirement::ALL {
        assert!(requirement.met(&wants, chosen), "{requirement:?}");
    }
    let meets = |c: &Candidate| Requirement::ALL.iter().all(|requirement| requirement.met(&wants, c));
    assert!(study.candidates.iter().all(|c| !meets(c) || c.mass_kg >= chosen.mass_kg));
    assert!(study.missed.is_empty() && study.relaxations.is_empty());
}

/// Gives one want up to what a camera has.
fn give(wants: &mut Wants, requirement: Requirement, c: &Candidate) {
    match requirement {
        Requirement::Resolution => wants.mission.grd_m = c.grd_m,
        Requirement::Swath => wants.mission.swath_m = c.swath_m,
        Requirement::HalfField => wants.lens.half_field_rad = c.half_field_rad,
        Requirement::Focus => wants.focus.share = c.focus_error_m / c.depth_of_focus_m,
        Requirement::Exposure => wants.exposure.common.tolerance_stops = c.stops_off.abs(),
        Requirement::Length => wants.limits.length_m = Some(c.length_m),
        Requirement::Mass => wants.limits.mass_kg = Some(c.mass_kg),
        Requirement::Aperture => wants.limits.aperture_m = Some(c.aperture_m),
    }
}

/// When nothing meets the wants, each want said to be enough is enough, given up to the value told; and not by less.
#[test]
fn a_want_said_to_be_enough_is_enough() {
    let mut tried = 0;
    for (grd_m, length_m) in [(1.9, 1.15), (2.1, 1.1), (2.2, 0.95)] {
        let mut wants = small();
        (wants.mission.grd_m, wants.limits.length_m) = (grd_m, Some(length_m));
        let study = size(&wants, Terms::ALL);
        assert!(study.chosen.is_none() && !study.missed.is_empty());
        for relaxation in &study.relaxations {
            let c = study.at(relaxation.camera).expect("a camera");
            let mut given = wants.clone();
            give(&mut given, relaxation.requirement, c);
            assert!(lightest(&given, &study.candidates, &Requirement::ALL).is_some(), "{relaxation:?}");
            // A thousandth less, halfway back, and the door is shut again.
            let (has, asked) = relaxation.requirement.values(&wants, c).expect("asked for");
            assert!(relaxation.requirement.miss(&wants, c) > 0.0, "{has} {asked}");
            tried += 1;
        }
    }
    assert!(tried >= 3, "{tried}");
}

/// The nearest camera misses what is told, and meets the rest.
#[test]
fn what_is_missed_is_told_in_full() {
    let mut wants = small();
    wants.mission.grd_m = 0.5;
    let study = size(&wants, Terms::ALL);
    let c = study.camera().expect("a nearest camera");
    for requirement in Requirement::ALL {
        assert_eq!(study.missed.contains(&requirement), !requirement.met(&wants, c));
    }
    assert!(study.missed.contains(&Requirement::Resolution));
}

/// The term said to limit is the one whose absence gains most, and switched off it is worth nothing more.
#[test]
fn the_limiting_term_is_worth_most() {
    let wants = small();
    let study = size(&wants, Terms::ALL);
    let budget = study.budget.as_ref().expect("a budget");
    let limiting = budget.limiting().expect("a term");
    let model = Model::new(&wants);
    for term in Term::ALL {
        let without = model.evaluate(budget.camera.point, Terms::ALL.without(term)).expect("a camera").grd_m;
        let gain = budget.camera.grd_m - without;
        assert!(gain <= budget.worth_m(limiting) + 1e-12, "{term}");
        let line = budget.lines.iter().find(|line| line.term == term).expect("a line");
        assert_eq!(budget.worth_m(line), gain);
    }
    assert!(budget.worth_m(limiting) > 0.1);
    let off = size(&wants, Terms::ALL.without(limiting.term));
    let budget = off.budget.as_ref().expect("a budget");
    let line = budget.lines.iter().find(|line| line.term == limiting.term).expect("a line");
    assert!(!line.on && budget.worth_m(line) == 0.0);
}

fn on_threads(threads: usize, work: impl FnOnce() -> Study + Send) -> Study {
    rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads").install(work)
}

#[test]
fn any_number_of_threads_gives_the_same() {
    let wants = small();
    let one = on_threads(1, || size(&wants, Terms::ALL));
    for threads in [2, 3, 7] {
        let other = on_threads(threads, || size(&wants, Terms::ALL));
        assert!(other == one, "{threads} threads");
    }
    let summary = SizingSummary::of(&wants, &one);
    assert_eq!(render(&wants, &one, &summary), render(&wants, &one, &summary));
}

/// Strip slits come from the list, and no other film or slit than the wants' is ever used.
#[test]
fn cameras_are_exposed_through_slits_of_the_list() {
    let mut wants = wants();
    wants.search.focal_length_step_m = 0.1;
    wants.search.f_number_step = 0.5;
    let model = Model::new(&wants);
    let slits_mm = [0.0485, 0.0685, 0.0969, 0.137, 0.194, 0.274];
    let found = search(&model, Terms::ALL);
    assert!(found.len() > 500);
    for c in &found {
        let slit_mm = model.openings.slit_m(c.exposure_s, &model.high, c.point.focal_length_m).expect("a slit") * 1e3;
        assert!(slits_mm.iter().any(|listed| (listed - slit_mm).abs() < 1e-9), "{slit_mm}");
    }
}
