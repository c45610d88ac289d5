//! Outside values, each with its source, and independent computations.

use std::f64::consts::PI;

use stillframe::design::camera::blur::motions;
use stillframe::design::camera::film::Threshold;
use stillframe::design::camera::geometry::Height;
use stillframe::design::camera::lens::Lens;
use stillframe::design::camera::light::Opening;
use stillframe::design::camera::mass::film_load_m;
use stillframe::design::camera::model::{Model, Point};
use stillframe::design::camera::terms::{Term, Terms};
use stillframe::design::camera::wants::{ExposureKind, FilmCurves, FilmData, FrameWants, ResolvingPower};
use stillframe::imaging::exposure::lens_illuminance_lx;
use stillframe::imaging::mtf;

use crate::setup::{HAND, camera, close, fitted, wants, within};

/// Closed forms of kinematics: f·n·R/h = 22.64277311778 mm/s and 0.03773795519629 rad/s at 600 mm, 200 km.
#[test]
fn image_speed() {
    let height = Height::new(200e3);
    close(height.image_speed_m_s(0.6) * 1e3, 22.642_773_117_78, 1e-9);
    close(height.v_over_h_rad_s, 0.037_737_955_196_29, 1e-9);
}

/// The same closed forms for smear over 2 ms: pitch 0.01 °/s 0.2094395102393 µm (Hutchinson, Hager & Corke 1996); yaw
/// 1° 0.7903417586372 µm; 1 % of V/h 0.452855462356 µm.
#[test]
fn smear() {
    let mut smear = wants().smear;
    (smear.pitch_rate_rad_s, smear.yaw_rad) = (0.01_f64.to_radians(), 1_f64.to_radians());
    let terms = motions(&smear, &Height::new(200e3), 0.6, 2e-3, Terms::ALL);
    let of = |term: Term| terms.iter().find(|(of, _)| *of == term).expect("a motion").1;
    close(of(Term::PitchRate).along * 1e6, 0.209_439_510_239_3, 1e-9);
    close(of(Term::Yaw).across * 1e6, 0.790_341_758_637_2, 1e-9);
    close(of(Term::VOverH).along * 1e6, 0.452_855_462_356, 1e-9);
}

/// A frame of 110 mm at 60 % overlap, 600 mm from 200 km, comes every 1.943224876703 s.
#[test]
fn film_of_a_framing_camera() {
    let mut wants = wants();
    let frame = FrameWants { shutter_s: Vec::new(), efficiency: 0.9, length_m: 0.110, gap_m: 0.0, overlap: 0.6 };
    (wants.mission.camera_time_s, wants.mission.starts, wants.build.film_reserve) = (1_943.224_876_703, 0, 0.0);
    let height = Height::new(200e3);
    let film_m = film_load_m(&wants.mission, &wants.build, &ExposureKind::Frame(frame), &height, 0.6);
    close(film_m, 1_000.0 * 0.110, 1e-9);
}

/// Cut-off at 550 nm, f/4: 454.5454545455 c/mm; half-way up to it 0.3910022189558.
#[test]
fn diffraction() {
    let lens = Lens { wavelength_m: 550e-9, f_number: 4.0, diffraction: true, sigma_m: 0.0, defocus_m: 0.0 };
    close(lens.mtf(0.5 * 454.545_454_545_5e3), 0.391_002_218_955_8, 1e-9);
    assert!(lens.mtf(454.54e3) > 0.0);
    assert_eq!(lens.mtf(454.55e3), 0.0);
}

/// A perfect lens resolves to where its transfer function, known in closed form, falls to the threshold: with the share
/// 0.3910022189558 needed, half the cut-off.
#[test]
fn resolution_of_a_perfect_lens() {
    let lens = Lens { wavelength_m: 550e-9, f_number: 4.0, diffraction: true, sigma_m: 0.0, defocus_m: 0.0 };
    let per_m = lens.resolution_per_m(0.25, 0.25 * 0.391_002_218_955_8);
    close(per_m, 0.5 * 454.545_454_545_5e3, 1e-6);
    let none = Lens { diffraction: false, ..lens };
    assert_eq!(none.resolution_per_m(0.25, 0.05), f64::INFINITY);
    assert_eq!(lens.resolution_per_m(0.04, 0.05), 0.0);
}

/// Against the autocorrelation of a round pupil with a quadratic phase, summed over a grid: the way the transfer
/// function is defined. Up to the depth of focus the form used is within 0.06.
#[test]
fn defocus_against_the_pupils_autocorrelation() {
    let (wavelength_m, f_number) = (550e-9, 5.0);
    let cutoff = mtf::diffraction_cutoff_per_m(wavelength_m, f_number);
    let depth_m = mtf::depth_of_focus_m(wavelength_m, f_number);
    let mut worst: f64 = 0.0;
    for share in [0.0, 0.25, 0.5, 1.0] {
        for tenth in 1..10 {
            let s = 0.1 * f64::from(tenth);
            let exact = round_pupil(s, share * depth_m / (8.0 * f_number * f_number) / wavelength_m);
            let used = mtf::diffraction(s * cutoff, wavelength_m, f_number)
                * mtf::defocus(s * cutoff, share * depth_m, wavelength_m, f_number);
            let tolerance = if share == 0.0 { 2e-3 } else { 0.06 }; // The sum's own step, or the form's claim.
            within(used, exact, tolerance);
            worst = worst.max((used - exact).abs());
        }
    }
    // And it is defocus that is tested: a form without it would miss by more.
    let bare = mtf::diffraction(0.4 * cutoff, wavelength_m, f_number);
    assert!(bare - round_pupil(0.4, 0.25) > 2.0 * worst, "{worst}");
}

/// Transfer function at `s` of the cut-off of a round pupil with `waves` of defocus at its edge.
fn round_pupil(s: f64, waves: f64) -> f64 {
    const N: i32 = 400;
    let (mut real, mut area) = (0.0, 0.0);
    for i in -N..N {
        for j in -N..N {
            let (x, y) = ((f64::from(i) + 0.5) / f64::from(N), (f64::from(j) + 0.5) / f64::from(N));
            // Two pupils of radius 1, 2s apart, about the middle between them; their phases differ by 4·s·x·waves turns.
            let inside = (x.abs() + s).powi(2) + y * y <= 1.0;
            real += if inside { (2.0 * PI * waves * 4.0 * s * x).cos() } else { 0.0 };
            area += if x * x + y * y <= 1.0 { 1.0 } else { 0.0 };
        }
    }
    (real / area).abs()
}

/// Focus far out takes all contrast somewhere; beyond that nothing is called resolved though contrast comes back.
#[test]
fn false_resolution_is_none() {
    let lens = Lens { wavelength_m: 550e-9, f_number: 4.0, diffraction: true, sigma_m: 0.0, defocus_m: 200e-6 };
    let zero = lens.first_zero_per_m();
    within(lens.mtf(zero), 0.0, 1e-6);
    let per_m = lens.resolution_per_m(1.0, 0.002);
    assert!(per_m < zero && per_m > 0.8 * zero, "{per_m} {zero}");
    assert!((2..40).any(|k| lens.mtf(zero * f64::from(k) * 0.5) > 0.002), "contrast does come back");
}

/// Reciprocal squares of 160 and 90 lp/mm: 78.44179834121 (78 in a public worked example).
#[test]
fn reciprocal_squares() {
    let mut wants = fitted(wants());
    wants.lens.resolution_lp_m = 160e3;
    wants.films.truncate(1);
    wants.films[0].kind =
        FilmData::ResolvingPower(ResolvingPower { low_contrast_lp_m: 90e3, high_contrast_lp_m: 250e3 });
    let point = Point { opening: Opening::Fitted, ..HAND };
    let still = camera(&wants, point, crate::setup::in_focus().and(Terms::STATIC));
    // The lens's own resolution is found to 1e-7.
    close(still.squares_per_m.along * 1e-3, 78.441_798_341_21, 1e-6);
}

/// Film by its curves: the threshold over the transfer function is what the image needs; by two resolving powers: a
/// straight line between them in the logarithms.
#[test]
fn needed_modulation() {
    let mut wants = wants();
    let film = &mut wants.films[0];
    let two = Threshold::of(film);
    close(two.needed(160e3), 0.230_769_230_769_2, 1e-9); // 1.6:1
    close(two.needed(400e3), 0.998_001_998_002, 1e-9); // 1000:1
    close(two.needed((160e3_f64 * 400e3).sqrt()), (0.230_769_230_769_2_f64 * 0.998_001_998_002).sqrt(), 1e-9);
    close(two.resolution_per_m(1.0 / 3.0), two.resolution_per_m(mtf::target_modulation(2.0)), 1e-12);
    film.kind = FilmData::Curves(FilmCurves {
        at_lp_m: vec![10e3, 100e3, 200e3],
        mtf: vec![0.95, 0.5, 0.25],
        threshold: vec![0.02, 0.05, 0.1],
    });
    let curves = Threshold::of(film);
    close(curves.needed(100e3), 0.1, 1e-12);
    close(curves.needed(200e3), 0.4, 1e-12);
    close(curves.resolution_per_m(0.1), 100e3, 1e-9);
    assert!(curves.needed(10e3) < curves.needed(50e3) && curves.needed(400e3) > 0.4);
}

/// ISO 2720:1974: a scene of 3200 cd/m² suits f/16, 1/125 s at speed 125 (K = 12.5); a camera that passes 0.65·L·t/N²
/// then gives the film 0.064 lx·s = 8/125 (printed 0.065).
#[test]
fn exposure_of_a_metered_scene() {
    let transmission = 0.65 * 4.0 / PI;
    within(lens_illuminance_lx(3_200.0, transmission, 16.0, 1.0) / 125.0, 0.065, 0.0005);
    close(lens_illuminance_lx(3_200.0, transmission, 16.0, 1.0) / 125.0, 0.064, 0.02);
}

/// Aerial speed 1.5/H (from memory): the time asked for puts H = 0.02 lx·s on dark detail at speed 75. Light by hand:
/// 42,101.42 lx of direct sunlight at 30° (Kasten & Young) and 800 + 15,500·√½ of skylight, ρ 4.69 %, T 0.8, filter 2.
#[test]
fn exposure_time() {
    let mut wants = wants();
    wants.films[0].common.speed_eafs = 75.0;
    wants.light.sky_clearness = 1.0;
    let time_s = Model::new(&wants).needed_s(0, 5.0, 30_f64.to_radians()).expect("a Sun of the wants");
    let ground_lx = 42_101.424_841_36 + 800.0 + 15_500.0 * 0.5_f64.sqrt();
    let film_lx = 0.0469 * ground_lx * 0.8 / (4.0 * 25.0) / 2.0;
    close(time_s * film_lx, 0.02, 1e-8);
}
