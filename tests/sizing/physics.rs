//! What physics guarantees, over many cameras.

use proptest::prelude::*;
use stillframe::design::camera::light::Opening;
use stillframe::design::camera::model::{Candidate, Model, Point};
use stillframe::design::camera::terms::{Term, Terms};
use stillframe::design::camera::wants::{Correction, FilmData, Wants};

use crate::setup::{camera, fitted, wants};

fn any_wants() -> impl Strategy<Value = Wants> {
    (
        (60e3..200e3, 0.02..0.08, 1.05..3.0, any::<bool>()),
        160e3..400e3,
        (0.0..0.03, 0.0..0.02, 0.0..0.05, 0.0..5e-6),
        (0.0..23e-6, 0.0..10.0, 0.0..30e-6),
        5.0..80.0,
    )
        .prop_map(|(lens, height, smear, focus, sun_deg)| {
            let mut wants = fitted(wants());
            (wants.lens.resolution_lp_m, wants.lens.threshold, wants.mission.target_contrast) =
                (lens.0, lens.1, lens.2 + 0.5);
            wants.lens.correction = if lens.3 { Correction::Scaled } else { Correction::Renewed };
            (wants.mission.lowest_m, wants.mission.highest_m) = (height, height);
            (wants.smear.v_over_h, wants.smear.film_speed) = (smear.0, smear.1);
            (wants.smear.yaw_rad, wants.smear.vibration_rad) = (smear.2, smear.3);
            (wants.focus.expansion_per_k, wants.focus.temperature_change_k, wants.focus.flatness_m) = focus;
            let sun_deg: f64 = sun_deg;
            wants.light.sun_elevations_rad = vec![sun_deg.to_radians()];
            wants
        })
}

fn any_point() -> impl Strategy<Value = Point> {
    (0.3..2.4, 3.0..9.0, 0_usize..4).prop_map(|(focal_length_m, f_number, film)| Point {
        focal_length_m,
        f_number,
        film,
        opening: Opening::Fitted,
    })
}

/// Both axes by both rules.
fn distances(c: &Candidate) -> [f64; 4] {
    [c.squares_grd_m.along, c.squares_grd_m.across, c.modulation_grd_m.along, c.modulation_grd_m.across]
}

/// No distance of `better` is coarser than that of `worse`. Roots are found to 1e-7.
#[track_caller]
fn never_worse(better: &Candidate, worse: &Candidate) {
    for (fine, coarse) in distances(better).into_iter().zip(distances(worse)) {
        assert!(fine <= coarse * (1.0 + 1e-6) || coarse.is_infinite(), "{fine} is coarser than {coarse}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn a_longer_lens_has_a_larger_scale_and_less_ground(wants in any_wants(), point in any_point(), more in 1.01..2.0) {
        let model = Model::new(&wants);
        let longer = Point { focal_length_m: point.focal_length_m * more, ..point };
        let (short, long) = (camera(&wants, point, Terms::ALL), camera(&wants, longer, Terms::ALL));
        prop_assert!(model.high.altitude_m / longer.focal_length_m < model.high.altitude_m / point.focal_length_m);
        prop_assert!(long.swath_m < short.swath_m && long.half_field_rad < short.half_field_rad);
        prop_assert!(long.length_m > short.length_m && long.mass_kg > short.mass_kg && long.film_m > short.film_m);
        // With a blur that does not grow with the lens, and focus that does not either, it resolves more.
        if wants.lens.correction == Correction::Renewed {
            let still = Terms::ALL.without(Term::ThermalFocus);
            never_worse(&camera(&wants, longer, still), &camera(&wants, point, still));
        }
    }

    #[test]
    fn no_term_helps(wants in any_wants(), point in any_point()) {
        let all = camera(&wants, point, Terms::ALL);
        for term in Term::ALL {
            never_worse(&camera(&wants, point, Terms::ALL.without(term)), &all);
        }
    }

    #[test]
    fn a_better_film_or_lens_is_never_worse(wants in any_wants(), point in any_point(), more in 1.0..1.5_f64) {
        let before = camera(&wants, point, Terms::ALL);
        let mut film = wants.clone();
        if let FilmData::ResolvingPower(power) = &mut film.films[point.film].kind {
            power.low_contrast_lp_m *= more;
            power.high_contrast_lp_m *= more;
        }
        never_worse(&camera(&film, point, Terms::ALL), &before);
        let mut lens = wants.clone();
        lens.lens.resolution_lp_m = (wants.lens.resolution_lp_m * more).min(200e3);
        never_worse(&camera(&lens, point, Terms::ALL), &before);
    }

    /// Judged at the worse of both heights. At rest that is the greatest; smear on the ground by relief and by speed falls
    /// with height, and may turn it round.
    #[test]
    fn the_worst_height_is_judged(wants in any_wants(), point in any_point(), more_m in 0.0..60e3) {
        let mut wants = wants;
        wants.mission.highest_m += more_m;
        let at = |height_m: f64| {
            let mut one = wants.clone();
            (one.mission.lowest_m, one.mission.highest_m) = (height_m, height_m);
            camera(&one, point, Terms::ALL)
        };
        let (low, high) = (at(wants.mission.lowest_m), at(wants.mission.highest_m));
        let both = camera(&wants, point, Terms::ALL);
        prop_assert_eq!(both.grd_m, low.grd_m.max(high.grd_m));
        let still = camera(&wants, point, Terms::STATIC);
        prop_assert_eq!(still.height.altitude_m, wants.mission.highest_m);
    }

    #[test]
    fn light_and_aperture_shorten_the_exposure(wants in any_wants(), point in any_point(), more in 1.05..2.0_f64) {
        let before = camera(&wants, point, Terms::ALL);
        let mut high = wants.clone();
        high.light.sun_elevations_rad[0] = (wants.light.sun_elevations_rad[0] * more).min(1.5);
        let lit = camera(&high, point, Terms::ALL);
        prop_assert!(lit.exposure_s < before.exposure_s);
        never_worse(&lit, &before);
        let fast = camera(&wants, Point { f_number: point.f_number / more, ..point }, Terms::ALL);
        prop_assert!((fast.exposure_s * more * more / before.exposure_s - 1.0).abs() < 1e-12);
        prop_assert!(fast.aperture_m > before.aperture_m && fast.mass_kg > before.mass_kg);
        prop_assert!(fast.depth_of_focus_m < before.depth_of_focus_m);
        let mut quick = wants.clone();
        quick.films[point.film].common.speed_eafs *= more;
        prop_assert!(camera(&quick, point, Terms::ALL).exposure_s < before.exposure_s);
    }

    #[test]
    fn along_knows_nothing_of_roll_nor_across_of_pitch(wants in any_wants(), point in any_point()) {
        let before = camera(&wants, point, Terms::ALL);
        let mut turned = wants.clone();
        turned.smear.roll_rate_rad_s += 0.001;
        let rolled = camera(&turned, point, Terms::ALL);
        prop_assert_eq!(rolled.squares_grd_m.along, before.squares_grd_m.along);
        prop_assert!(rolled.squares_grd_m.across > before.squares_grd_m.across);
        let mut turned = wants.clone();
        turned.smear.pitch_rate_rad_s += 0.001;
        let pitched = camera(&turned, point, Terms::ALL);
        prop_assert_eq!(pitched.squares_grd_m.across, before.squares_grd_m.across);
        prop_assert!(pitched.squares_grd_m.along > before.squares_grd_m.along);
    }

    /// Where resolution by modulation ends, the image has just what the film needs: by a formula written out here.
    #[test]
    fn the_root_is_a_root(wants in any_wants(), point in any_point()) {
        let model = Model::new(&wants);
        let c = camera(&wants, point, Terms::ALL);
        let lens = model.lens(point.focal_length_m, point.f_number, Terms::ALL);
        for (per_m, smear_m) in [(c.modulation_per_m.along, c.smear_m.along), (c.modulation_per_m.across, c.smear_m.across)] {
            let x = std::f64::consts::PI * per_m * smear_m;
            let smear = if x > 1e-9 { x.sin() / x } else { 1.0 };
            let left = model.modulation * lens.mtf(per_m) * smear;
            let needed = model.modulation_needed(point.film, per_m, Terms::ALL);
            prop_assert!(per_m == 0.0 || (left / needed - 1.0).abs() < 1e-5, "{left} {needed} at {per_m}");
        }
    }
}
