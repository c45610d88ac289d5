//! Rendered pictures: the target's geometry, the transfer of every part, and the reading against the computed resolution.

use nalgebra::Vector2;
use stillframe::imaging::camera::Camera;
use stillframe::imaging::mtf;
use stillframe::imaging::picture::reading::{Reading, read};
use stillframe::imaging::picture::target::{BARS, Layout, STEP, Target};
use stillframe::imaging::picture::{Key, Order, optics, pixel_m, render};
use stillframe::imaging::resolution::{Limits, ground_resolved_distance_m};
use stillframe::imaging::sample::NODES;

use crate::setup::{close, within};

/// Height over focal length: 240 km, 1 m.
const SCALE: f64 = 240e3;
/// Copies of the target in a picture that is read.
const COPIES: usize = 8;

fn target() -> Target {
    Target::about(2.5)
}

/// An even path, from nothing to (along, across).
fn even(along_m: f64, across_m: f64) -> [Vector2<f64>; NODES] {
    [0.0, 0.25, 0.5, 0.75, 1.0].map(|share| Vector2::new(along_m, across_m) * share)
}

fn read_with(camera: &Camera, path_m: [Vector2<f64>; NODES], frame: u32) -> Reading {
    let target = target();
    let order = Order {
        camera,
        target: &target,
        ground_per_image: Vector2::new(SCALE, SCALE),
        path_m,
        copies: COPIES,
        key: Key { seed: 1, frame, place: 0 },
    };
    let (picture, layout) = render(&order);
    read(&picture, &layout, target.line_pairs_m.len())
}

fn computed_m(camera: &Camera, smear_m: f64) -> f64 {
    let limits = Limits {
        lens_lp_mm: camera.lens_resolution_lp_mm,
        film_lp_mm: camera.film_resolution_lp_mm,
        smear_m,
        vibration_m: camera.vibration_m,
    };
    ground_resolved_distance_m(SCALE, limits.resolution_lp_mm(camera.rule))
}

/// MIL-STD-150A: three bars, five widths long, spaces as wide as bars, sizes falling by the sixth root of two. The
/// proportions are taken from the picture, not from the layout: what is drawn is measured.
#[test]
fn three_bar_geometry() {
    let target = target();
    close(target.line_pairs_m[0], 5.0, 1e-12);
    close(target.line_pairs_m[6], 2.5, 1e-12);
    close(target.line_pairs_m[12], 1.25, 1e-12);
    for pair in target.line_pairs_m.windows(2) {
        close(pair[0] / pair[1], 2_f64.powf(1.0 / 6.0), 1e-12);
    }
    close(STEP, mtf::three_bar_lp_mm(0, 2) / mtf::three_bar_lp_mm(0, 1), 1e-12);
    // Scales that differ along and across: the bars keep their proportions on the ground, not on the film.
    let (scale, pixel) = (Vector2::new(240e3, 300e3), 1.0e-6);
    let layout = Layout::new(&target, &scale, pixel, 2);
    let light = layout.draw();
    for set in layout.sets.iter().take(2 * target.line_pairs_m.len()) {
        let line_pair_m = target.line_pairs_m[set.size];
        let ground = |px: f64, axis: usize| px * pixel * scale[axis];
        close(ground(set.bar_px, set.axis), 0.5 * line_pair_m, 1e-12);
        close(ground(set.length_px, 1 - set.axis), 2.5 * line_pair_m, 1e-12);
        // Crossing the set along its axis through its middle, light comes and goes three times, half of the way lit.
        let (long_px, run) = (set.length_px, 5.0 * set.bar_px);
        let crossing: Vec<f64> = (0..500)
            .map(|step| {
                let at = run * (f64::from(step) + 0.5) / 500.0;
                let (x, y) = if set.axis == 0 { (0.5 * long_px, at) } else { (at, 0.5 * long_px) };
                light.share[(set.top_px + y) as usize * light.width + (set.left_px + x) as usize]
            })
            .collect();
        let rises = crossing.windows(2).filter(|pair| pair[0] < 0.5 && pair[1] >= 0.5).count();
        assert_eq!(rises + usize::from(crossing[0] >= 0.5), BARS);
        within(crossing.iter().sum::<f64>() / 500.0, 0.6, 0.06);
    }
}

/// Lens and film each have at their stated resolution what is said of them, and an even path has the sinc.
#[test]
fn transfers() {
    let camera = Camera::default();
    close(optics::lens(&camera, 130e3), (-std::f64::consts::PI.powi(2) / 6.0).exp(), 1e-5);
    assert_eq!(optics::lens(&camera, 363.7e3), 0.0); // 1/λN at 550 nm and f/5 is 363.6 lp/mm.
    assert!((0.2..0.4).contains(&optics::film(&camera, 160e3)), "{}", optics::film(&camera, 160e3));
    // 5 µm at 50 lp/mm passes 0.900316316 (the sinc in closed form).
    let along = optics::motion(&even(5e-6, 0.0), &Vector2::new(50e3, 0.0));
    // Sixteen moments stand for the mean: (π·0.25/16)²/6 = 4e-4.
    close(along.norm(), 0.900_316_316, 5e-4);
    close(optics::motion(&even(5e-6, 0.0), &Vector2::new(0.0, 50e3)).norm(), 1.0, 1e-12);
    // A path that goes out and back has the transfer of half its way, not none at all.
    let back = [0.0, 0.5, 1.0, 0.5, 0.0].map(|share| Vector2::new(10e-6 * share, 0.0));
    let blur = optics::motion(&back, &Vector2::new(50e3, 0.0)).norm();
    assert!(blur < 0.8 && blur > 0.4, "{blur}");
}

/// Over smears from nothing to 15 µm, along, across and aslant, the smallest bars read in the picture are those that the
/// reciprocal squares promise, within one size.
#[test]
fn the_reading_agrees_with_the_computed_resolution() {
    let camera = Camera::default();
    let mut off = std::collections::BTreeMap::new();
    let mut frame = 0;
    for smear_um in [0.0, 1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 15.0] {
        for (along, across) in [(1.0, 0.0), (0.0, 1.0), (1.0, 0.5), (-0.3, -1.0)] {
            frame += 1;
            let smear_m = Vector2::new(along, across) * (1e-6 * smear_um);
            let reading = read_with(&camera, even(smear_m.x, smear_m.y), frame);
            for axis in [0, 1] {
                let grd_m = computed_m(&camera, smear_m[axis].abs());
                let steps = reading.steps_off(&target(), axis, grd_m);
                *off.entry(steps).or_insert(0) += 1;
                assert!(steps.abs() <= 1, "{smear_um} µm, axis {axis}: {steps} sizes off {grd_m:.2} m: {reading:.2?}");
            }
        }
    }
    println!("sizes by which the reading differs from the computed: {off:?}");
}

/// The control: a picture smeared three times as much as the computation knows of does not pass.
#[test]
fn a_wrong_smear_is_found_out() {
    let camera = Camera::default();
    for smear_um in [5.0, 8.0] {
        let smear_m = 1e-6 * smear_um;
        let reading = read_with(&camera, even(3.0 * smear_m, 0.0), 900);
        let steps = reading.steps_off(&target(), 0, computed_m(&camera, smear_m));
        assert!(steps < -1, "{smear_um} µm: {steps}");
        // Across, where nothing is wrong, it still agrees.
        assert!(reading.steps_off(&target(), 1, computed_m(&camera, 0.0)).abs() <= 1);
    }
    // And one that was not smeared although it should have been reads too fine.
    let reading = read_with(&camera, even(0.0, 0.0), 901);
    assert!(reading.steps_off(&target(), 0, computed_m(&camera, 12e-6)) > 1);
}

/// Film alone, behind a lens that could resolve ten times as much, reads its stated resolution, for fine and coarse film.
#[test]
fn film_alone_is_read_as_stated() {
    for (film_lp_mm, granularity) in [(100.0, 0.006), (125.0, 0.004), (80.0, 0.01)] {
        let camera = Camera {
            lens_resolution_lp_mm: 1_600.0,
            f_number: 1.0,
            film_resolution_lp_mm: film_lp_mm,
            film_granularity: granularity,
            vibration_m: 0.0,
            ..Camera::default()
        };
        let off: Vec<i32> = (0..5)
            .map(|frame| read_with(&camera, even(0.0, 0.0), frame).steps_off(&target(), 0, computed_m(&camera, 0.0)))
            .collect();
        println!("film alone, {film_lp_mm} lp/mm: {off:?}");
        assert!(off.iter().all(|steps| steps.abs() <= 1), "{film_lp_mm} lp/mm: {off:?}");
    }
}

#[test]
fn a_picture_depends_on_its_keys_alone() {
    let camera = Camera::default();
    let target = target();
    let make = |frame, place| {
        let order = Order {
            camera: &camera,
            target: &target,
            ground_per_image: Vector2::new(SCALE, SCALE),
            path_m: even(2e-6, 1e-6),
            copies: 2,
            key: Key { seed: 1, frame, place },
        };
        render(&order).0
    };
    let one = make(7, 3);
    assert_eq!(one, make(7, 3));
    assert_ne!(one, make(8, 3));
    assert_ne!(one, make(7, 4));
    within(pixel_m(&camera), 1.239e-6, 0.001e-6);
}
