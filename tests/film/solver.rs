//! The mechanism against a general-purpose solver: Dormand and Prince's method of eighth order (Hairer, Nørsett
//! and Wanner, *Solving Ordinary Differential Equations I*, DOP853) at a relative tolerance of 10⁻¹¹, on
//! equations written down here anew in their textbook form.

use std::f64::consts::PI;

use differential_equations::prelude::*;
use stillframe::plant::film::web::WebParameters;
use stillframe::plant::film::{FilmFaults, FilmParameters, FilmPlant, Jam};
use stillframe_controller::io::FilmDrive;

/// A system dy/dt = f(t, y) given as a closure, solved tightly; its state at `until_s`.
fn solved<const N: usize>(start: [f64; N], until_s: f64, slope: impl Fn(&[f64; N]) -> [f64; N]) -> [f64; N] {
    struct System<F>(F);
    impl<const N: usize, F: Fn(&[f64; N]) -> [f64; N]> ODE<f64, [f64; N]> for System<F> {
        fn diff(&self, _: f64, y: &[f64; N], dydt: &mut [f64; N]) {
            *dydt = (self.0)(y);
        }
    }
    let method = ExplicitRungeKutta::dop853().rtol(1e-11).atol(1e-14).max_steps(10_000_000);
    let system = System(slope);
    let solution = IVP::ode(&system, 0.0, until_s, start).method(method).solve().expect("a smooth system");
    *solution.y.last().expect("an end")
}

/// Film that everything drives forward at once, so that no friction changes sign after the start.
const FORWARD: FilmDrive = FilmDrive {
    roller_duty: 0.08,
    supply_duty: -0.31,
    take_up_duty: 0.11,
    brake: false,
    clamp: false,
    ..FilmDrive::REST
};
const WOUND_M: f64 = 10.0;

/// Rates of supply, roller and take-up (rad/s), arm speeds and places, film in both loops, film wound, roller
/// angle.
type Whole = [f64; 11];

/// The whole mechanism with every shaft turning forward.
fn whole(film: &FilmParameters, y: &Whole) -> Whole {
    let [ws, wr, wt, v1, v2, x1, x2, film1, film2, wound, turn] = *y;
    let (web, core) = (&film.web, film.supply.core_radius_m);
    let pack = |length: f64| {
        let square = core * core + length * web.thickness_m / PI;
        let mass = web.density_kg_m3 * web.width_m * web.thickness_m * length;
        (square.sqrt(), film.supply.hub_inertia_kg_m2 + 0.5 * mass * (square + core * core))
    };
    let (rs, js) = pack(film.load_m - wound - film1 - film2);
    let (rt, jt) = pack(wound);
    let r = film.roller.radius_m * (1.0 + film.roller.eccentricity * turn.cos());
    let (supply_v, gate_v, take_up_v) = (ws * rs, wr * r, wt * rt);
    let tension = |length: f64, path: f64, growth: f64, film_in: f64| {
        let stiffness = web.modulus_pa * web.width_m * web.thickness_m / length;
        stiffness * (path - film_in + web.damping_s * growth)
    };
    let (l1, l2) = (web.supply_span_m, web.take_up_span_m);
    let t1 = tension(l1, l1 + 2.0 * x1, gate_v - supply_v + 2.0 * v1, film1);
    let t2 = tension(l2, l2 + 2.0 * x2, take_up_v - gate_v + 2.0 * v2, film2);
    let motor = |motor: &stillframe::plant::film::motor::Motor, duty: f32, rate: f64| {
        motor.constant_nm_a * (film.bus_v * f64::from(duty) - motor.constant_nm_a * rate) / motor.resistance_ohm
    };
    let ripple = film.roller.ripple_nm * (film.roller.ripples_per_turn * turn).sin();
    let supply = motor(&film.supply.motor, FORWARD.supply_duty, ws) + t1 * rs
        - film.supply.drag_nm
        - film.supply.viscous_nm_s * ws;
    let roller = motor(&film.roller.motor, FORWARD.roller_duty, wr) + (t2 - t1) * r + ripple
        - film.roller.drag_nm
        - film.roller.viscous_nm_s * wr;
    let take_up = motor(&film.take_up.motor, FORWARD.take_up_duty, wt)
        - t2 * rt
        - film.take_up.drag_nm
        - film.take_up.viscous_nm_s * wt;
    let arm = |arm: &stillframe::plant::film::web::ArmParameters, x: f64, v: f64, t: f64| {
        (2.0 * (arm.middle_tension_n - t) - arm.stiffness_n_m * x - arm.damping_n_s_m * v) / arm.mass_kg
    };
    [
        supply / js,
        roller / film.roller.inertia_kg_m2,
        take_up / jt,
        arm(&film.supply_arm, x1, v1, t1),
        arm(&film.take_up_arm, x2, v2, t2),
        v1,
        v2,
        supply_v - gate_v,
        gate_v - take_up_v,
        take_up_v,
        wr,
    ]
}

fn start(film: &FilmParameters) -> Whole {
    let taut = |arm_n: f64, span_m: f64| span_m - arm_n * span_m / film.web.stiffness_n();
    let film1 = taut(film.supply_arm.middle_tension_n, film.web.supply_span_m);
    let film2 = taut(film.take_up_arm.middle_tension_n, film.web.take_up_span_m);
    [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, film1, film2, WOUND_M, 0.0]
}

/// Film metered, both arms' places, and film wound, of the plant after `until_s`.
fn flown(film: &FilmParameters, until_s: f64, step_s: f64, sub_steps_only: bool) -> [f64; 4] {
    let mut plant = FilmPlant::new(film);
    if sub_steps_only {
        plant.sub_steps_only();
    }
    for _ in 0..(until_s / step_s).round() as u32 {
        plant.advance(step_s, &FORWARD, 0.0);
    }
    let [(one, _), (two, _)] = plant.arms();
    [plant.gate_m(), one, two, plant.wound_m() - WOUND_M]
}

#[test]
fn a_run_up_is_the_general_solvers() {
    let film = FilmParameters { wound_m: WOUND_M, ..FilmParameters::default() };
    for until_s in [0.05, 0.2, 0.6] {
        let y = solved(start(&film), until_s, |y| whole(&film, y));
        let first = start(&film);
        let wound = y[9] - first[9];
        // What was metered is what was wound and what the second loop gained.
        let truth = [wound + y[8] - first[8], y[5], y[6], wound];
        let scale = [truth[0], 1e-3, 1e-3, truth[0]];
        let worst = |found: [f64; 4]| (0..4).map(|i| (found[i] - truth[i]).abs() / scale[i]).fold(0.0_f64, f64::max);
        let exact = worst(flown(&film, until_s, 0.01, false));
        let coarse = worst(flown(&film, until_s, 0.01, true));
        let fine = worst(flown(&film, until_s, 0.01 / 256.0, true));
        println!(
            "{until_s} s: {:.3} mm metered, arms {:.3} and {:.3} mm; worst error of film (of its length) or arms (of 1 mm): \
             exact steps {exact:.1e}, sub-steps {coarse:.1e}, sub-steps of 39 us {fine:.1e}",
            truth[0] * 1e3,
            truth[1] * 1e3,
            truth[2] * 1e3
        );
        assert!(truth[0] > 1e-4 && truth[1].abs() > 1e-5, "the motion must be worth comparing: {truth:?}");
        // In the tick in which the roller jumps to its speed its eccentricity counts with the rate that it had
        // before: 10⁻³ of one tick's film in five. Later the lever and the ripple are held at their middle.
        assert!(exact < 5e-4, "{exact:e}");
        // First order: half a sub-step of 0.5 ms against the time since the start.
        assert!(coarse < 0.02, "{coarse:e}");
        assert!(fine < coarse / 5.0, "{fine:e} of {coarse:e}");
    }
}

/// Tension between a supply reel that is let go and a roller that is held, from the published form
/// dT/dt = (EA/ℓ)(v₂ − v₁) (for instance Shin, *Tension Control*, TAPPI Press; cited from memory) with the arm's
/// 2ẋ added to the path. State: reel rate, tension, arm place, arm speed.
#[test]
fn tension_follows_the_web_equation() {
    let film = FilmParameters::default();
    let film = FilmParameters { web: WebParameters { damping_s: 0.0, ..film.web }, ..film };
    let pull = FilmDrive { supply_duty: -0.25, brake: false, clamp: false, ..FilmDrive::REST };
    let found = |step_s: f64, until_s: f64, sub_steps_only: bool| {
        let mut plant = FilmPlant::new(&film);
        if sub_steps_only {
            plant.sub_steps_only();
        }
        plant.set_faults(FilmFaults { jam: Some(Jam::Roller { holding_nm: 100.0 }), ..FilmFaults::default() });
        for _ in 0..(until_s / step_s).round() as u32 {
            plant.advance(step_s, &pull, 0.0);
        }
        [plant.arms()[0].0, plant.speeds_m_s()[0] / plant.supply_radius_m(), plant.tension_n()[0]]
    };
    let plant = FilmPlant::new(&film);
    let (inertia, radius) = (plant.supply_inertia_kg_m2(), plant.supply_radius_m());
    let stiffness = film.web.modulus_pa * film.web.width_m * film.web.thickness_m / film.web.supply_span_m;
    let (arm, motor) = (&film.supply_arm, &film.supply.motor);
    let slope = |y: &[f64; 4]| {
        let [rate, tension, at, speed] = *y;
        let volts = film.bus_v * f64::from(pull.supply_duty);
        let torque = motor.constant_nm_a * (volts - motor.constant_nm_a * rate) / motor.resistance_ohm;
        let friction = film.supply.drag_nm * rate.signum() + film.supply.viscous_nm_s * rate;
        [
            (torque + tension * radius - friction) / inertia,
            stiffness * (-rate * radius + 2.0 * speed),
            speed,
            (2.0 * (arm.middle_tension_n - tension) - arm.stiffness_n_m * at - arm.damping_n_s_m * speed) / arm.mass_kg,
        ]
    };
    let until_s = 0.3;
    let [rate, tension, at, _] = solved([0.0, arm.middle_tension_n, 0.0, 0.0], until_s, slope);
    assert!(at.abs() > 1e-3 && tension > 1.0, "the motion must be worth comparing: {at} {tension}");
    let off = |[found_at, found_rate, found_n]: [f64; 3]| {
        [found_at / at - 1.0, found_rate / rate - 1.0, found_n / tension - 1.0].map(f64::abs)
    };
    let (exact, coarse) = (off(found(0.01, until_s, false)), off(found(0.01, until_s, true)));
    let fine = off(found(0.01 / 256.0, until_s, true));
    println!(
        "arm {:.3} mm: errors of arm, rate, tension: exact {exact:?}, sub-steps {coarse:?}, fine {fine:?}",
        at * 1e3
    );
    // The reel takes in 7 mm of film, and grows by 4·10⁻⁶ of the radius that the reference holds constant.
    assert!(exact.iter().all(|error| *error < 1e-5), "{exact:?}");
    // First order in the sub-step: 0.5 ms against a motion of 0.3 s.
    assert!(coarse[0] < 5e-3 && coarse[1] < 1e-2, "{coarse:?}");
    assert!(fine[0] < coarse[0] / 5.0, "{fine:?} {coarse:?}");
}

/// A whole pass by exact steps and by sub-steps alone: run-up, steady film, run-down, rest. The flight code's
/// rounding to counts answers each difference, so the two may differ by what one count does, not more.
#[test]
fn a_pass_is_the_same_by_sub_steps() {
    use stillframe_controller::film::Demand;
    let pass = |sub_steps_only: bool| {
        let mut rig = crate::rig::Rig::strip(WOUND_M);
        if sub_steps_only {
            rig.plant.sub_steps_only();
        }
        rig.run(20, Demand::Rest);
        rig.run(400, Demand::Run { speed_m_s: crate::rig::SPEED_M_S });
        rig.run(200, Demand::Rest);
        (rig.plant.gate_m(), rig.plant.wound_m(), rig.tension_n, rig.plant.asleep())
    };
    let (exact, coarse) = (pass(false), pass(true));
    println!("film metered {:.6} and {:.6} m; tension {:?} and {:?} N", exact.0, coarse.0, exact.2, coarse.2);
    assert!((exact.0 - coarse.0).abs() < 2e-5 && (exact.1 - coarse.1).abs() < 2e-5);
    assert!((exact.2.0 - coarse.2.0).abs() < 0.02 && (exact.2.1 - coarse.2.1).abs() < 0.02);
    assert!(exact.3 && coarse.3);
}
