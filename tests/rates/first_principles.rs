//! Required speed, crab and V/h against an independent vector computation on WGS-84.
//!
//! Nothing of the program computes here but the orbit's position and velocity, which are the input: frame of the
//! camera, meeting of the line of sight with the ellipsoid, Earth rotation and projection are written out anew,
//! and the image velocity is the difference of the projected place of one ground point a tenth of a second apart.

use stillframe::{
    design::film_rates::{Mission, Options, points, tables},
    scenario::demo::Demo,
};

type V = [f64; 3];

/// NGA.STND.0036: semi-major axis, flattening, rotation rate.
const A: f64 = 6_378_137.0;
const B: f64 = A * (1.0 - 1.0 / 298.257_223_563);
const SPIN: f64 = 7.292_115e-5;

fn dot(a: V, b: V) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}
fn cross(a: V, b: V) -> V {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}
fn times(a: V, s: f64) -> V {
    a.map(|x| x * s)
}
fn plus(a: V, b: V) -> V {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}
fn unit(a: V) -> V {
    times(a, 1.0 / dot(a, a).sqrt())
}

/// Camera axes in inertial components: z down the radius, y against the orbit normal, x along; then rolled by
/// `roll` about x and pitched by `pitch` about the new y.
fn axes(r: V, v: V, roll: f64, pitch: f64) -> [V; 3] {
    let z = times(unit(r), -1.0);
    let y = times(unit(cross(r, v)), -1.0);
    let x = cross(y, z);
    // Pitch about y first, then roll about the fixed x, is the same rotation: R = Rx(roll)·Ry(pitch) in the
    // frame's own order yields body axes (columns) below, for Z-Y-X angles without yaw: R = Ry(pitch)·Rx(roll).
    let (sr, cr) = roll.sin_cos();
    let (sp, cp) = pitch.sin_cos();
    let mix = |a: f64, b: f64, c: f64| plus(plus(times(x, a), times(y, b)), times(z, c));
    [mix(cp, 0.0, -sp), mix(sp * sr, cr, cp * sr), mix(sp * cr, -sr, cp * cr)]
}

/// Where a ray first meets the ellipsoid.
fn meet(o: V, d: V) -> V {
    let s = |p: V| [p[0] / A, p[1] / A, p[2] / B];
    let (o1, d1) = (s(o), s(d));
    let (a, b, c) = (dot(d1, d1), dot(o1, d1), dot(o1, o1) - 1.0);
    let range = (-b - (b * b - a * c).sqrt()) / a;
    plus(o, times(d, range))
}

fn spun(p: V, angle: f64) -> V {
    let (s, c) = angle.sin_cos();
    [c * p[0] - s * p[1], s * p[0] + c * p[1], p[2]]
}

/// Image velocity (along, across) at the format's centre, m/s, and the distance to the ground.
fn image_velocity(state: &dyn Fn(f64) -> (V, V), t: f64, focal: f64, roll: f64, pitch: f64) -> ([f64; 2], f64) {
    const H: f64 = 0.05;
    let (r, v) = state(t);
    let boresight = axes(r, v, roll, pitch)[2];
    let ground = meet(r, boresight);
    let image = |dt: f64| {
        let (r, v) = state(t + dt);
        let line = plus(spun(ground, SPIN * dt), times(r, -1.0));
        let [x, y, z] = axes(r, v, roll, pitch);
        [focal * dot(line, x) / dot(line, z), focal * dot(line, y) / dot(line, z)]
    };
    let (before, after) = (image(-H), image(H));
    let line = plus(ground, times(r, -1.0));
    ([(after[0] - before[0]) / (2.0 * H), (after[1] - before[1]) / (2.0 * H)], dot(line, line).sqrt())
}

/// Every 97 s of two days, straight down and tilted both ways.
///
/// Tolerance: the central difference leaves n²h²/6 = 6e-10 of the speed, and rounding of 7·10⁶ m in f64 1e-9 m
/// over 0.1 s and 220 km: 2e-9 of the speed, less near the end of a mantissa. 2e-7 of the speed, and 2e-7 rad.
/// A tilted camera adds the turning of the orbit plane by the Earth's figure, at most 2e-6 rad/s about the radius,
/// which the required motion leaves out: 2e-6·tan(tilt)·f over the film speed.
#[test]
fn required_motion_agrees_with_vectors_written_out_anew() {
    let loaded = crate::demo(Demo::Strip);
    for [roll, pitch] in [[0.0_f64, 0.0], [12.0, 0.0], [-7.0, 9.0]] {
        let mission = Mission::new(&loaded, 2.0 * 86_400.0, [roll.to_radians(), pitch.to_radians()]).expect("flies");
        let state = |t: f64| {
            let (r, v) = mission.truth.position_velocity(t);
            ([r.x, r.y, r.z], [v.x, v.y, v.z])
        };
        let look = mission.look();
        let tilt = (roll.to_radians().cos() * pitch.to_radians().cos()).acos();
        let tolerance = 2e-7 + 2e-6 * tilt.tan() / 0.0297;
        let mut t = 50.0;
        while t < mission.end_s {
            let ([along, across], range_m) =
                image_velocity(&state, t, mission.camera.focal_length_m, roll.to_radians(), pitch.to_radians());
            let required = look.at(t).expect("sees the Earth");
            let speed = along.hypot(across);
            crate::close(required.speed_m_s(), speed, tolerance);
            crate::close(required.motion.slant_range_m, range_m, 1e-9);
            crate::close(required.motion.v_over_h_rad_s, speed / mission.camera.focal_length_m, tolerance);
            let crab = (-across).atan2(-along);
            assert!((required.crab_rad() - crab).abs() < tolerance, "{t}: {} {crab}", required.crab_rad());
            t += 97.0;
        }
    }
}

/// The points of the study say the same, and their rates of change are the slopes of what they say.
#[test]
fn points_hold_the_same_figures_and_their_slopes() {
    let loaded = crate::demo(Demo::Strip);
    let options = Options { duration_s: 7200.0, ..Options::default() };
    let mission = Mission::new(&loaded, options.duration_s, [0.0; 2]).expect("flies");
    let found = points(&mission, &tables(&mission, &options).expect("tables"), &options);
    assert_eq!(found.len(), 721);
    let state = |t: f64| {
        let (r, v) = mission.truth.position_velocity(t);
        ([r.x, r.y, r.z], [v.x, v.y, v.z])
    };
    for point in &found[1..720] {
        let (image, _) = image_velocity(&state, point.time_s, 1.0, 0.0, 0.0);
        crate::close(point.image_m_s[0], image[0], 2e-7);
        assert!((point.image_m_s[1] - image[1]).abs() < 1e-8);
    }
    for three in found.windows(3) {
        let slope = (three[2].required_m_s - three[0].required_m_s) / 20.0;
        // Half the third derivative over 10 s: (2n)³·1.5 mm/s·10²/6 = 3e-10 m/s².
        assert!((f64::from(three[1].required_m_s2) - slope).abs() < 2e-9, "{slope}");
        let crab = (three[2].crab_rad - three[0].crab_rad) / 20.0;
        assert!((f64::from(three[1].crab_rad_s) - crab).abs() < 1e-7, "{crab}");
    }
}
