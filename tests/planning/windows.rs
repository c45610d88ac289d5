//! Camera-on and camera-off against rays cast through the imaging code, which shares nothing with the planner's search.

use crate::demo_plan;
use nalgebra::{UnitQuaternion, Vector3};
use stillframe::passes::plan::sight::Sight;
use stillframe::world::ellipsoid::Geodetic;
use stillframe::{
    imaging::{
        Earth,
        motion::{View, required_motion},
    },
    passes::required::square,
};

/// For every flown pass of the demonstration: a strip's slit, 41 points of it, is carried along every 0.1 s and each point's ray
/// met with the ellipsoid at the area's height. The first and last instant at which a point lies inside the circle
/// (haversine on the equatorial radius, as areas are defined) are those of the plan: to the step, the outline's spacing
/// (2 km, 0.27 s) and the slit's points (27 km/40 along a circle's edge).
#[test]
fn windows_are_those_of_rays_cast_one_by_one() {
    let study = demo_plan();
    let camera = &study.built.camera;
    let mut looked = 0;
    for pass in study.plan.passes.iter().filter(|pass| pass.flown) {
        let area = &study.scenario().areas[pass.area];
        let ([lat0, lon0], radius_m) = (area.centre_rad.expect("a circle"), area.radius_m.expect("a circle"));
        let inside = |t: f64| {
            let (r, v) = study.built.prediction.path.position_velocity(t);
            let mut sample = square(&r, &v, study.built.prediction.earth.angle_rad(t), t, [0.0; 2]);
            let height_m = area.ground_height_m;
            let yaw = required_motion(&View::new(&Earth::WGS84, &sample), camera.focal_length_m, height_m);
            let yaw_rad = yaw.expect("sees the Earth").yaw_to_align_rad;
            sample.attitude *= UnitQuaternion::from_axis_angle(&Vector3::z_axis(), yaw_rad);
            let view = View::new(&Earth::WGS84, &sample);
            (-20..=20).any(|k| {
                let y_m = f64::from(k) / 40.0 * camera.format_width_m;
                let ground = view.ground_at(camera.focal_length_m, 0.0, y_m, height_m).expect("sees the Earth");
                let (lat, lon) = (ground.latitude_rad(), ground.longitude_rad());
                let half =
                    (0.5 * (lat - lat0)).sin().powi(2) + lat0.cos() * lat.cos() * (0.5 * (lon - lon0)).sin().powi(2);
                2.0 * 6_378_137.0 * half.sqrt().asin() <= radius_m
            })
        };
        let steps = |from: f64, to: f64| (0..).map(move |k| from + 0.1 * f64::from(k)).take_while(move |t| *t <= to);
        let (from, to) = (pass.start_s - 10.0, pass.end_s + 10.0);
        let first = steps(from, to).find(|t| inside(*t)).expect("comes in");
        let last = steps(from, to).filter(|t| inside(*t)).last().expect("goes out");
        assert!((first - pass.start_s).abs() < 0.5, "{}: {first} {}", area.name, pass.start_s);
        assert!((last - pass.end_s).abs() < 0.5, "{}: {last} {}", area.name, pass.end_s);
        looked += 1;
    }
    assert!(looked >= 10, "{looked}");
}

/// Where the middle of the swath goes over the middle of a circle, the share covered is that of a band through it: for a
/// half-width w and a radius R, (2/π)·(asin(w/R) + (w/R)·√(1 − (w/R)²)), shifted by the distance aside.
#[test]
fn shares_are_those_of_a_band_across_a_circle() {
    let study = demo_plan();
    let half_angle = 0.5 * study.built.camera.format_width_m / study.built.camera.focal_length_m;
    for pass in study.plan.passes.iter().filter(|pass| pass.flown) {
        let area = &study.scenario().areas[pass.area];
        let radius_m = area.radius_m.expect("a circle");
        let half_m = half_angle * (pass.height_m - area.ground_height_m);
        let segment = |x: f64| {
            let x = (x / radius_m).clamp(-1.0, 1.0);
            (x.asin() + x * (1.0 - x * x).sqrt()) / std::f64::consts::PI
        };
        let band = segment(pass.aside_m + half_m) - segment(pass.aside_m - half_m);
        // Cells are a quarter of the swath; where its edges cut them, they err by up to a cell between both.
        assert!((pass.share - band).abs() < 0.035, "{}: {} {band}", area.name, pass.share);
    }
}

/// The widest areas that are allowed take twenty minutes: places far beyond the horizon from the middle of such a stretch
/// are seen when their turn comes, at the instant and angle of the ray that was cast to them.
#[test]
fn a_long_stretch_sees_all_of_its_track() {
    let study = demo_plan();
    let subject = study.subject();
    let look = subject.tools.look(subject.scenario);
    for from_s in [10_000.0, 41_000.0] {
        let to_s = from_s + 1_200.0;
        let sight = Sight::over(&look, subject.tools.prediction, from_s, to_s);
        for k in 1..60 {
            for across in [-0.05, 0.0, 0.05] {
                let time_s = from_s + 20.0 * f64::from(k);
                let ground = Geodetic::from_cartesian(&sight.ground(time_s, across, 150.0).expect("sees the Earth"));
                let seen = sight.seen([ground.latitude_rad, ground.longitude_rad], 150.0);
                let seen = seen.unwrap_or_else(|| panic!("{time_s} s: {ground:?} is not seen"));
                assert!((seen.time_s - time_s).abs() < 2e-3, "{} {time_s}", seen.time_s);
                assert!((seen.across - across).abs() < 1e-5, "{} {across}", seen.across);
            }
        }
        // On the far side of the Earth the ground is in between.
        let below = Geodetic::from_cartesian(&sight.ground(from_s + 600.0, 0.0, 0.0).expect("sees the Earth"));
        let opposite = [-below.latitude_rad, below.longitude_rad + std::f64::consts::PI];
        assert_eq!(sight.seen(opposite, 0.0), None);
    }
}
