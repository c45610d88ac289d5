//! Cost of judging and of picturing one frame: `cargo bench -p stillframe --bench imaging`.

use divan::{Bencher, black_box};
use nalgebra::{Matrix3, Rotation3, UnitQuaternion, Vector2, Vector3};
use stillframe::imaging::Earth;
use stillframe::imaging::camera::{Camera, CameraKind};
use stillframe::imaging::exposure::Scene;
use stillframe::imaging::frame::{FrameInfo, judge};
use stillframe::imaging::picture::reading::read;
use stillframe::imaging::picture::target::Target;
use stillframe::imaging::picture::{Key, Order, render};
use stillframe::imaging::sample::{Exposure, Opening, TruthSample};
use stillframe::imaging::smear::{GroundHeight, smear_at};

fn main() {
    divan::main();
}

/// Over the equator at 220 km, square to the orbit, film at image speed.
fn truth(time_s: f64) -> TruthSample {
    let (radius_m, rate_rad_s) = (6_598_137.0, 1.178e-3);
    let (sin, cos) = (rate_rad_s * time_s).sin_cos();
    let (radial, forward) = (Vector3::new(cos, 0.0, sin), Vector3::new(-sin, 0.0, cos));
    let frame = Matrix3::from_columns(&[forward, -radial.cross(&forward), -radial]);
    TruthSample {
        time_s,
        position_m: radial * radius_m,
        velocity_m_s: forward * (radius_m * rate_rad_s),
        attitude: UnitQuaternion::from_rotation_matrix(&Rotation3::from_matrix_unchecked(frame)),
        rate_rad_s: Vector3::new(0.0, -rate_rad_s, 0.0),
        earth_angle_rad: 7.292e-5 * time_s,
        film_speed_m_s: 0.0341,
    }
}

fn exposure() -> Exposure {
    Exposure::sampled(0.0, 2.3e-3, Opening::Slit { width_m: 7.8e-5 }, truth)
}

/// Smear of a strip frame, three instants of three points, split by cause, with resolution and the verdict.
#[divan::bench]
fn judge_a_strip_frame(bencher: Bencher) {
    let camera = Camera::default();
    let exposures = [exposure(), exposure(), exposure()];
    let info = FrameInfo {
        number: 1,
        height: GroundHeight::default(),
        sun_direction: Vector3::new(0.8, 0.6, 0.0),
        scene: Scene::default(),
        whole: true,
    };
    bencher.bench_local(|| judge(&Earth::WGS84, &camera, black_box(&exposures), &info));
}

/// Path and smear of one exposure at the 25 points of a framing camera's grid.
#[divan::bench]
fn smear_over_a_format(bencher: Bencher) {
    let camera = Camera { kind: CameraKind::Framing, ..Camera::default() };
    let (exposure, grid) = (exposure(), camera.grid());
    bencher.bench_local(|| smear_at(&Earth::WGS84, &camera, black_box(&exposure), &GroundHeight::default(), &grid));
}

fn order<'a>(camera: &'a Camera, target: &'a Target) -> Order<'a> {
    Order {
        camera,
        target,
        ground_per_image: Vector2::new(240e3, 240e3),
        path_m: [0.0, 0.25, 0.5, 0.75, 1.0].map(|share| Vector2::new(2e-6, 1e-6) * share),
        copies: 8,
        key: Key { seed: 1, frame: 1, place: 0 },
    }
}

/// One picture of eight copies of the target, as the contact sheet takes it.
#[divan::bench]
fn render_a_picture(bencher: Bencher) {
    let (camera, target) = (Camera::default(), Target::about(2.5));
    let order = order(&camera, &target);
    bencher.bench_local(|| render(black_box(&order)));
}

/// Reading it.
#[divan::bench]
fn read_a_picture(bencher: Bencher) {
    let (camera, target) = (Camera::default(), Target::about(2.5));
    let (picture, layout) = render(&order(&camera, &target));
    bencher.bench_local(|| read(black_box(&picture), &layout, target.line_pairs_m.len()));
}

/// One tile of the sheet as PNG.
#[divan::bench]
fn encode_a_tile(bencher: Bencher) {
    let (camera, target) = (Camera::default(), Target::about(2.5));
    let (picture, layout) = render(&order(&camera, &target));
    let tile = picture.left_part(layout.block_width);
    bencher.bench_local(|| black_box(&tile).small_png());
}
