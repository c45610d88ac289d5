//! The numerical orbit: against closed forms, an independent integration, SGP4, and itself.

use crate::{assert_near, assert_relative};
use stillframe::world::Vec3;
use stillframe::world::atmosphere::Atmosphere;
use stillframe::world::elements::MeanElements;
use stillframe::world::ellipsoid::{A_M, height_m};
use stillframe::world::gravity::Zonal;
use stillframe::world::kepler::{Elements, State};
use stillframe::world::orbit::{Forces, Orbit, OrbitError};

const GM: f64 = 3.986_004_418e14;

fn vacuum(gravity: Zonal) -> Forces {
    Forces { gravity, ..Forces::new(Atmosphere::new(0.0), 0.0) }
}

/// Elements a 6598.137 km, e 0.002, i 82°, node 0.3, perigee 1.1, anomaly 0.7 rad: the digits from
/// which the scipy reference started.
fn reference_start() -> State {
    State {
        position_m: Vec3::new(-1_693_831.430_432_097_3, 410_679.447_676_386_1, 6_353_302.781_791_247),
        velocity_m_s: Vec3::new(-7_172.030_376_337_67, -2_474.800_645_208_933_5, -1_741.753_286_162_949_3),
    }
}

fn fly(forces: Forces, start: State, t_s: f64, step_s: f64) -> (Vec3, Vec3) {
    let mut orbit = Orbit::new(forces, start, 0.0, step_s).expect("above the air");
    orbit.advance_to(t_s).expect("stays up");
    orbit.position_velocity(t_s)
}

/// Circular speed √(GM/a) and period 2π√(a³/GM) over 6378.137 km (closed forms), flown: after one
/// period the vehicle is back where it was.
#[test]
fn circular_speed_and_period() {
    for (h_km, speed, period) in [
        (150.0, 7_814.015_311_276, 5_249.221_155_539),
        (200.0, 7_784.261_748_566, 5_309.643_365_298),
        (250.0, 7_754.845_497_373, 5_370.295_646_313),
        (300.0, 7_725.760_232_077, 5_431.177_129_147),
        (400.0, 7_668.558_175_407, 5_553.624_271_252),
        (500.0, 7_612.608_173_224, 5_676.978_028_526),
    ] {
        let r = Vec3::new(6_378_137.0 + h_km * 1e3, 0.0, 0.0);
        let v = Vec3::new(0.0, 0.1, 1.0).normalize() * speed;
        let start = State { position_m: r, velocity_m_s: v };
        let elements = Elements::from_state(&start).expect("an ellipse");
        assert_relative(elements.period_s(), period, 1e-11);
        assert_near(elements.eccentricity, 0.0, 1e-12);
        let (found, _) = fly(vacuum(Zonal::POINT_MASS), start, period, 10.0);
        assert_near((found - r).norm(), 0.0, 1e-4);
    }
}

/// scipy, J2 to J4 and J2 alone, no air, to 6000 s and a day.
#[test]
fn against_an_independent_integration() {
    let day = Vec3::new(-5_861_260.193_113_795, -1_272_835.894_423_723_2, 2_767_519.116_125_563_6);
    let day_v = Vec3::new(-2_917.904_877_619_655_5, -1_851.362_044_646_694_1, -6_962.148_909_854_989);
    let early = Vec3::new(-5_435_342.278_298_331, -1_148_441.700_165_259_7, 3_565_749.361_463_506_2);
    let day_j2 = Vec3::new(-5_859_558.406_794_525, -1_271_216.333_064_727, 2_772_979.123_828_878);
    let full = vacuum(Zonal::EGM96);
    // A fifth-order method: half the step, a thirty-second of the error.
    let error = |step_s: f64| {
        let (r, v) = fly(full, reference_start(), 86_400.0, step_s);
        println!("{step_s} s: {:.2e} m, {:.2e} m/s a day", (r - day).norm(), (v - day_v).norm());
        (r - day).norm()
    };
    let order = (error(30.0) / error(15.0)).log2();
    println!("observed order {order:.2}");
    assert!((4.8..5.3).contains(&order), "order {order}");
    error(10.0);
    error(5.0);
    let (r, _) = fly(full, reference_start(), 6_000.0, 10.0);
    assert_near((r - early).norm(), 0.0, 1e-4);
    let (r, v) = fly(full, reference_start(), 86_400.0, 10.0);
    assert_near((r - day).norm(), 0.0, 0.02);
    assert_near((v - day_v).norm(), 0.0, 2e-5);
    let j2 = Zonal { j3: 0.0, j4: 0.0, ..Zonal::EGM96 };
    let (r, _) = fly(vacuum(j2), reference_start(), 86_400.0, 10.0);
    assert_near((r - day_j2).norm(), 0.0, 0.02);
}

/// Energy with all zonals and no air: 3e-11 of it is 0.2 mm of semi-major axis, what the method's
/// fifth-order truncation leaves over the 8640 steps of a day.
#[test]
fn energy_is_kept_without_air() {
    let start = reference_start();
    let e0 = Zonal::EGM96.energy_j_kg(&start.position_m, &start.velocity_m_s);
    let axial0 = start.position_m.cross(&start.velocity_m_s).z;
    let mut orbit = Orbit::new(vacuum(Zonal::EGM96), start, 0.0, 10.0).expect("above the air");
    let mut worst = 0.0f64;
    for i in 1..=8_640 {
        let t = f64::from(i) * 10.0;
        orbit.advance_to(t).expect("stays up");
        let (r, v) = orbit.position_velocity(t);
        worst = worst.max((Zonal::EGM96.energy_j_kg(&r, &v) / e0 - 1.0).abs());
        // A zonal field keeps the angular momentum about its axis.
        assert_relative(r.cross(&v).z, axial0, 1e-11);
    }
    println!("worst relative energy error over a day {worst:.2e}");
    assert!(worst < 3e-11);
    // Negative control: with air the same measure must fall.
    let air = Forces::new(Atmosphere::new(1.0), 1.0 / 169.0);
    let (r, v) = fly(air, start, 86_400.0, 10.0);
    assert!(Zonal::EGM96.energy_j_kg(&r, &v) / e0 - 1.0 > 1e-5);
}

/// The dense output between nodes against the same orbit on a step of 0.25 s.
#[test]
fn dense_output() {
    let forces = Forces::new(Atmosphere::new(1.0), 1.0 / 169.0);
    let mut coarse = Orbit::new(forces, reference_start(), 0.0, 10.0).expect("above the air");
    let (mut worst_r, mut worst_v, mut worst_density) = (0.0f64, 0.0f64, 0.0f64);
    for node in 0..60 {
        let t0 = f64::from(node) * 10.0;
        coarse.advance_to(t0 + 5.0).expect("stays up");
        let (position_m, velocity_m_s) = coarse.position_velocity(t0);
        let start = State { position_m, velocity_m_s };
        let mut fine = Orbit::new(forces, start, t0, 0.25).expect("above the air");
        for i in 1..40 {
            let t = t0 + f64::from(i) * 0.25;
            fine.advance_to(t).expect("stays up");
            let (r, v) = coarse.position_velocity(t);
            let (rf, vf) = fine.position_velocity(t);
            worst_r = worst_r.max((r - rf).norm());
            worst_v = worst_v.max((v - vf).norm());
            let density = forces.atmosphere.density_kg_m3(height_m(&r));
            worst_density = worst_density.max((coarse.density_kg_m3(t) / density - 1.0).abs());
        }
    }
    println!("dense output: {worst_r:.1e} m, {worst_v:.1e} m/s; density {worst_density:.1e}");
    assert!(worst_r < 1e-3 && worst_v < 1e-5, "{worst_r} m, {worst_v} m/s");
    assert!(worst_density < 1e-4, "{worst_density}");
}

/// Node drift against first-order theory (Kozai 1959). The start's elements are osculating, theory
/// wants mean ones: 0.1 to 0.3 % apart, so 0.5 % is as tight as this can be (the independent
/// integration above is the sharp check).
#[test]
fn node_drift_against_secular_theory() {
    let start = reference_start();
    let before = Elements::from_state(&start).expect("an ellipse");
    let j2 = Zonal { j3: 0.0, j4: 0.0, ..Zonal::EGM96 };
    let (position_m, velocity_m_s) = fly(vacuum(j2), start, 86_400.0, 10.0);
    let after = Elements::from_state(&State { position_m, velocity_m_s }).expect("an ellipse");
    let rates = j2.secular_rates(before.semi_major_axis_m, before.eccentricity, before.inclination_rad);
    let drift = (after.node_rad - before.node_rad).sin().asin();
    println!(
        "node drift {:.4}° in a day, theory {:.4}°",
        drift.to_degrees(),
        (rates.node_rad_s * 86_400.0).to_degrees()
    );
    assert_relative(drift, rates.node_rad_s * 86_400.0, 5e-3);
    // Negative control: a round Earth turns no plane.
    let (position_m, velocity_m_s) = fly(vacuum(Zonal::POINT_MASS), start, 86_400.0, 10.0);
    let still = Elements::from_state(&State { position_m, velocity_m_s }).expect("an ellipse");
    assert_near(still.node_rad, before.node_rad, 1e-12);
}

/// Node drift against SGP4 on the verification set 06251 (AIAA 2006-6753): both osculating, both at
/// the same instants. Drag differs (B* against none here), which over a day moves the vehicle along
/// its track by tens of km and the osculating node by its J2 wobble: hence 0.5 %.
#[test]
fn node_drift_against_sgp4() {
    let set = MeanElements::from_lines(
        None,
        "1 06251U 62025E   06176.82412014  .00008885  00000-0  12808-3 0  3985",
        "2 06251  58.0579  54.0425 0030035 139.1568 221.1854 15.56387291  6774",
    )
    .expect("a verification set");
    let start = set.state_after_minutes(0.0).expect("in range");
    let node = |state: &State| Elements::from_state(state).expect("an ellipse").node_rad;
    let (position_m, velocity_m_s) = fly(vacuum(Zonal::EGM96), start, 86_400.0, 10.0);
    let flown = node(&State { position_m, velocity_m_s }) - node(&start);
    let sgp4 = node(&set.state_after_minutes(1_440.0).expect("in range")) - node(&start);
    println!("node drift in a day: flown {:.4}°, SGP4 {:.4}°", flown.to_degrees(), sgp4.to_degrees());
    assert_relative(flown, sgp4, 5e-3);
    // The mean rate python-sgp4 2.27 derives from the same set: −4.26362 °/day.
    assert_relative(flown.to_degrees(), -4.263_62, 5e-3);
}

fn equatorial(height_km: f64, retrograde: bool) -> State {
    let r = A_M + height_km * 1e3;
    let sign = if retrograde { -1.0 } else { 1.0 };
    State { position_m: Vec3::new(r, 0.0, 0.0), velocity_m_s: Vec3::new(0.0, sign * (GM / r).sqrt(), 0.0) }
}

fn axis_loss_per_rev(forces: Forces, retrograde: bool) -> f64 {
    let start = equatorial(200.0, retrograde);
    let before = Elements::from_state(&start).expect("an ellipse");
    let (position_m, velocity_m_s) = fly(forces, start, before.period_s(), 10.0);
    let after = Elements::from_state(&State { position_m, velocity_m_s }).expect("an ellipse");
    after.semi_major_axis_m - before.semi_major_axis_m
}

/// −2π(C_D·A/m)ρa² per revolution of a circular orbit (King-Hele): −690.860 m for 200 km,
/// 0.01 m²/kg and ρ = 2.541e-10 kg/m³, in air that does not turn. Flown with a hundredth of that
/// area, for at full area the orbit sinks into air 2 % denser within the revolution; the density's
/// four printed digits leave 2e-4.
#[test]
fn decay_per_revolution() {
    let still = Forces { gravity: Zonal::POINT_MASS, air_rate_rad_s: 0.0, ..Forces::new(Atmosphere::new(1.0), 1e-4) };
    assert_relative(axis_loss_per_rev(still, false) * 100.0, -690.860_498_473_2, 5e-4);
    // Twice the area, twice the loss; no area, none.
    let double = Forces { drag_area_per_mass_m2_kg: 2e-4, ..still };
    assert_relative(axis_loss_per_rev(double, false), 2.0 * axis_loss_per_rev(still, false), 3e-4);
    let none = Forces { drag_area_per_mass_m2_kg: 0.0, ..still };
    assert_near(axis_loss_per_rev(none, false), 0.0, 1e-5);
    // In air that turns with the Earth the loss goes with the square of the speed through it over
    // the inertial speed: (1 ∓ ωr/V)² for eastward and westward flight.
    let turning = Forces { air_rate_rad_s: 7.292_115e-5, ..still };
    let (r, v) = (A_M + 200e3, (GM / (A_M + 200e3)).sqrt());
    for (retrograde, sign) in [(false, -1.0), (true, 1.0)] {
        let factor = (1.0 + sign * 7.292_115e-5 * r / v).powi(2);
        let expected = factor * axis_loss_per_rev(still, false);
        assert_relative(axis_loss_per_rev(turning, retrograde), expected, 1e-4);
    }
}

/// Velocity increments: at once in the velocity, none in the position, and all of them in the sum.
#[test]
fn increments_are_continuous_and_add_up() {
    let forces = vacuum(Zonal::EGM96);
    let mut orbit = Orbit::new(forces, reference_start(), 0.0, 10.0).expect("above the air");
    let mut sum = Vec3::zeros();
    for i in 0..5_000 {
        let t = f64::from(i) * 0.02 + 0.003;
        orbit.advance_to(t).expect("stays up");
        let (r0, v0) = orbit.position_velocity(t);
        let dv = Vec3::new(1e-5, -2e-5, 3e-5) * f64::from(i % 3);
        orbit.add_velocity(t, &dv).expect("stays up");
        sum += dv;
        let (r1, v1) = orbit.position_velocity(t);
        assert!((r1 - r0).norm() < 2e-9, "position jumped by {}", (r1 - r0).norm());
        assert!((v1 - v0 - dv).norm() < 3e-12);
    }
    assert_eq!(orbit.velocity_added_m_s(), sum);
    // No jump of position across nodes either, with increments pending.
    let mut last = orbit.position_velocity(orbit.segment().end_s);
    for _ in 0..20 {
        let t = orbit.segment().end_s;
        orbit.advance_to(t.next_up()).expect("stays up");
        let now = orbit.position_velocity(t);
        assert!((now.0 - last.0).norm() < 5e-9 && (now.1 - last.1).norm() < 1e-11);
        orbit.add_velocity(t + 3.0, &Vec3::new(0.001, 0.0, 0.002)).expect("stays up");
        last = orbit.position_velocity(orbit.segment().end_s);
    }
}

/// Small increments folded in at nodes must lead where the same increments applied by restarting
/// the integration at their own instants lead, but for the change of gravity along the straight
/// line: at most n²h² of the velocity given, and that times the flight time in position.
#[test]
fn folded_increments_equal_restarts() {
    for step_s in [10.0, 2.5] {
        let (dr, dv, given, t_s) = folded_against_restarted(step_s);
        let bound = (1.18e-3f64 * step_s).powi(2) * given;
        println!("{step_s} s: folded − restarted {dr:.1e} m, {dv:.1e} m/s of {given:.2} m/s given");
        assert!(dv < bound + 1e-9, "{dv} m/s, bound {bound}");
        assert!(dr < (bound + 1e-9) * t_s, "{dr} m");
    }
}

fn folded_against_restarted(step_s: f64) -> (f64, f64, f64, f64) {
    let forces = vacuum(Zonal::EGM96);
    let dv = Vec3::new(0.001, -0.002, 0.003);
    let mut folded = Orbit::new(forces, reference_start(), 0.0, step_s).expect("above the air");
    let mut state = reference_start();
    let mut last_t = 0.0;
    for i in 0..100 {
        let t = 3.7 + f64::from(i) * 41.3;
        folded.advance_to(t).expect("stays up");
        folded.add_velocity(t, &dv).expect("stays up");
        let mut leg = Orbit::new(forces, state, last_t, (t - last_t) / 8.0).expect("above the air");
        leg.advance_to(t - 1e-9).expect("stays up");
        let (position_m, velocity_m_s) = leg.position_velocity(t);
        state = State { position_m, velocity_m_s: velocity_m_s + dv };
        last_t = t;
    }
    let (r, v) = folded.position_velocity(last_t);
    ((r - state.position_m).norm(), (v - state.velocity_m_s).norm(), 100.0 * dv.norm(), last_t)
}

/// A large increment at once: the result does not depend on where the step's nodes lie.
#[test]
fn a_burn_starts_a_new_step() {
    let forces = vacuum(Zonal::EGM96);
    let mut results = Vec::new();
    for step_s in [10.0, 7.0] {
        let mut orbit = Orbit::new(forces, reference_start(), 0.0, step_s).expect("above the air");
        orbit.advance_to(33.3).expect("stays up");
        orbit.add_velocity(33.3, &Vec3::new(0.0, 5.0, 20.0)).expect("stays up");
        assert_eq!(orbit.segment().start_s, 33.3);
        orbit.advance_to(2_000.0).expect("stays up");
        results.push(orbit.position_velocity(2_000.0).0);
    }
    assert_near((results[0] - results[1]).norm(), 0.0, 1e-4);
}

#[test]
fn coming_down_is_an_error_not_a_number() {
    let forces = Forces::new(Atmosphere::new(1.0), 0.02);
    let mut orbit = Orbit::new(forces, equatorial(130.0, false), 0.0, 10.0).expect("above the air");
    let error = orbit.advance_to(10.0 * 86_400.0).expect_err("must come down");
    assert!(matches!(error, OrbitError::BelowFloor { .. }), "{error}");
    let lost = State { position_m: Vec3::new(f64::NAN, 0.0, 0.0), ..reference_start() };
    assert!(matches!(Orbit::new(forces, lost, 0.0, 10.0), Err(OrbitError::NotFinite { .. })));
}
